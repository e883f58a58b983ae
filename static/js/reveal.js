// <button type="button" data-reveal="id_pin">Show</button>: shows and hides what is typed in a password field.

document.addEventListener("click", (event) => {
  const button = event.target.closest("[data-reveal]");
  const field = button && document.getElementById(button.dataset.reveal);
  if (!field) return;
  const shown = field.type === "password";
  field.type = shown ? "text" : "password";
  button.textContent = shown ? "Hide" : "Show";
  button.setAttribute("aria-pressed", String(shown));
});

// A field left readable would offer itself to the browser as plain text to remember.
document.addEventListener("submit", (event) => {
  for (const button of event.target.querySelectorAll('[data-reveal][aria-pressed="true"]')) {
    document.getElementById(button.dataset.reveal).type = "password";
  }
});
