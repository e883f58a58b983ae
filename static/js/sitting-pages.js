// The questions of a sitting, fetched early so that a lost connection does not stop the work.

export class Pages {
  constructor({ base, count, onElsewhere }) {
    Object.assign(this, { base, count, onElsewhere, kept: new Map() });
    window.addEventListener("online", () => this.fetchAll());
  }

  // The question as a detached form, or null when it can neither be found here nor fetched.
  async get(place) {
    if (!this.kept.has(place)) await this.#fetch(place);
    const html = this.kept.get(place);
    return html ? new DOMParser().parseFromString(html, "text/html").querySelector("[data-question]") : null;
  }

  async fetchAll() {
    for (let place = 1; place <= this.count; place++) {
      if (!this.kept.has(place) && !(await this.#fetch(place))) return;
    }
  }

  async #fetch(place) {
    try {
      const signal = AbortSignal.timeout?.(10000);
      const headers = { "X-Part": "question" };
      const response = await fetch(this.url(place), { headers, signal, redirect: "manual" });
      if (response.type === "opaqueredirect") this.onElsewhere();
      if (!response.ok) return false;
      this.kept.set(place, await response.text());
      return true;
    } catch {
      return false;
    }
  }

  url(place) {
    return this.base.replace(/\d+\/$/, `${place}/`);
  }
}
