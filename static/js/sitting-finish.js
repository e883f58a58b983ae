// The look over all questions: "Finish" waits until every choice kept on this device is stored.

import { startClock } from "./sitting-clock.js";
import { Queue } from "./sitting-queue.js";
import { canReach, leaveWhenReached } from "./sitting-reach.js";
import { showState } from "./sitting-saved.js";

const page = document.querySelector("[data-sitting]");
const button = page.querySelector("[data-finish-now]");
const notice = page.querySelector("[data-notice]");
const queue = new Queue(page.dataset);

queue.addEventListener("state", () => {
  showState(queue.state, page.dataset.start);
  button.disabled = !queue.isEmpty;
});
function say(sentence) {
  notice.textContent = sentence;
  notice.hidden = false;
}

queue.addEventListener("notice", (event) => say(event.detail));
const time = document.querySelector("[data-time-left]");
const clock = startClock(time, { onEnd: () => end("The time is up."), onStopped: () => end("The clock stands.") });

async function end(sentence) {
  clock.stop();
  button.disabled = true;
  const away = "There is no connection just now. Leave this page open: it goes on by itself.";
  await leaveWhenReached(page.dataset.start, time.dataset.timeUrl, () => say(`${sentence} ${away}`));
}

button.form.addEventListener("submit", async (event) => {
  event.preventDefault();
  button.disabled = true;
  if (await canReach(time.dataset.timeUrl)) return button.form.submit();
  button.disabled = false;
  say("There is no connection just now. Your choices are saved. Try again in a moment.");
});

if (!queue.isEmpty) {
  button.disabled = true;
  if (await queue.settle(Infinity)) location.reload();
}
