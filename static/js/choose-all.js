// <input type="checkbox" data-choose-all="pupil">: ticks or clears every box of that name in the same form that can be ticked,
// and shows half a tick when only some are.

const boxesOf = (all) => [...all.form.querySelectorAll(`input[type="checkbox"][name="${all.dataset.chooseAll}"]:not(:disabled)`)];

function follow(all) {
  const boxes = boxesOf(all);
  const ticked = boxes.filter((box) => box.checked).length;
  all.checked = ticked > 0 && ticked === boxes.length;
  all.indeterminate = ticked > 0 && ticked < boxes.length;
}

document.addEventListener("change", ({ target }) => {
  if (target.dataset.chooseAll) {
    for (const box of boxesOf(target)) box.checked = target.checked;
  } else {
    target.form?.querySelectorAll("[data-choose-all]").forEach(follow);
  }
});

const followAll = () => document.querySelectorAll("[data-choose-all]").forEach(follow);

document.addEventListener("htmx:load", followAll); // a part of the page has come anew
window.addEventListener("pageshow", followAll);
followAll();
