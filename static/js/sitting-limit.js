// [data-question-left]: a question with a limit of its own, kept by the server from when the page says that the pupil
// came to it. Here it is counted down and shut; the words are in [data-own-limit].

export class Limits {
  constructor(queue, onShut) {
    Object.assign(this, { queue, onShut, ends: new Map() }); // place -> when it is shut, by performance.now()
    setInterval(() => this.tick(), 500);
  }

  cameTo(form, place) {
    this.form = form;
    if (form.dataset.questionLeft === undefined) return;
    if (!this.ends.has(place)) {
      this.ends.set(place, performance.now() + 1000 * Number(form.dataset.questionLeft));
      this.queue.add(place, "open");
    }
    this.place = place;
    this.tick();
  }

  tick() {
    const words = this.form?.querySelector("[data-own-limit]");
    if (!words) return;
    const left = Math.max(0, (this.ends.get(this.place) - performance.now()) / 1000);
    const says = left > 0 ? `${roughly(left)} for this question` : "The time for this question is up.";
    if (words.textContent !== says) words.textContent = says;
    const choices = this.form.querySelector("[data-choices]");
    if (left > 0 || choices.disabled) return;
    this.onShut();
    choices.disabled = true;
  }
}

// Said in steps, so that a screen reader does not hear every second.
function roughly(seconds) {
  if (seconds > 90) return `About ${Math.round(seconds / 60)} minutes`;
  if (seconds > 10) return `${Math.ceil(seconds / 10) * 10} seconds`;
  return "A few seconds";
}
