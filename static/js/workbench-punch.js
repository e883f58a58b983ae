// data-mat, with a punch chosen: a press puts it there, a drag moves it, two handles turn and size it; guides show what it
// lies in line with, and the unfolded sheet follows at once. With the sheet focused the arrow keys nudge it, with Shift
// they turn and size it. All of it only fills in the fields below, which can be typed in as well.

import { GRAIN, dieAt, eachFrame, fill, lay, near, onSheet, read, readPoint, plus, pointOf, say, toUnits, valueOf, wipe, write } from "./sheet-plane.js";
import { align, holdsOf, snap } from "./sheet-snap.js";
import { showUnfolded } from "./sheet-unfolded.js";

const SIZES = 48; // sizes go by forty-eighths of the sheet
const mat = () => document.querySelector("[data-mat]");
const picture = () => mat()?.querySelector(".mat-step.is-chosen");
const hand = () => document.querySelector('[data-hand^="punch"].is-chosen');
const field = (from, name) => from.querySelector(`[name="${from.dataset.hand}-${name}"]`);
const hands = () => [...document.querySelectorAll('[data-hand^="punch"]')];
const lie = (from) => ["at", "turn", "size"].map((name) => field(from, name).value).join();
let grip = ""; // what the pointer holds: "move", "turn" or "size"
let before = ""; // how the punch lay when it was taken hold of
let guides = [];

function punchOf(from) {
  const point = readPoint(field(from, "at").value);
  const [size, turn] = [valueOf(field(from, "size").value), valueOf(field(from, "turn").value || "0")];
  const die = from.querySelector(".die:has(:checked) path:not(.own)")?.getAttribute("d");
  return point && size > 0 && Number.isFinite(turn) ? { point, size, turn, die } : null;
}

const around = ({ point, size, turn }, angle, reach) => {
  const a = ((turn + angle) * Math.PI) / 180;
  return [point.at[0] + Math.cos(a) * (size / 2 + reach), point.at[1] + Math.sin(a) * (size / 2 + reach)];
};

const draw = eachFrame(() => {
  const svg = picture()?.querySelector("svg");
  const punch = hand() && punchOf(hand());
  document.querySelectorAll(".mat-step > svg").forEach((one) => wipe(one, "by-punch"));
  showUnfolded(mat(), grip ? hands().map(punchOf).filter((one) => one?.die) : null);
  if (!svg || !punch) return;
  const line = (p, q) => `M${toUnits(mat(), p).join(" ")}L${toUnits(mat(), q).join(" ")}`;
  if (grip === "move" && guides[0] !== null && guides[0] !== undefined) lay(svg, "path", "by-punch guide", { d: line([guides[0], -1], [guides[0], 2]) });
  if (grip === "move" && guides[1] !== null && guides[1] !== undefined) lay(svg, "path", "by-punch guide", { d: line([-1, guides[1]], [2, guides[1]]) });
  const astray = !grip && document.getElementById(`says-${hand().dataset.hand}`)?.textContent.trim();
  if ((grip || astray) && punch.die) lay(svg, "path", `by-punch die-ghost${astray ? " astray" : ""}`, { d: punch.die, transform: dieAt(mat(), punch.point.at, punch.size, punch.turn) });
  const [tx, ty] = toUnits(mat(), around(punch, 90, 0.05));
  const [sx, sy] = toUnits(mat(), around(punch, -45, 0.03));
  lay(svg, "path", "by-punch handle-stem", { d: line(punch.point.at, around(punch, 90, 0.05)) });
  for (const [name, x, y] of [["turn", tx, ty], ["size", sx, sy]]) {
    lay(svg, "circle", "by-punch handle-reach", { cx: x, cy: y, r: 480, "data-grip": name });
    lay(svg, name === "turn" ? "circle" : "rect", "by-punch handle", name === "turn" ? { cx: x, cy: y, r: 190 } : { x: x - 170, y: y - 170, width: 340, height: 340 });
  }
});

function move(event) {
  const svg = picture()?.querySelector("svg");
  const chosen = hand();
  if (!svg || !chosen) return;
  const at = onSheet(mat(), svg, event);
  const punch = punchOf(chosen);
  if (grip === "move") {
    const others = hands().filter((other) => other !== chosen).map((other) => ({ point: punchOf(other)?.point, name: other.querySelector(".hand-name").textContent.toLowerCase() }));
    const paper = holdsOf(picture());
    const to = event.altKey ? snap(paper, at, { free: true }) : align(paper, others.filter(({ point }) => point), at);
    guides = to.guides ?? [];
    fill(field(chosen, "at"), to.text);
    say(`${chosen.querySelector(".hand-name").textContent}: ${to.says}.`);
  } else if (punch && grip === "turn") {
    const angle = (Math.atan2(at[1] - punch.point.at[1], at[0] - punch.point.at[0]) * 180) / Math.PI - 90;
    const step = event.altKey ? 1 : 15;
    const turn = (((Math.round(angle / step) * step) % 360) + 360) % 360;
    fill(field(chosen, "turn"), String(turn));
    say(`Turned by ${turn}°.`);
  } else if (punch) {
    const reach = Math.hypot(at[0] - punch.point.at[0], at[1] - punch.point.at[1]) - 0.03;
    resize(chosen, near(Math.max(reach * 2, 0), SIZES));
  }
  draw();
}

function resize(chosen, wanted) {
  const size = wanted[0] / wanted[1] < 1 / GRAIN ? [1, GRAIN] : wanted[0] > wanted[1] ? [1, 1] : wanted;
  fill(field(chosen, "size"), write(size));
  say(`Size ${write(size)} of the sheet.`);
}

document.addEventListener("pointerdown", (event) => {
  if (event.button || !hand() || !event.target.closest?.("[data-mat] .mat-step > svg")) return;
  event.preventDefault();
  before = lie(hand());
  grip = event.target.dataset.grip ?? "move";
  if (grip === "move") move(event);
});
document.addEventListener("pointermove", (event) => {
  if (grip) move(event);
});
for (const end of ["pointerup", "pointercancel"]) {
  document.addEventListener(end, () => {
    if (!grip) return;
    grip = "";
    draw();
    if (hand() && lie(hand()) !== before) field(hand(), "at").dispatchEvent(new Event("released", { bubbles: true }));
  });
}
// While the hand is on it this script follows; the server is asked when it lets go, and then at once.
document.addEventListener("input", (event) => grip && event.stopPropagation(), true);

const STEPS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowDown: [0, -1], ArrowUp: [0, 1] };

document.addEventListener("keydown", (event) => {
  const way = STEPS[event.key];
  const chosen = hand();
  if (!way || !chosen || !event.target.matches?.("[data-mat]")) return;
  event.preventDefault();
  const punch = punchOf(chosen);
  if (!punch) return;
  if (!event.shiftKey) {
    const to = pointOf(...punch.point.exact.map((v, i) => plus(v, [way[i], GRAIN])));
    fill(field(chosen, "at"), to.text);
    say(`${chosen.querySelector(".hand-name").textContent}: ${to.text}.`);
  } else if (way[0]) turnBy(field(chosen, "turn"), -15 * way[0]);
  else resize(chosen, plus(read(field(chosen, "size").value), [way[1], SIZES]));
  draw();
});

function turnBy(turned, degrees) {
  const to = (Number(turned.value || 0) + degrees + 360) % 360;
  if (Number.isNaN(to)) return;
  fill(turned, String(to));
  say(`Turned by ${to}°.`);
}

document.addEventListener("click", (event) => {
  const button = event.target.closest("[data-turn], [data-size]");
  if (!button) return;
  if (button.dataset.turn) turnBy(document.getElementById(button.dataset.turnField), Number(button.dataset.turn));
  else resize(button.closest("[data-hand]"), plus(read(document.getElementById(button.dataset.sizeField).value), [Number(button.dataset.size), SIZES]));
});

document.addEventListener("change", (event) => {
  if (event.target.name === "step") draw();
});
document.addEventListener("input", (event) => {
  if (!grip && event.target.closest?.('[data-hand^="punch"]')) draw();
});
for (const swapped of ["htmx:afterOnLoad", "htmx:afterSettle"]) document.addEventListener(swapped, draw);
draw();
