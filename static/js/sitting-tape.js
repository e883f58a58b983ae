// [data-spot]: the tape of questions, and what was done with each on this device. A question fetched early came with a
// tape that is old by now; what this page knows goes over it.

export class Tape {
  constructor(page) {
    this.page = page;
    this.chosen = new Map(); // place -> the page's name of the option
    this.flagged = new Map(); // place -> whether it is to be looked at again
  }

  #spot(place) {
    return this.page.querySelector(`[data-spot="${place}"]`);
  }

  choose(place, option) {
    this.chosen.set(place, option);
    this.#spot(place).dataset.answered = "";
    this.#say(place);
  }

  flag(place, isUp) {
    this.flagged.set(place, isUp);
    this.#spot(place).toggleAttribute("data-flagged", isUp);
    this.#say(place);
  }

  #say(place) {
    const { answered, flagged } = this.#spot(place).dataset;
    const words = [answered === undefined ? "not answered" : "answered", ...(flagged === undefined ? [] : ["to look at again"])];
    this.#spot(place).querySelector("[data-spot-says]").textContent = words.join(", ");
  }

  copyTo(next) {
    for (const old of this.page.querySelectorAll("[data-spot]")) {
      const fresh = next.querySelector(`[data-spot="${old.dataset.spot}"]`);
      for (const name of ["data-answered", "data-flagged"]) fresh.toggleAttribute(name, old.hasAttribute(name));
      fresh.querySelector("[data-spot-says]").textContent = old.querySelector("[data-spot-says]").textContent;
    }
  }

  showOn(form, place) {
    if (this.chosen.has(place)) form.querySelector(`[value="${this.chosen.get(place)}"]`).checked = true;
    if (this.flagged.has(place)) this.showFlag(form, this.flagged.get(place));
  }

  showFlag(form, isUp) {
    form.querySelector("[data-flag]").setAttribute("aria-pressed", String(isUp));
  }
}
