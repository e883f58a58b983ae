// <button type="button" data-copy="KTRW-4827">Copy</button>: copies the text, and says so for two seconds.

document.addEventListener("click", async (event) => {
  const button = event.target.closest("[data-copy]");
  if (!button) return;
  const words = (button.dataset.copyWords ??= button.textContent);
  let says = "Copied";
  try {
    await navigator.clipboard.writeText(button.dataset.copy);
  } catch {
    says = "Could not copy";
  }
  button.textContent = says;
  setTimeout(() => (button.textContent = words), 2000);
});
