// data-hand-sheet: the holes of a wrong picture by hand. A press takes hold of the nearest hole, a drag moves it; with the
// sheet focused the arrow keys nudge the chosen one, with Shift left and right turn it, Page Up and Down choose another.
// All of it only fills in the rows beside it; the server draws the picture and says whether it can be an option.

import { GRAIN, dieAt, eachFrame, fill, lay, near, onSheet, plus, pointOf, readPoint, say, toUnits, valueOf, wipe } from "./sheet-plane.js";

const place = () => document.querySelector("[data-hand-sheet]");
const svg = () => place()?.querySelector("svg");
const rows = () => [...document.querySelectorAll("[data-hole]")];
const field = (row, name) => row.querySelector(`[name="${row.dataset.hole}-${name}"]`);
let chosen = 0;
let held = false;

function holeOf(row) {
  const punch = document.querySelector(`[data-hand="punch-${field(row, "punch").value}"]`);
  return {
    point: readPoint(field(row, "at").value),
    turn: Number(field(row, "turn").value || 0),
    over: field(row, "over").checked,
    die: punch?.querySelector(".die:has(:checked) path:not(.own)")?.getAttribute("d"),
    size: punch ? valueOf(punch.querySelector('[name$="-size"]').value) : 0,
  };
}

const draw = eachFrame(() => {
  if (!svg()) return;
  wipe(svg(), "by-hole");
  chosen = Math.min(chosen, rows().length - 1);
  rows().forEach((row, i) => row.classList.toggle("is-chosen", i === chosen));
  rows().map(holeOf).forEach(({ point, turn, over, die, size }, i) => {
    if (!point) return;
    const [x, y] = toUnits(place(), point.at);
    if (i === chosen && held && die) lay(svg(), "path", "by-hole die-ghost", { d: die, transform: dieAt(place(), point.at, size, turn, over) });
    if (i === chosen) lay(svg(), "circle", "by-hole hole-ring", { cx: x, cy: y, r: Math.max((size * place().dataset.unit) / 1.6, 420) });
    lay(svg(), "text", "by-hole hole-number", { x: x + 330, y: y - 330 }).textContent = String(i + 1);
  });
});

function move(event) {
  const at = onSheet(place(), svg(), event);
  const row = rows()[chosen];
  if (!row) return;
  const to = pointOf(near(at[0], event.altKey ? 240 : GRAIN), near(at[1], event.altKey ? 240 : GRAIN));
  fill(field(row, "at"), to.text);
  say(`Hole ${chosen + 1}: ${to.text}.`);
  draw();
}

document.addEventListener("pointerdown", (event) => {
  if (event.button || !event.target.closest?.("[data-hand-sheet] svg")) return;
  event.preventDefault();
  place().focus({ preventScroll: true });
  const at = onSheet(place(), svg(), event);
  const gaps = rows().map((row) => holeOf(row).point?.at).map((p) => (p ? Math.hypot(p[0] - at[0], p[1] - at[1]) : Infinity));
  const nearest = gaps.indexOf(Math.min(...gaps));
  if (!(gaps[nearest] < 0.15)) return;
  chosen = nearest;
  held = true;
  draw();
});
document.addEventListener("pointermove", (event) => {
  if (held && svg()) move(event);
});
for (const end of ["pointerup", "pointercancel"]) {
  document.addEventListener(end, () => {
    if (!held) return;
    held = false;
    draw();
  });
}

const STEPS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowDown: [0, -1], ArrowUp: [0, 1] };

document.addEventListener("keydown", (event) => {
  const row = rows()[chosen];
  if (!row || !event.target.matches?.("[data-hand-sheet]")) return;
  const [way, other] = [STEPS[event.key], { PageUp: -1, PageDown: 1 }[event.key]];
  if (!way && !other) return;
  event.preventDefault();
  const { point, turn } = holeOf(row);
  if (other) chosen = (chosen + other + rows().length) % rows().length;
  else if (event.shiftKey) fill(field(row, "turn"), String((turn - 15 * way[0] + 360) % 360));
  else if (point) fill(field(row, "at"), pointOf(...point.exact.map((v, i) => plus(v, [way[i], GRAIN]))).text);
  say(`Hole ${chosen + 1}: ${field(rows()[chosen], "at").value}, turned by ${field(rows()[chosen], "turn").value || 0}°.`);
  draw();
});

document.addEventListener("focusin", (event) => {
  const at = rows().indexOf(event.target.closest?.("[data-hole]"));
  if (at < 0) return;
  chosen = at;
  draw();
});
for (const changed of ["htmx:afterOnLoad", "htmx:afterSettle", "input"]) {
  document.addEventListener(changed, () => svg() && draw());
}
draw();
