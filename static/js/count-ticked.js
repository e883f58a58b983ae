// <strong data-count-ticked="question">: tells how many boxes of that name are ticked in its form. A box named "all" in the
// same form stands for everything that was found, and says itself how many that is.

const words = new WeakMap();

function count(line) {
  if (!words.has(line)) words.set(line, line.textContent);
  const form = line.closest("form");
  const all = form.querySelector('[name="all"]:checked');
  const ticked = form.querySelectorAll(`[name="${line.dataset.countTicked}"]:checked`).length;
  line.textContent = all
    ? all.closest("label").textContent.trim()
    : ticked ? `${ticked} question${ticked === 1 ? "" : "s"} chosen` : words.get(line);
}

const countAll = () => document.querySelectorAll("[data-count-ticked]").forEach(count);

document.addEventListener("change", countAll);
document.addEventListener("htmx:load", countAll); // a part of the page has come anew
window.addEventListener("pageshow", countAll);
countAll();
