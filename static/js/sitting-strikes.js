// [data-strike]: the button under a picture that rules it out, or takes that back. It is kept with the sitting, and is
// no answer; a picture that is chosen is no longer ruled out.

export class Strikes {
  constructor(queue) {
    this.queue = queue;
    this.own = new Map(); // the page's name of a picture -> whether it is ruled out, as done on this device
  }

  flip(button, place) {
    const isOut = button.getAttribute("aria-pressed") !== "true";
    const name = button.dataset.strike;
    this.note(name, isOut);
    show(button, isOut);
    this.queue.add(place, isOut ? "strike" : "unstrike", name);
  }

  note(name, isOut) {
    this.own.set(name, isOut);
  }

  // What was done on this device goes over what the question came with.
  showOn(form) {
    for (const button of form.querySelectorAll("[data-strike]")) {
      if (this.own.has(button.dataset.strike)) show(button, this.own.get(button.dataset.strike));
    }
  }

  chose(form, name) {
    this.note(name, false);
    this.showOn(form);
  }
}

function show(button, isOut) {
  button.setAttribute("aria-pressed", String(isOut));
  button.value = `${isOut ? "unstrike" : "strike"}:${button.dataset.strike}`;
}
