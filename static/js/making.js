// Questions being made: [data-batch] asks for the next ones by htmx as soon as it is there. A lost connection is
// tried again; a refusal of a deed on one question ([data-candidate]) is shown with it.

const AGAIN_AFTER = 4000; // milliseconds

for (const lost of ["htmx:sendError", "htmx:responseError"]) {
  document.addEventListener(lost, (event) => {
    const batch = event.target.closest("[data-batch]");
    if (batch) setTimeout(() => window.htmx.trigger(batch, "again"), AGAIN_AFTER);
  });
}

document.addEventListener("htmx:beforeSwap", (event) => {
  const refused = event.detail.xhr.status === 409 || event.detail.xhr.status === 429;
  if (refused && event.detail.target.closest("[data-candidate]")) event.detail.shouldSwap = true;
});
