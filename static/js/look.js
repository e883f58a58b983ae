// The form "Colours and text size": <form data-look> with radios theme and text. Kept on this device alone.

const page = document.documentElement;

function keep(choice, value) {
  if (value) page.dataset[choice] = value;
  else delete page.dataset[choice];
  try {
    if (value) localStorage.setItem("look-" + choice, value);
    else localStorage.removeItem("look-" + choice);
  } catch {
    // Storage is shut off: the choice holds until the page goes.
  }
}

for (const form of document.querySelectorAll("[data-look]")) {
  for (const choice of ["theme", "text"]) {
    const kept = form.querySelector(`[name="${choice}"][value="${page.dataset[choice] ?? ""}"]`);
    if (kept) kept.checked = true;
  }
  form.addEventListener("change", (event) => keep(event.target.name, event.target.value));
}
