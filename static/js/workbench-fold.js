// data-mat, with a fold chosen: a drag brings a point of the paper to where it should land. Crease, flap and arrow follow
// the pointer by a few lines of arithmetic; released, the drag only fills in "bring" and "to", which can be typed as
// well, and the server's geometry decides. The sheet may be drawn anew under the hand: nothing of it is held but places.

import { eachFrame, lay, layPaperBefore, onSheet, say, toUnits, wipe } from "./sheet-plane.js";
import { holdsOf, isOnPaper, snap } from "./sheet-snap.js";

const mat = () => document.querySelector("[data-mat]");
const picture = () => mat()?.querySelector(".mat-step.is-chosen");
const hand = () => document.querySelector('[data-hand^="fold"].is-chosen');
const isFlat = () => !document.querySelector("[data-hand]");
let pull = null; // {start, holds, to}

// The part of an outline on the far side of the crease, and its mirror image.
function flapOf(outline, [px, py], [qx, qy]) {
  const [nx, ny] = [px - qx, py - qy];
  const off = (nx * (px + qx) + ny * (py + qy)) / 2;
  const height = ([x, y]) => nx * x + ny * y - off;
  const moved = outline.flatMap((a, i) => {
    const b = outline[(i + 1) % outline.length];
    const [h, k] = [height(a), height(b)];
    const cut = [a[0] + ((b[0] - a[0]) * h) / (h - k), a[1] + ((b[1] - a[1]) * h) / (h - k)];
    return [...(h >= 0 ? [a] : []), ...(h * k < 0 ? [cut] : [])];
  });
  const size = nx * nx + ny * ny;
  return { moved, landed: moved.map(([x, y]) => {
    const k = (2 * height([x, y])) / size;
    return [x - k * nx, y - k * ny];
  }) };
}

const path = (points) => (points.length ? `M${points.map((p) => toUnits(mat(), p).join(" ")).join("L")}Z` : "");

const draw = eachFrame(() => {
  const svg = picture()?.querySelector("svg");
  wipe(svg, "by-fold");
  if (!pull?.to || !svg || pull.to.text === pull.start.text) return;
  const [from, to] = [pull.start.at, pull.to.at];
  layPaperBefore(mat(), picture(), "by-fold");
  const { moved, landed } = flapOf(pull.holds.outline, from, to);
  lay(svg, "path", "by-fold pulled-from", { d: path(moved) });
  lay(svg, "path", "by-fold pulled-flap", { d: path(landed) });
  const [p, q] = [toUnits(mat(), from), toUnits(mat(), to)];
  const middle = [(p[0] + q[0]) / 2, (p[1] + q[1]) / 2];
  const length = Math.hypot(q[0] - p[0], q[1] - p[1]);
  const along = [((p[1] - q[1]) / length) * 12000, ((q[0] - p[0]) / length) * 12000];
  lay(svg, "path", "by-fold pulled crease", { d: `M${middle[0] - along[0]} ${middle[1] - along[1]}L${middle[0] + along[0]} ${middle[1] + along[1]}` });
  const bow = [middle[0] + along[0] * (length / 60000), middle[1] + along[1] * (length / 60000)];
  lay(svg, "path", "by-fold pulled way", { d: `M${p[0]} ${p[1]}Q${bow[0]} ${bow[1]} ${q[0]} ${q[1]}` });
  lay(svg, "circle", "by-fold pulled grip", { cx: p[0], cy: p[1], r: 200 });
  lay(svg, "circle", "by-fold pulled landing", { cx: q[0], cy: q[1], r: 200 });
});

// A flat sheet has no row to fill in yet: the server is asked for its first fold.
function foldFirst(start, to) {
  const values = { folds: "1", step: "fold-0", do: "show" };
  const fold = { how: "bring", bring: start.text, to: to.text, way: "over", layers: "all" };
  Object.entries(fold).forEach(([name, value]) => { values[`fold-0-${name}`] = value; });
  const typed = Object.fromEntries(new FormData(document.querySelector("[data-workbench]")));
  window.htmx.ajax("POST", location.pathname, { source: "#bench-restore", target: "#bench", select: "#bench", swap: "outerHTML", values: { ...typed, ...values } });
}

function move(event) {
  const svg = picture()?.querySelector("svg");
  if (!svg) return;
  pull.to = snap(pull.holds, onSheet(mat(), svg, event), { start: pull.start, free: event.altKey });
  say(`Brings ${pull.start.says} ${pull.to.to}.`);
  draw();
}

document.addEventListener("pointerdown", (event) => {
  const svg = event.target.closest?.("[data-mat] .mat-step > svg");
  if (!svg || !(hand() || isFlat()) || event.button) return;
  event.preventDefault();
  const holds = holdsOf(picture());
  const at = onSheet(mat(), svg, event);
  const start = snap(holds, at, { free: event.altKey });
  if (!isOnPaper(holds, at) && start.says === start.text) return say("There is no paper there to take hold of.");
  pull = { start, holds, to: null };
});

document.addEventListener("pointermove", (event) => {
  if (pull) move(event);
});

document.addEventListener("pointerup", (event) => {
  if (!pull) return;
  move(event);
  const { start, to } = pull;
  pull = null;
  wipe(picture()?.querySelector("svg"), "by-fold");
  const chosen = hand();
  if (!to || to.text === start.text) return;
  if (!chosen) return foldFirst(start, to);
  const field = (name) => chosen.querySelector(`[name="${chosen.dataset.hand}-${name}"]`);
  chosen.querySelector('.how input[value="bring"]').checked = true;
  field("bring").value = start.text;
  field("to").value = to.text;
  field("to").dispatchEvent(new Event("released", { bubbles: true })); // asked at once: a hand that let go is done
});

document.addEventListener("pointercancel", () => {
  pull = null;
  wipe(picture()?.querySelector("svg"), "by-fold");
});

document.addEventListener("htmx:afterOnLoad", () => {
  if (pull) draw(); // the sheet has come anew under the hand
});
