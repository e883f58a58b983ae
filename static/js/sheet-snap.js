// Where a hand lands on the paper: corners, middles and thirds of edges first; then straight or at 45 degrees from where
// it came; then along an edge or an earlier crease; else twenty-fourths of the sheet. Each tells in words what it is
// (says), and how one gets there (to).

import { GRAIN, minus, near, plus, pointOf, readPoint, times } from "./sheet-plane.js";

const CLOSE = 0.03; // sheet widths: nearer than this a place is meant
const ALONG = 0.018; // and nearer than this a line
const FREE = 240; // with Alt: parts of the sheet so small that nothing is snapped to
const WAYS = [
  { way: [1, 0], says: "straight across" },
  { way: [0, 1], says: "straight up or down" },
  { way: [1, 1], says: "along a 45° line" },
  { way: [1, -1], says: "along a 45° line" },
];
const parts = (text) => (text ?? "").split(";").filter(Boolean).map((part) => part.split("|"));

export function holdsOf(picture) {
  const { points, lines, low, high, outline } = picture.dataset;
  return {
    points: parts(points).map(([text, says]) => ({ ...readPoint(text), says, to: `to ${says}` })),
    lines: parts(lines).map(([text, says]) => ({ ends: text.split(" ").map(readPoint), says })),
    low: readPoint(low),
    high: readPoint(high),
    outline: outline.split(" ").map((pair) => pair.split(",").map(Number)),
  };
}

const far = ([x, y], [u, v]) => Math.hypot(x - u, y - v);

function onPoint(holds, at) {
  const best = holds.points.map((point) => ({ point, gap: far(point.at, at) })).sort((a, b) => a.gap - b.gap)[0];
  return best && best.gap < CLOSE ? best.point : null;
}

function onWay(start, [x, y]) {
  const [dx, dy] = [x - start.at[0], y - start.at[1]];
  for (const { way: [u, v], says } of WAYS) {
    const size = u * u + v * v;
    if (Math.abs(dx * v - dy * u) / Math.sqrt(size) > ALONG) continue;
    const go = near((dx * u + dy * v) / size);
    const to = pointOf(plus(start.exact[0], times(go, [u, 1])), plus(start.exact[1], times(go, [v, 1])));
    return { ...to, says: to.text, to: `${says}, to ${to.text}` };
  }
  return null;
}

function onLine(holds, at) {
  for (const { ends: [p, q], says } of holds.lines) {
    const [ux, uy] = [q.at[0] - p.at[0], q.at[1] - p.at[1]];
    const length = Math.hypot(ux, uy);
    const t = ((at[0] - p.at[0]) * ux + (at[1] - p.at[1]) * uy) / length ** 2;
    const off = Math.abs((at[0] - p.at[0]) * uy - (at[1] - p.at[1]) * ux) / length;
    if (t < 0 || t > 1 || off > ALONG) continue;
    const share = near(t);
    const walk = (i) => plus(p.exact[i], times(share, minus(q.exact[i], p.exact[i])));
    return { ...pointOf(walk(0), walk(1)), says: `a point ${says}`, to: `to a point ${says}` };
  }
  return null;
}

export function snap(holds, at, { start = null, free = false } = {}) {
  const grain = free ? FREE : GRAIN;
  const found = free ? null : (onPoint(holds, at) ?? (start && onWay(start, at)) ?? onLine(holds, at));
  if (found) return found;
  const on = pointOf(near(at[0], grain), near(at[1], grain));
  return { ...on, says: on.text, to: `to ${on.text}` };
}

// For a punch: in line with others, with their mirror images in the paper's middle lines, or on those lines themselves.
export function align(holds, others, at) {
  const lines = [0, 1].map((axis) => {
    const [low, high] = [holds.low.exact[axis], holds.high.exact[axis]];
    const both = plus(low, high);
    const guides = others.flatMap(({ point, name }) => [
      { value: point.exact[axis], says: `in line with ${name}` },
      { value: minus(both, point.exact[axis]), says: `where ${name} is mirrored` },
    ]);
    guides.push({ value: times(both, [1, 2]), says: "on the middle line" });
    const gap = ({ value }) => Math.abs(value[0] / value[1] - at[axis]);
    const best = guides.sort((a, b) => gap(a) - gap(b))[0];
    return gap(best) < ALONG ? best : null;
  });
  const point = pointOf(lines[0]?.value ?? near(at[0]), lines[1]?.value ?? near(at[1]));
  const says = [...new Set(lines.filter(Boolean).map((line) => line.says))].join(", ");
  return { ...point, says: says || point.text, guides: lines.map((line) => line && line.value[0] / line.value[1]) };
}

export const isOnPaper = ({ outline }, [x, y]) => outline.reduce((inside, [x1, y1], i) => {
  const [x2, y2] = outline[(i + 1) % outline.length];
  return (y1 > y) !== (y2 > y) && x < ((x2 - x1) * (y - y1)) / (y2 - y1) + x1 ? !inside : inside;
}, false);

