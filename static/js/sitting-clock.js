// <div data-time-left="312" data-time-total="360" data-time-url="…">: counts down between the server's own figures.
// The words are in [data-time-words], what is said aloud in [data-time-heard], [data-time-hide] hides the words.
// The page's clock may be wrong or asleep, so only the time since the last figure is taken from it. The figure is asked
// for now and then, which also tells the teacher that the page is there, and the page whether the clock stands.

const EVERY = 15000; // ms
const HIDDEN = "sitting-time-hidden";
const LAST_HOUR = 3600; // of a set without a time limit: until then the closing time is not spoken of
const words = (seconds, untimed) => {
  if (untimed && seconds > LAST_HOUR) return "no time limit";
  const minutes = Math.round(seconds / 60);
  if (seconds <= 0) return "time is up";
  if (seconds < 60) return "less than a minute left";
  return minutes === 1 ? "about 1 minute left" : `about ${minutes} minutes left`;
};

export function startClock(element, { onEnd, onStopped }) {
  const shown = element.querySelector("[data-time-words]");
  const heard = element.querySelector("[data-time-heard]");
  const untimed = "timeUntimed" in element.dataset;
  const total = Number(element.dataset.timeTotal);
  const marks = [total / 2, 300, 60].filter((mark) => mark <= total / 2);
  let left = Number(element.dataset.timeLeft);
  let since = performance.now();
  let wall = Date.now();
  let before = left;

  const now = () => left - (performance.now() - since) / 1000;

  function correct(seconds) {
    if (seconds > now() + 20) heard.textContent = `More time: ${words(seconds, untimed)}`;
    [left, since, wall] = [seconds, performance.now(), Date.now()];
    tick();
  }

  async function ask() {
    try {
      const response = await fetch(element.dataset.timeUrl, { redirect: "manual" });
      if (!response.ok) return;
      const said = await response.json();
      if (said.stopped) onStopped();
      else correct(said.seconds_left);
    } catch {
      // No connection: count on, and ask again when there is one.
    }
  }

  function tick() {
    const seconds = Math.max(0, now());
    shown.textContent = words(seconds, untimed);
    if (marks.some((mark) => before > mark && seconds <= mark)) heard.textContent = shown.textContent;
    before = seconds;
    if (seconds <= 0) onEnd();
  }

  // A device that slept, or whose clock was changed, no longer tells the time since the last figure.
  function wake() {
    const drift = Date.now() - wall - (performance.now() - since);
    if (Math.abs(drift) > 1500) ask();
    else tick();
  }

  const timers = [setInterval(wake, 1000), setInterval(ask, EVERY)];
  document.addEventListener("visibilitychange", () => document.hidden || ask());
  window.addEventListener("online", ask);
  hideable(element, shown);
  tick();
  return { correct, ask, stop: () => timers.forEach(clearInterval) };
}

function hideable(element, shown) {
  const button = element.querySelector("[data-time-hide]");
  const set = (hidden) => {
    shown.hidden = hidden;
    button.textContent = hidden ? "Show time" : "Hide";
  };
  button.addEventListener("click", () => {
    set(!shown.hidden);
    sessionStorage.setItem(HIDDEN, shown.hidden ? "1" : "");
  });
  set(sessionStorage.getItem(HIDDEN) === "1");
}
