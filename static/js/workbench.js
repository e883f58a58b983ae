// data-workbench: the page's own moves. Choosing a step shows its hands and its picture; an answer of 422 or 409 is
// shown like any other, since it says what to mend; a lost connection or sign-in is told, and nothing is cleared.

const bench = () => document.querySelector("[data-workbench]");

function showStep(step) {
  const [kind, place] = step.split("-");
  const pictures = [...document.querySelectorAll(".mat-step")];
  const shown = kind === "fold" ? Number(place) : pictures.length - 1;
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
  if (event.target.name === "step" && bench()?.contains(event.target)) showStep(event.target.value);
});

document.addEventListener("htmx:beforeSwap", (event) => {
  if (!bench() || ![409, 422].includes(event.detail.xhr.status)) return;
  event.detail.shouldSwap = true;
  event.detail.isError = false;
});

document.addEventListener("htmx:afterRequest", (event) => {
  if (!bench()) return;
  const status = event.detail.xhr?.status ?? 0;
  if (status === 401 || status === 403) tell("You are signed out. Sign in again and come back: what you did here is kept.");
  else if (!status || status >= 500) tell("The server cannot be reached. Nothing is lost: change anything, or save, to try again.");
  else tell("");
});
