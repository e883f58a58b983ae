// <strong data-count-ticked="question">: tells how many boxes of that name are ticked in its form.

for (const line of document.querySelectorAll("[data-count-ticked]")) {
  const empty = line.textContent;
  const form = line.closest("form");
  const count = () => {
    const ticked = form.querySelectorAll(`[name="${line.dataset.countTicked}"]:checked`).length;
    line.textContent = ticked ? `${ticked} question${ticked === 1 ? "" : "s"} chosen` : empty;
  };
  form.addEventListener("change", count);
  window.addEventListener("pageshow", count);
  count();
}
