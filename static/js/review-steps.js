// [data-steps]: the unfolding, a step at a time. Without script each step is a page of its own (?step=2); here the
// drawings already on the page take their turn on the stage.

for (const unfolding of document.querySelectorAll("[data-steps]")) {
  const steps = [...unfolding.querySelectorAll("[data-step]")];
  const stage = unfolding.querySelector("[data-stage]");
  const back = unfolding.querySelector("[data-step-back]");
  const next = unfolding.querySelector("[data-step-next]");
  const current = () => steps.findIndex((step) => step.parentElement.hasAttribute("aria-current"));

  function show(place) {
    if (place < 0 || place >= steps.length) return;
    steps.forEach((step, at) => step.parentElement.toggleAttribute("aria-current", at === place));
    steps[place].parentElement.setAttribute("aria-current", "step");
    stage.replaceChildren(steps[place].querySelector("svg").cloneNode(true));
    stage.setAttribute("aria-label", steps[place].querySelector("[data-step-says]").textContent);
    unfolding.querySelector("[data-step-count]").textContent = `Step ${place + 1} of ${steps.length}`;
    able(back, place > 0);
    able(next, place < steps.length - 1);
    next.textContent = place < steps.length - 1 ? steps[place + 1].querySelector("b").textContent.replace("Opening", "Open") : "Flat";
  }

  function able(link, can) {
    if (can) link.removeAttribute("aria-disabled");
    else link.setAttribute("aria-disabled", "true");
  }

  unfolding.addEventListener("click", (event) => {
    const link = event.target.closest("a");
    if (!link) return;
    event.preventDefault();
    if (link === back) show(current() - 1);
    else if (link === next) show(current() + 1);
    else show(steps.indexOf(link));
  });
  show(current());
}
