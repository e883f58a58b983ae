// data-mat: working on the sheet itself. With a punch chosen, a press puts it there and a drag moves it; with a fold
// chosen, a drag brings a point to where it should land. All of it only fills in the fields beside it, which can be
// typed in as well; the server's geometry decides. Places snap to the paper's corners, else to twenty-fourths.

const GRAIN = 24;
const NEAR = 0.035; // sheet widths: closer than this a corner of the paper is meant
const SVG = "http://www.w3.org/2000/svg";
let pull = null; // what the pointer holds: {svg, hand, kind, from}

const handNow = () => document.querySelector("[data-hand].is-chosen");
const field = (hand, name) => hand.querySelector(`[name="${hand.dataset.hand}-${name}"]`);
const mat = () => document.querySelector("[data-mat]");

function fraction(value) {
  const top = Math.round(value * GRAIN);
  let [a, b] = [Math.abs(top), GRAIN];
  while (b) [a, b] = [b, a % b];
  const bottom = GRAIN / a;
  return bottom === 1 ? String(top / a) : `${top / a}/${bottom}`;
}

function valueOf(text) {
  const [top, bottom = 1] = text.split("/").map(Number);
  return top / bottom;
}

function onSheet(svg, event) {
  const { left, top, unit, margin } = mat().dataset;
  const at = new DOMPoint(event.clientX, event.clientY).matrixTransform(svg.getScreenCTM().inverse());
  return [(at.x - margin) / unit + Number(left), Number(top) - (at.y - margin) / unit];
}

function toUnits([x, y]) {
  const { left, top, unit, margin } = mat().dataset;
  return [(x - left) * unit + Number(margin), (top - y) * unit + Number(margin)];
}

function snap(svg, [x, y]) {
  const corners = (svg.closest("[data-corners]")?.dataset.corners ?? "").split(" ").filter(Boolean);
  const near = corners
    .map((corner) => ({ corner, far: Math.hypot(...corner.split(",").map((v, i) => valueOf(v) - [x, y][i])) }))
    .sort((a, b) => a.far - b.far)[0];
  const [u, v] = near && near.far < NEAR ? near.corner.split(",") : [fraction(x), fraction(y)];
  return { text: `${u}, ${v}`, at: [valueOf(u), valueOf(v)] };
}

function fill(input, value) {
  if (!input || input.value === value) return;
  input.value = value;
  input.dispatchEvent(new Event("input", { bubbles: true }));
}

function mark(svg, tag, name, values) {
  let shape = svg.querySelector(`.${name.split(" ").join(".")}`);
  if (!shape) {
    shape = document.createElementNS(SVG, tag);
    shape.setAttribute("class", name);
    svg.append(shape);
  }
  Object.entries(values).forEach(([key, value]) => shape.setAttribute(key, value));
}

function wipe() {
  document.querySelectorAll(".mat-step .pulled, .mat-step .die-ghost").forEach((shape) => shape.remove());
}

function drawPull(svg, from, to) {
  const [p, q] = [toUnits(from), toUnits(to)];
  const [mx, my] = [(p[0] + q[0]) / 2, (p[1] + q[1]) / 2];
  const length = Math.hypot(q[0] - p[0], q[1] - p[1]) || 1;
  const [ax, ay] = [((p[1] - q[1]) / length) * 12000, ((q[0] - p[0]) / length) * 12000];
  mark(svg, "path", "pulled crease", { d: `M${mx - ax} ${my - ay}L${mx + ax} ${my + ay}` });
  mark(svg, "path", "pulled way", { d: `M${p[0]} ${p[1]}L${q[0]} ${q[1]}` });
  mark(svg, "circle", "pulled grip", { cx: p[0], cy: p[1], r: 200 });
  mark(svg, "circle", "pulled landing", { cx: q[0], cy: q[1], r: 200 });
}

function drawDie(svg, hand, at) {
  const die = hand.querySelector(".die:has(:checked) path");
  if (!die) return;
  const [x, y] = toUnits(at);
  const scale = (valueOf(field(hand, "size").value) * mat().dataset.unit) / 92;
  const turn = -Number(field(hand, "turn").value || 0);
  if (!(scale > 0) || Number.isNaN(turn)) return;
  const way = `translate(${x} ${y}) rotate(${turn}) scale(${scale}) translate(-50 -50)`;
  mark(svg, "path", "die-ghost", { d: die.getAttribute("d"), transform: way });
}

function move(event) {
  const to = snap(pull.svg, onSheet(pull.svg, event));
  if (pull.kind === "punch") {
    drawDie(pull.svg, pull.hand, to.at);
    fill(field(pull.hand, "at"), to.text);
  } else drawPull(pull.svg, pull.from.at, to.at);
  return to;
}

document.addEventListener("pointerdown", (event) => {
  const svg = event.target.closest?.("[data-mat] .mat-step > svg");
  const hand = handNow();
  if (!svg || !hand || event.button) return;
  event.preventDefault();
  pull = { svg, hand, kind: hand.dataset.hand.split("-")[0], from: snap(svg, onSheet(svg, event)) };
  if (pull.kind === "punch") move(event);
});

document.addEventListener("pointermove", (event) => {
  if (pull) move(event);
});

document.addEventListener("pointerup", (event) => {
  if (!pull) return;
  const { kind, hand, from } = pull;
  const to = move(event);
  pull = null;
  wipe();
  if (kind !== "fold" || to.text === from.text) return;
  hand.querySelector('.how input[value="bring"]').checked = true;
  field(hand, "bring").value = from.text;
  fill(field(hand, "to"), to.text);
});

document.addEventListener("pointercancel", () => {
  pull = null;
  wipe();
});

const STEPS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowDown: [0, -1], ArrowUp: [0, 1] };

document.addEventListener("keydown", (event) => {
  const way = STEPS[event.key];
  const hand = handNow();
  if (!way || !event.target.matches?.("[data-mat]") || !hand?.dataset.hand.startsWith("punch")) return;
  event.preventDefault();
  const at = field(hand, "at").value.split(/[,;\s]+/).map(valueOf);
  if (at.length === 2 && !at.some(Number.isNaN)) {
    fill(field(hand, "at"), at.map((v, i) => fraction(v + way[i] / GRAIN)).join(", "));
  }
});

document.addEventListener("click", (event) => {
  const button = event.target.closest("[data-turn]");
  if (!button) return;
  const turned = document.getElementById(button.dataset.turnField);
  const degrees = (Number(turned.value || 0) + Number(button.dataset.turn) + 360) % 360;
  if (!Number.isNaN(degrees)) fill(turned, String(degrees));
});
