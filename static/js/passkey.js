// <form data-passkey="get" data-options="/sign-in/passkey/options.json">: sends the form to learn what to ask of the
// browser's passkeys, asks, and sends the answer in its field "credential". data-passkey="create" makes a passkey.
// Without script, or where the browser knows no passkeys, the form stays hidden and [data-no-passkey] says so.

const known = window.PublicKeyCredential;
const ways = {
  get: async (options) => navigator.credentials.get({ publicKey: known.parseRequestOptionsFromJSON(options) }),
  create: async (options) => navigator.credentials.create({ publicKey: known.parseCreationOptionsFromJSON(options) }),
};
const SAYS = {
  InvalidStateError: "This device holds a passkey of yours already.",
  NotAllowedError: "No passkey was used. Try once more when you are ready.",
};

async function ask(form) {
  const answer = await fetch(form.dataset.options, { method: "POST", body: new FormData(form) });
  const told = (answer.headers.get("Content-Type") ?? "").startsWith("application/json") ? await answer.json() : {};
  if (!answer.ok) throw new Error(told.says ?? "The server did not answer as it should. Open the page again.");
  return (await ways[form.dataset.passkey](told)).toJSON();
}

function say(form, words) {
  const place = form.querySelector("[data-passkey-says]");
  place.textContent = words;
  place.hidden = !words;
}

for (const form of document.querySelectorAll("[data-passkey]")) {
  form.hidden = !known?.parseRequestOptionsFromJSON;
  for (const note of form.parentElement.querySelectorAll("[data-no-passkey]")) note.hidden = !form.hidden;
  const credential = form.elements.namedItem("credential");
  form.addEventListener("submit", async (event) => {
    if (credential.value) return;
    event.preventDefault();
    const button = event.submitter;
    button.disabled = true;
    say(form, "");
    try {
      credential.value = JSON.stringify(await ask(form));
    } catch (error) {
      say(form, SAYS[error.name] ?? error.message);
    }
    button.disabled = false;
    if (credential.value) form.requestSubmit(button);
  });
  window.addEventListener("pageshow", () => (credential.value = ""));
}
