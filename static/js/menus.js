// <details data-menu>: closes on Escape (focus goes back to its word), on a press elsewhere, and when focus leaves.

const openMenus = () => document.querySelectorAll("details[data-menu][open]");

document.addEventListener("pointerdown", (event) => {
  for (const menu of openMenus()) if (!menu.contains(event.target)) menu.open = false;
});

document.addEventListener("focusin", (event) => {
  for (const menu of openMenus()) if (!menu.contains(event.target)) menu.open = false;
});

document.addEventListener("keydown", (event) => {
  if (event.key !== "Escape") return;
  for (const menu of openMenus()) {
    menu.open = false;
    menu.querySelector("summary").focus();
  }
});
