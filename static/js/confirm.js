// data-confirm="Remove Fenna from this class?" on a form or on its button: asks before the form is sent.
// Runs in the capturing phase, so that a refusal stops busy.js and htmx too.

document.addEventListener(
  "submit",
  (event) => {
    const question = event.submitter?.dataset.confirm ?? event.target.dataset.confirm;
    if (!question || window.confirm(question)) return;
    event.preventDefault();
    event.stopImmediatePropagation();
  },
  true,
);
