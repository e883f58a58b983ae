// data-steps: the arrow keys (and Page Up, Page Down, as a presenter's clicker sends) follow the links back and
// forward. Nothing is caught while a field has the focus or a modifier is held.

const BACK = ["ArrowLeft", "PageUp"];
const FORTH = ["ArrowRight", "PageDown"];

document.addEventListener("keydown", (event) => {
  const board = document.querySelector("[data-steps]");
  if (!board || event.altKey || event.ctrlKey || event.metaKey || event.shiftKey) return;
  if (event.target.closest("input, select, textarea, [contenteditable]")) return;
  const way = BACK.includes(event.key) ? "prev" : FORTH.includes(event.key) ? "next" : "";
  const link = way && board.querySelector(`a[rel="${way}"]`);
  if (!link) return;
  event.preventDefault();
  link.click();
});
