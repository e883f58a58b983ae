// data-undo="back" and "forth" on the workbench: every change can be taken back, and what is not saved outlives a
// reload, a lost connection and a sign-in that ran out. States of the form are kept in this tab's storage, per person,
// until the question is saved; the server draws the page for a state anew, as for any other.

const MOST = 60;
const LEFT_OUT = ["csrfmiddlewaretoken", "do", "over"];
const form = () => document.querySelector("[data-workbench]");
const place = () => `bench:${document.body.dataset.person ?? ""}:${form().dataset.workbench}:${form().dataset.version}`;
let kept = { states: [], at: -1 };
let served = ""; // the form as the page came, before what was not saved took its place
let restoring = false;
let wait = 0;

function stateOf() {
  const pairs = [...new FormData(form())].filter(([name]) => !LEFT_OUT.includes(name));
  return new URLSearchParams(pairs).toString();
}

function store() {
  try {
    sessionStorage.setItem(place(), JSON.stringify(kept));
  } catch {
    // Storage is full or shut off: undo lasts as long as the page.
  }
}

function showButtons() {
  document.querySelectorAll('[data-undo="back"], [data-undo="forth"]').forEach((button) => {
    button.disabled = button.dataset.undo === "back" ? kept.at <= 0 : kept.at >= kept.states.length - 1;
  });
}

function keep() {
  clearTimeout(wait);
  wait = 0;
  if (!form() || restoring) return;
  const state = stateOf();
  if (state === kept.states[kept.at]) return;
  kept.states = [...kept.states.slice(0, kept.at + 1), state].slice(-MOST);
  kept.at = kept.states.length - 1;
  store();
  showButtons();
}

async function restore(at) {
  restoring = true;
  const values = Object.fromEntries(new URLSearchParams(kept.states[at]));
  try {
    await window.htmx.ajax("POST", location.pathname, {
      source: "#bench-restore", target: "#bench", select: "#bench", swap: "outerHTML", values: { ...values, do: "show" },
    });
    if (!form()) return;
    kept.at = at;
    kept.states[at] = stateOf(); // as the server writes it, so that nothing seems to have been changed since
    store();
    showButtons();
  } finally {
    restoring = false;
    goOn();
  }
}

function begin() {
  if (!form()) return;
  served = stateOf();
  try {
    kept = JSON.parse(sessionStorage.getItem(place())) ?? kept;
  } catch {
    kept = { states: [], at: -1 };
  }
  if (kept.at >= 0 && kept.states[kept.at] !== served && !document.querySelector("[data-not-saved]")) {
    restore(kept.at);
    document.querySelector("[data-restored]").hidden = false;
  } else keep();
  showButtons();
}

// One more change, which can be taken back as well.
async function startAfresh() {
  kept.states = [...kept.states.slice(0, kept.at + 1), served].slice(-MOST);
  kept.at = Math.min(kept.at, kept.states.length - 2);
  await restore(kept.states.length - 1);
  document.querySelector("[data-restored]").hidden = true;
}

document.addEventListener("input", (event) => {
  if (!form()?.contains(event.target) || event.target.name === "step") return;
  clearTimeout(wait);
  wait = setTimeout(keep, 350);
});
document.addEventListener("released", keep);
// The paper took a punch along: that belongs to the change that moved the paper, and is taken back with it.
let followed = false;
document.addEventListener("htmx:oobBeforeSwap", (event) => {
  followed ||= event.detail.target.matches(".punch-place");
});
document.addEventListener("htmx:afterOnLoad", () => {
  if (!followed || !form()) return;
  followed = false;
  if (wait) return keep();
  kept.states[kept.at] = stateOf();
  store();
});
document.addEventListener("htmx:beforeRequest", (event) => {
  if (event.detail.target?.id === "bench") keep(); // the answer replaces what was typed a moment ago
});
document.addEventListener("htmx:afterSettle", (event) => {
  if (event.detail.target?.id === "bench" || event.target.id === "bench") keep();
});
document.addEventListener("htmx:beforeOnLoad", (event) => {
  if (form() && event.detail.xhr.getResponseHeader("HX-Redirect")) sessionStorage.removeItem(place()); // saved
});
// While an answer that replaces the form is on its way, what is pressed waits for it: it means the form that comes.
const pressed = [];
let awaited = 0;
function goOn() {
  if (awaited || restoring || !pressed.length) return;
  const way = pressed.shift();
  keep();
  const at = kept.at + (way === "back" ? -1 : 1);
  if (way === "afresh") startAfresh();
  else if (at >= 0 && at < kept.states.length) restore(at);
}
document.addEventListener("htmx:beforeRequest", (event) => {
  if (event.detail.target?.id === "bench") awaited += 1;
});
document.addEventListener("htmx:afterRequest", (event) => {
  if (event.detail.target?.id !== "bench") return;
  awaited -= 1;
  setTimeout(goOn);
});
document.addEventListener("click", (event) => {
  const way = event.target.closest("[data-undo]")?.dataset.undo;
  if (!way) return;
  pressed.push(way);
  goOn();
});
document.addEventListener("keydown", (event) => {
  if (!form() || !(event.ctrlKey || event.metaKey) || event.key.toLowerCase() !== "z") return;
  if (event.target.matches("input:not([type=radio]), textarea")) return; // a field has its own undo
  event.preventDefault();
  document.querySelector(`[data-undo="${event.shiftKey ? "forth" : "back"}"]`)?.click();
});

begin();
