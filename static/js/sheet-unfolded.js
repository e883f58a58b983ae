// While a punch is in the hand: every punch carried over to the flat sheet, layer by layer, at once and about; the server
// draws what is exact. Layers come with the flat sheet (data-faces): where each lies folded, and the motion it made.

import { dieAt, lay, wipe } from "./sheet-plane.js";

const holds = (corners, [x, y]) => corners.every(([x1, y1], i) => {
  const [x2, y2] = corners[(i + 1) % corners.length];
  return (x2 - x1) * (y - y1) - (y2 - y1) * (x - x1) >= 0;
});

// punches: [{point, size, turn, die}], or null to show the server's drawing again
export function showUnfolded(place, punches) {
  const answer = document.querySelector("#answer");
  const svg = answer?.querySelector("svg");
  if (!svg) return;
  wipe(svg, "unfolded");
  svg.classList.toggle("is-following", Boolean(punches));
  for (const face of punches ? answer.dataset.faces.split(";").filter(Boolean) : []) {
    const [outline, motion] = face.split("|");
    const corners = outline.split(" ").map((pair) => pair.split(",").map(Number));
    const [a, b, c, d, e, f] = motion.split(" ").map(Number);
    const over = a * d - b * c < 0;
    const lies = (Math.atan2(c, a) * 180) / Math.PI; // how the motion turned the flat sheet
    for (const { point, size, turn, die } of punches.filter((punch) => holds(corners, punch.point.at))) {
      const [x, y] = [point.at[0] - e, point.at[1] - f];
      const at = [a * x + c * y, b * x + d * y];
      const transform = dieAt(place, at, size, over ? 180 - turn + lies : turn - lies, over);
      lay(svg, "path", "unfolded die-ghost", { d: die, transform });
    }
  }
}
