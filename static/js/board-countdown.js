// data-countdown="30": a quiet countdown for the class: no sound, no colour of alarm. How long it is, and whether it is
// hidden, stays on this device. It ends by saying so, once, to those who listen, and goes when the slide does.

const KEPT = "board-countdown";
const LEAST = 5;
const MOST = 300;
const panel = () => document.querySelector("[data-countdown]");
let end = 0; // when it runs out, on the page's own clock; 0 while it stands
let kept = read();

function read() {
  try {
    return { seconds: 30, hidden: false, ...JSON.parse(localStorage.getItem(KEPT)) };
  } catch {
    return { seconds: 30, hidden: false };
  }
}

function keep(change) {
  kept = { ...kept, ...change };
  try {
    localStorage.setItem(KEPT, JSON.stringify(kept));
  } catch {
    // Without storage it is as set until the page goes.
  }
}

function show() {
  if (!panel()) return;
  const left = end ? Math.max(0, (end - performance.now()) / 1000) : kept.seconds;
  panel().querySelector("[data-time-left]").textContent = end && !left ? "Time" : `${Math.ceil(left)} s`;
  panel().querySelector("[data-time-start]").textContent = end ? "Stop" : "Start";
  panel().classList.toggle("is-hidden", kept.hidden);
  const hide = panel().querySelector("[data-time-hide]");
  hide.setAttribute("aria-pressed", String(kept.hidden));
  hide.textContent = kept.hidden ? "Show the time" : "Hide";
  const bar = document.querySelector("[data-time-bar]");
  if (bar) bar.style.transform = `scaleX(${kept.hidden || !end ? 0 : left / kept.seconds})`;
}

function tick() {
  if (!panel() || !end) return;
  show();
  if (performance.now() < end) setTimeout(tick, 200);
  else panel().querySelector("[data-time-says]").textContent = "Time is up.";
}

document.addEventListener("click", (event) => {
  if (!event.target.closest("[data-countdown]")) return;
  const change = event.target.closest("[data-time]")?.dataset.time;
  if (change) keep({ seconds: Math.min(MOST, Math.max(LEAST, kept.seconds + Number(change))) });
  if (event.target.closest("[data-time-hide]")) keep({ hidden: !kept.hidden });
  if (event.target.closest("[data-time-start]")) {
    end = end ? 0 : performance.now() + kept.seconds * 1000;
    tick();
  }
  show();
});

document.addEventListener("htmx:afterSettle", () => {
  end = 0;
  show();
});
show();
