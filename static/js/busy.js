// <button data-busy="Saving">Save</button>: while its form is sent, the button says so, keeps its width and
// cannot send twice. Coming back by the browser's Back button wakes it again.

const asleep = new Map();

function sleep(button) {
  asleep.set(button, button.innerHTML);
  button.style.minWidth = `${button.offsetWidth}px`;
  button.textContent = `${button.dataset.busy}…`;
  button.setAttribute("aria-busy", "true");
}

function wake(button) {
  if (!asleep.has(button)) return;
  button.innerHTML = asleep.get(button);
  button.style.minWidth = "";
  button.removeAttribute("aria-busy");
  asleep.delete(button);
}

document.addEventListener("submit", (event) => {
  const button = event.submitter;
  if (!button?.dataset.busy || event.defaultPrevented) return;
  if (asleep.has(button)) event.preventDefault();
  else sleep(button);
});

document.addEventListener("htmx:afterRequest", () => [...asleep.keys()].forEach(wake));
window.addEventListener("pageshow", () => [...asleep.keys()].forEach(wake));
