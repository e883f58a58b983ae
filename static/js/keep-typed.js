// <form data-keep-typed="class-12">: what is typed but not yet saved stays in this tab's storage, so that a reload,
// a signed-out session or a failing server loses nothing. Passwords, PINs, files and hidden fields are never kept,
// nor anything inside data-never-keep. Kept per person (body data-person), and gone when the person signs out.
//
// A form that was sent counts as arrived on the next page, unless that page asks to sign in again or says
// that something failed (data-not-saved): then the typed text waits until its form is seen again.

const SECRET = ["password", "file", "hidden", "submit", "button"];
const SENT = "sent-form";
const attached = new WeakSet();
const person = document.body.dataset.person ?? "";

const placeOf = (form) => `typed:${person}:${location.pathname}:${form.dataset.keepTyped}`;
const isSwitch = (field) => field.type === "checkbox" || field.type === "radio";

function fieldsOf(form) {
  return [...form.elements].filter(
    (field) => field.name && !SECRET.includes(field.type) && !field.closest("[data-never-keep]"),
  );
}

function valuesOf(form) {
  return JSON.stringify(
    fieldsOf(form).map((field) => [field.name, isSwitch(field) ? field.checked : field.value]),
  );
}

function fill(form, values) {
  const fields = fieldsOf(form);
  const kept = JSON.parse(values);
  if (kept.length !== fields.length || kept.some(([name], i) => name !== fields[i].name)) return false;
  fields.forEach((field, i) => {
    if (isSwitch(field)) field.checked = kept[i][1];
    else field.value = kept[i][1];
  });
  return true;
}

function announce(form) {
  const line = document.createElement("p");
  line.className = "message";
  line.setAttribute("role", "status");
  line.textContent = "What you had typed here is back. It has not been saved yet.";
  form.prepend(line);
  form.dispatchEvent(new Event("input", { bubbles: true }));
}

function attach(form) {
  if (attached.has(form)) return;
  attached.add(form);
  const served = valuesOf(form);
  const place = placeOf(form);
  const kept = sessionStorage.getItem(place);
  const keep = () => {
    const typed = valuesOf(form);
    if (typed === served) sessionStorage.removeItem(place);
    else sessionStorage.setItem(place, typed);
  };
  form.addEventListener("input", keep);
  form.addEventListener("change", keep);
  form.addEventListener("submit", () => sessionStorage.setItem(SENT, place));
  if (kept && kept !== served && fill(form, kept)) announce(form);
}

function attachAll(part) {
  if (part.matches?.("form[data-keep-typed]")) attach(part);
  part.querySelectorAll("form[data-keep-typed]").forEach(attach);
}

function settleWhatWasSent() {
  const place = sessionStorage.getItem(SENT);
  sessionStorage.removeItem(SENT);
  const lost = document.querySelector('[data-not-saved]');
  if (place && !lost) sessionStorage.removeItem(place);
}

function forgetOnSignOut(event) {
  if (event.target.matches("[data-sign-out]")) sessionStorage.clear();
}

try {
  settleWhatWasSent();
  attachAll(document);
  document.addEventListener("htmx:load", (event) => attachAll(event.target));
  document.addEventListener("submit", forgetOnSignOut);
} catch {
  // Storage is full or shut off: typing goes on without the net.
}
