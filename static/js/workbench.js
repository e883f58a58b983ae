// data-workbench: the page's own moves. Choosing a step shows its hands and its picture; an answer of 422 or 409 is
// shown like any other, since it says what to mend; a lost connection or sign-in is told, and nothing is cleared.

const bench = () => document.querySelector("[data-workbench]");

const opened = new Map(); // what a hand opened or shut among the checks, which come anew with every answer

function showStep(step) {
  const [kind, place] = step.split("-");
  const pictures = [...document.querySelectorAll(".mat-step")];
  const shown = kind === "fold" ? Math.min(Number(place), pictures.length - 1) : pictures.length - 1;
  pictures.forEach((picture, i) => picture.classList.toggle("is-chosen", i === shown));
  document.querySelectorAll("[data-hand]").forEach((hand) => hand.classList.toggle("is-chosen", hand.dataset.hand === step));
}

function tell(words) {
  const place = document.querySelector("[data-lost]");
  if (!place) return;
  place.hidden = !words;
  place.querySelector("span").textContent = words;
}

document.addEventListener("change", (event) => {
  if (event.target.name !== "step" || !bench()?.contains(event.target)) return;
  document.querySelector("[data-snap-says]").textContent = ""; // that was said of another hand
  showStep(event.target.value);
});

document.addEventListener("click", (event) => {
  const line = event.target.closest("summary")?.parentElement;
  if (line?.matches("[data-stays-open]")) opened.set(line.dataset.staysOpen, !line.open);
  if (line?.matches(".bench-side *")) requestAnimationFrame(() => line.open && line.scrollIntoView({ block: "nearest" }));
});
document.addEventListener("change", (event) => {
  if (event.target.matches('[name="sheet-kind"]')) event.target.closest("details").scrollIntoView({ block: "nearest" });
});

// A preview was asked for at the step chosen then; another may have been chosen since. (Once an answer: each of its
// pieces would tell of all the pieces before it.)
document.addEventListener("htmx:afterOnLoad", () => {
  const step = bench()?.querySelector('[name="step"]:checked');
  if (step) showStep(step.value);
  document.querySelectorAll("[data-stays-open]").forEach((line) => {
    line.open = opened.get(line.dataset.staysOpen) ?? line.open;
  });
});

// What opens below the options is brought into sight.
let desk = "";
document.addEventListener("htmx:afterSettle", (event) => {
  const opened = document.querySelector("[data-desk]:not([hidden])");
  if (event.detail.target?.id !== "bench" && event.target.id !== "bench") return;
  if (opened && opened.dataset.desk !== desk) opened.scrollIntoView({ block: "nearest" });
  desk = opened?.dataset.desk ?? "";
});

// Looking at another step changes nothing of the paper, so the server need not be asked.
document.addEventListener("input", (event) => event.target.name === "step" && event.stopPropagation(), true);

document.addEventListener("htmx:beforeSwap", (event) => {
  // Who asked has been swapped away: this answers a form that is no longer there.
  if (bench() && !event.detail.requestConfig.elt.isConnected) {
    event.detail.shouldSwap = false;
    event.detail.isError = false;
    return;
  }
  if (!bench() || ![409, 422].includes(event.detail.xhr.status)) return;
  event.detail.shouldSwap = true;
  event.detail.isError = false;
});

const UNREACHED = "The server cannot be reached. Nothing is lost: change anything, or save, to try again.";
const SIGNED_OUT = "You are signed out. Sign in again and come back: what you did here is kept.";

document.addEventListener("htmx:responseError", (event) => {
  tell([401, 403].includes(event.detail.xhr.status) ? SIGNED_OUT : UNREACHED);
});
document.addEventListener("htmx:sendError", () => tell(UNREACHED));
document.addEventListener("htmx:afterOnLoad", (event) => {
  if (event.detail.xhr.status < 400 || [409, 422].includes(event.detail.xhr.status)) tell("");
});
