// A button of the workbench brings the form anew. The focus goes on where the hand was: to the row that was added, into what
// was opened below the options, back to the option when that is shut, else to the same button. What stands in the way of
// saving takes it by itself (autofocus).

const find = (value) => document.querySelector(`#bench button[value="${value}"]:not([disabled])`);
const isBench = (event) => event.detail.target?.id === "bench" || event.target.id === "bench";
let pressed = "";
let desk = ""; // what lay open when it was pressed: "pick-2"

function placeAfter(value) {
  const [, way, place] = value.match(/^(left|right)-option-(\d)$/) ?? [];
  if (way) {
    const now = Number(place) + (way === "left" ? -1 : 1);
    return find(`${way}-option-${now}`) ?? find(`${way === "left" ? "right" : "left"}-option-${now}`);
  }
  if (/-(fold|punch)(-\d+)?$/.test(value)) return document.querySelector('#bench [name="step"]:checked');
  if (/^(pick|edit)-option/.test(value)) return document.querySelector("#option-desk .offer, #option-desk [data-hand-sheet]");
  if (/^(close-desk|take-)/.test(value)) return find(desk.replace("-", "-option-"));
  if (value === "add-hole") return [...document.querySelectorAll("[data-hole] select")].at(-1);
  if (value.startsWith("remove-hole")) return document.querySelector("[data-hand-sheet]");
  return find(value) ?? find(value.startsWith("un") ? value.slice(2) : `un${value}`);
}

document.addEventListener("htmx:beforeRequest", (event) => {
  if (!isBench(event)) return;
  pressed = event.detail.elt.matches("button[name=do]") ? event.detail.elt.value : "";
  desk = document.querySelector("[data-desk]")?.dataset.desk ?? "";
});

document.addEventListener("htmx:afterSettle", (event) => {
  if (!pressed || !isBench(event)) return;
  const value = pressed;
  pressed = "";
  if (document.activeElement === document.body) placeAfter(value)?.focus({ preventScroll: true });
});
