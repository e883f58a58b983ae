// The look over all questions: "Finish" waits until every choice kept on this device is stored.

import { startClock } from "./sitting-clock.js";
import { Queue } from "./sitting-queue.js";
import { showState } from "./sitting-saved.js";

const page = document.querySelector("[data-sitting]");
const button = page.querySelector("[data-finish-now]");
const notice = page.querySelector("[data-notice]");
const queue = new Queue(page.dataset);

queue.addEventListener("state", () => {
  showState(queue.state, page.dataset.start);
  button.disabled = !queue.isEmpty;
});
queue.addEventListener("notice", (event) => {
  notice.textContent = event.detail;
  notice.hidden = false;
});
const leave = () => location.assign(page.dataset.start);
startClock(document.querySelector("[data-time-left]"), { onEnd: leave, onStopped: leave });

if (!queue.isEmpty) {
  button.disabled = true;
  if (await queue.settle(Infinity)) location.reload();
}
