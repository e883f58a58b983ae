// What the modules of the workbench share: exact fractions as they stand in fields, and points of the sheet on screen.
// A point is {text: "3/8, 1/2", at: [0.375, 0.5]}; only texts are sent, so that a fold made by hand is exact.

const SVG = "http://www.w3.org/2000/svg";
export const GRAIN = 24;

function common(a, b) {
  return b ? common(b, a % b) : Math.abs(a);
}

export function tidy(top, bottom = 1) {
  const by = common(top, bottom) || 1;
  const sign = bottom < 0 ? -1 : 1;
  return [(sign * top) / by, (sign * bottom) / by];
}

export const read = (text) => {
  const [top, bottom = "1"] = text.trim().split("/");
  if (!top.includes(".")) return tidy(Number(top), Number(bottom));
  return tidy(Math.round(Number(top) * 1e6), 1e6);
};
export const plus = ([a, b], [c, d]) => tidy(a * d + c * b, b * d);
export const times = ([a, b], [c, d]) => tidy(a * c, b * d);
export const minus = (p, q) => plus(p, times(q, [-1, 1]));
export const write = ([a, b]) => (b === 1 ? String(a) : `${a}/${b}`);
export const valueOf = (text) => {
  const [top, bottom = 1] = text.split("/").map(Number);
  return top / bottom;
};
export const near = (value, grain = GRAIN) => tidy(Math.round(value * grain), grain);

export function pointOf(x, y) {
  return { text: `${write(x)}, ${write(y)}`, at: [x[0] / x[1], y[0] / y[1]], exact: [x, y] };
}

export function readPoint(text) {
  const parts = text.split(/[,;\s]+/).filter(Boolean).map(read);
  return parts.length === 2 && !parts.flat().some(Number.isNaN) ? pointOf(...parts) : null;
}

export function onSheet(place, svg, event) {
  const { left, top, unit, margin } = place.dataset;
  const at = new DOMPoint(event.clientX, event.clientY).matrixTransform(svg.getScreenCTM().inverse());
  return [(at.x - margin) / unit + Number(left), Number(top) - (at.y - margin) / unit];
}

export function toUnits(place, [x, y]) {
  const { left, top, unit, margin } = place.dataset;
  return [(x - left) * unit + Number(margin), (top - y) * unit + Number(margin)];
}

// Shapes laid over a drawing: the first word of their name says whose they are, to be wiped together.
export function lay(svg, tag, name, values) {
  const made = document.createElementNS(SVG, tag);
  made.setAttribute("class", `laid ${name}`);
  Object.entries(values).forEach(([key, value]) => made.setAttribute(key, value));
  svg.append(made);
  return made;
}

export function wipe(svg, kind) {
  svg?.querySelectorAll(`.laid.${kind}`).forEach((shape) => shape.remove());
}

// The paper as it lies before the fold of a picture: the picture before, without its arrow; or the flat sheet.
const ARROW = 'path[stroke="#0B4A83"], path[fill="#0B4A83"], path[stroke="#FFFEFA"]';
export function layPaperBefore(place, picture, kind) {
  const svg = picture.querySelector("svg");
  const corners = picture.dataset.outline.split(" ").map((pair) => toUnits(place, pair.split(",").map(Number)).join(" "));
  lay(svg, "path", `${kind} paper-before`, { d: `M${corners.join("L")}Z` });
  const before = picture.previousElementSibling?.querySelectorAll("svg > path:not(.laid)") ?? [];
  lay(svg, "g", kind, {}).append(...[...before].filter((part) => !part.matches(ARROW)).map((part) => part.cloneNode(true)));
}

export function fill(input, value) {
  if (!input || input.value === value) return;
  input.value = value;
  input.dispatchEvent(new Event("input", { bubbles: true }));
}

// A die's path is drawn in a box of 100, its shape 92 wide; this is how it lies on the sheet.
export function dieAt(place, at, size, turn, over = false) {
  const [x, y] = toUnits(place, at);
  const scale = (size * place.dataset.unit) / 92;
  return `translate(${x} ${y}) rotate(${-turn}) scale(${over ? -scale : scale} ${scale}) translate(-50 -50)`;
}

export function say(words) {
  const line = document.querySelector("[data-snap-says]");
  if (line && line.textContent !== words) line.textContent = words;
}

// One drawing for each frame of the screen, whatever the pointer sends.
export function eachFrame(draw) {
  let waiting = null;
  return (...given) => {
    if (!waiting) requestAnimationFrame(() => {
      const last = waiting;
      waiting = null;
      draw(...last);
    });
    waiting = given;
  };
}
