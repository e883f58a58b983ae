// #refused: the crease of a fold that paper cannot make, on the paper as it lies before that fold. Red, and crossed out
// for those who see no red; the words are beside it.

import { lay, layPaperBefore, toUnits, wipe } from "./sheet-plane.js";

const mat = () => document.querySelector("[data-mat]");

function show() {
  document.querySelectorAll(".mat-step > svg").forEach((svg) => wipe(svg, "refused"));
  const { refused, line } = document.querySelector("#refused")?.dataset ?? {};
  const picture = document.querySelectorAll(".mat-step")[Number(refused)];
  const svg = picture?.querySelector("svg");
  if (!line || !svg) return;
  layPaperBefore(mat(), picture, "refused");
  const [a, b, c] = line.trim().split(" ").map(Number);
  const corners = picture.dataset.outline.split(" ").map((pair) => pair.split(",").map(Number));
  const [x, y] = [0, 1].map((i) => corners.reduce((sum, corner) => sum + corner[i], 0) / corners.length);
  const off = a * x + b * y + c; // how far the middle of the paper is from the crease
  const [px, py] = toUnits(mat(), [x - off * a, y - off * b]);
  const { width, height } = svg.viewBox.baseVal;
  const [along, up] = [b * width * 2, a * width * 2];
  const d = `M${px - along} ${py - up}L${px + along} ${py + up}`;
  lay(svg, "path", "refused casing", { d });
  lay(svg, "path", "refused line", { d });
  const inside = (value, size) => Math.min(Math.max(value, 700), size - 700);
  const at = { transform: `translate(${inside(px, width)} ${inside(py, height)})` };
  lay(svg, "circle", "refused sign", { ...at, r: 480 });
  lay(svg, "path", "refused sign", { ...at, d: "M-200-200L200 200M200-200L-200 200" });
}

document.addEventListener("htmx:afterOnLoad", show);
document.addEventListener("htmx:afterSettle", show);
show();
