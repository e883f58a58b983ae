// The question page: choices and flags go to the queue, questions change in place, the clock keeps the server's time.

import { startClock } from "./sitting-clock.js";
import "./sitting-keys.js";
import { Limits } from "./sitting-limit.js";
import { Pages } from "./sitting-pages.js";
import { Queue } from "./sitting-queue.js";
import { canReach, leaveWhenReached } from "./sitting-reach.js";
import { showState } from "./sitting-saved.js";
import { Strikes } from "./sitting-strikes.js";
import { Tape } from "./sitting-tape.js";

const REST = 600; // ms a choice rests before it is sent
const page = document.querySelector("[data-sitting]");
const notice = page.querySelector("[data-notice]");
const count = Number(page.dataset.count);
const queue = new Queue(page.dataset);
const tape = new Tape(page);
const strikes = new Strikes(queue);
const limits = new Limits(queue, () => sendChoice());
const leave = (to) => location.assign(to);
const timeUrl = document.querySelector("[data-time-url]").dataset.timeUrl;
const pages = new Pages({ base: location.pathname, count, onElsewhere: () => leave(page.dataset.start) });
let resting = null;

const form = () => page.querySelector("[data-question]");
const here = () => Number(form().dataset.question);

function say(sentence) {
  notice.textContent = sentence;
  notice.hidden = !sentence;
}

// --- choices and flags
function choose(option) {
  tape.choose(here(), option);
  strikes.chose(form(), option);
  clearTimeout(resting?.timer);
  resting = { place: here(), option, timer: setTimeout(sendChoice, REST) };
  showState("saving");
}

function sendChoice() {
  if (!resting) return;
  clearTimeout(resting.timer);
  queue.add(resting.place, "choose", resting.option);
  resting = null;
}

function flip(button) {
  const isUp = button.getAttribute("aria-pressed") !== "true";
  tape.flag(here(), isUp);
  tape.showFlag(form(), isUp);
  queue.add(here(), isUp ? "flag" : "unflag");
}

// --- from question to question
async function go(place, { remember = true } = {}) {
  sendChoice();
  say("");
  if (place > count) return lookOver();
  const next = await pages.get(place);
  if (!next) return say("This question has not come yet. It will, when the connection is back. Go on with another.");
  tape.copyTo(next);
  form().replaceWith(document.adoptNode(next));
  showOwn();
  if (remember) history.pushState(null, "", pages.url(place));
  document.title = document.title.replace(/\d+/, place);
  form().querySelector("h1").focus({ preventScroll: true });
  window.scrollTo(0, 0);
}

// What was done on this device goes over what the question came with.
function showOwn() {
  tape.showOn(form(), here());
  strikes.showOn(form());
  limits.cameTo(form(), here());
}

// A choice made before this script had come raised no event here; what the child sees chosen is sent like any other.
function chooseWhatIsShown() {
  const shown = form().querySelector("[name=option]:checked:not(:disabled)");
  if (shown && shown.value !== (tape.chosen.get(here()) ?? form().dataset.savedOption)) choose(shown.value);
}

async function lookOver() {
  if (!(await queue.settle(6000))) return say("Not all of your choices are saved yet, so it is too early to finish. They are sent again and again.");
  if (await canReach(timeUrl)) return leave(page.dataset.finish);
  say("There is no connection just now. Your choices are saved. Try again in a moment.");
}

// Sent by the page's own form, once all that was done is saved: checking an answer, and stopping the clock for a rest.
async function sendPlainly(button, sentence) {
  sendChoice();
  if (!(await queue.settle(6000))) return say(sentence);
  form().querySelector("[name=had]").value = tape.chosen.get(here()) ?? form().dataset.savedOption;
  form().dataset.plain = "";
  // A browser ignores a form that is sent while its submit event still runs, as it does when nothing was waiting.
  setTimeout(() => form().requestSubmit(button));
}

async function shut(sentence) {
  clock.stop();
  sendChoice();
  page.querySelectorAll("button, input").forEach((control) => (control.disabled = true));
  say(sentence);
  await queue.settle(4000);
  const away = "There is no connection just now. Leave this page open: it goes on by itself.";
  await leaveWhenReached(page.dataset.start, timeUrl, () => say(`${sentence} ${away}`));
}

// --- what happens on the page
page.addEventListener("change", (event) => event.target.name === "option" && choose(event.target.value));
page.addEventListener("submit", (event) => {
  const button = event.submitter;
  if (form().dataset.plain !== undefined || button?.name !== "then") return;
  event.preventDefault();
  if (button.matches("[data-flag]")) flip(button);
  else if (button.matches("[data-strike]")) strikes.flip(button, here());
  else if (button.matches("[data-lock]")) sendPlainly(button, "Your choice is not saved yet. It can be checked when the connection is back.");
  else if (button.matches("[data-rest]")) sendPlainly(button, "The clock cannot be stopped without a connection. Tell your teacher.");
  else go({ next: here() + 1, back: here() - 1 }[button.value] ?? Number(button.value));
});
page.addEventListener("click", (event) => event.target.closest("a.check") && sendChoice());
// A double tap is one tap: a second Next would pass over a question, or fall on an option of the next one.
page.addEventListener("click", (event) => event.detail && event.detail % 2 === 0 && event.preventDefault(), true);
window.addEventListener("popstate", () => go(Number(location.pathname.match(/(\d+)\/$/)[1]), { remember: false }));
window.addEventListener("pagehide", sendChoice);

// While a choice still rests, what the queue has saved is not yet all.
queue.addEventListener("state", () => (resting && queue.state === "saved") || showState(queue.state, page.dataset.start));
queue.addEventListener("notice", (event) => say(event.detail));
queue.addEventListener("time", (event) => clock.correct(event.detail));
const clock = startClock(document.querySelector("[data-time-left]"), {
  onEnd: () => shut("The time is up."),
  onStopped: () => shut("The clock stands."),
});
pages.kept.set(here(), form().outerHTML);
for (const { question, kind, option } of queue.items) {
  if (kind === "choose") tape.choose(question, option);
  else if (kind.endsWith("strike")) strikes.note(option, kind === "strike");
  else if (kind.endsWith("flag")) tape.flag(question, kind === "flag");
}
showOwn();
chooseWhatIsShown();
pages.fetchAll();
queue.send();
