// [data-choices]: while one of its radios has focus, A to E and 1 to 5 choose; arrows are the browser's own.

const KEYS = { a: 0, b: 1, c: 2, d: 3, e: 4, 1: 0, 2: 1, 3: 2, 4: 3, 5: 4 };

document.addEventListener("keydown", (event) => {
  const choices = event.target.closest("[data-choices]");
  const place = KEYS[event.key.toLowerCase()];
  if (!choices || place === undefined || event.ctrlKey || event.altKey || event.metaKey) return;
  const radio = choices.querySelectorAll("[type=radio]")[place];
  if (!radio || radio.disabled) return;
  event.preventDefault();
  radio.focus();
  if (!radio.checked) radio.click();
});
