// What a pupil did, on its way to the server: kept on this device until the server says that it is stored, and sent
// one thing after the other, each again and again under the same name until it is answered. Kept are the sitting's
// number, the question's place and the page's name for a picture: no key, no letter, no name.

const DELAYS = [1000, 2000, 4000, 8000, 15000];
const PATIENCE = 10000; // ms until a request counts as lost
const PREFIX = (sitting) => `sitting:${sitting}:`;

function newName() {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  bytes[6] = (bytes[6] & 15) | 64;
  bytes[8] = (bytes[8] & 63) | 128;
  const hex = [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
  return hex.replace(/^(.{8})(.{4})(.{4})(.{4})(.{12})$/, "$1-$2-$3-$4-$5");
}

export class Queue extends EventTarget {
  // Events: "state" (this.state is saved, saving, waiting, signed-out or elsewhere), "notice" (detail: a sentence),
  // "time" (detail: the server's seconds left).
  constructor({ sitting, answer, epoch, lastSeq }) {
    super();
    Object.assign(this, { url: answer, epoch: Number(epoch), seq: Number(lastSeq), state: "saved" });
    this.key = PREFIX(sitting) + newName();
    this.items = this.#adopt(PREFIX(sitting));
    this.#keep();
    this.tries = 0;
    window.addEventListener("online", () => this.send());
  }

  get isEmpty() {
    return this.items.length === 0;
  }

  add(question, kind, option = "") {
    this.items.push({ client_id: newName(), epoch: this.epoch, seq: ++this.seq, question, kind, option });
    this.#keep();
    this.send();
  }

  // Resolves once all is answered, or after `patience` ms: true if nothing waits any more.
  async settle(patience) {
    this.send();
    const until = performance.now() + patience;
    while (!this.isEmpty && performance.now() < until && !this.#isStopped) {
      await new Promise((wake) => setTimeout(wake, 100));
    }
    return this.isEmpty;
  }

  async send() {
    if (this.sending || this.isEmpty || this.#isStopped) return;
    this.sending = true;
    clearTimeout(this.timer);
    if (this.tries === 0) this.#say("saving");
    while (!this.isEmpty && (await this.#sendFirst()));
    this.sending = false;
    if (this.isEmpty) this.#say("saved");
  }

  get #isStopped() {
    return this.state === "elsewhere" || this.state === "signed-out";
  }

  // True when the first thing in the queue is dealt with and the next may follow.
  async #sendFirst() {
    const item = this.items[0];
    let response, said;
    try {
      response = await this.#post(item);
      if (response.type === "opaqueredirect" || [401, 403].includes(response.status)) return this.#stop("signed-out");
      said = await response.json();
    } catch {
      return this.#later();
    }
    if (response.status >= 500 || response.status === 429) return this.#later();
    if (said.error === "other_device") return this.#stop("elsewhere");
    if (said.error === "order_taken") item.seq = this.seq = Math.max(this.seq + 1, said.next_seq);
    else this.#done(said);
    this.tries = 0;
    this.#keep();
    return true;
  }

  #post(item) {
    const body = new URLSearchParams(item);
    const token = document.querySelector("[name=csrfmiddlewaretoken]").value;
    const headers = { "X-CSRFToken": token, Accept: "application/json" };
    const signal = AbortSignal.timeout?.(PATIENCE);
    return fetch(this.url, { method: "POST", body, headers, signal, redirect: "manual", keepalive: true });
  }

  #done(said) {
    const isFirstTry = this.tries === 0;
    this.items.shift();
    if (said.saved && isFirstTry) this.#tell("time", said.seconds_left);
    if (said.late) this.#tell("notice", "Time was up before this choice arrived. Your teacher can see it.");
    if (!said.saved) this.#tell("notice", said.says);
  }

  #later() {
    this.#say("waiting");
    this.timer = setTimeout(() => this.send(), DELAYS[Math.min(this.tries++, DELAYS.length - 1)]);
    return false;
  }

  #stop(state) {
    this.#say(state);
    return false;
  }

  #say(state) {
    this.state = state;
    this.#tell("state");
  }

  #tell(type, detail) {
    this.dispatchEvent(new CustomEvent(type, { detail }));
  }

  #keep() {
    try {
      if (this.isEmpty) localStorage.removeItem(this.key);
      else localStorage.setItem(this.key, JSON.stringify(this.items));
    } catch {
      // Storage is full or shut off: the queue lives as long as the page.
    }
  }

  // Take over what earlier pages left, in its order. What was meant for an earlier device's turn is sent in this one's;
  // if it had arrived after all, the server knows its name.
  #adopt(prefix) {
    const items = [];
    try {
      const keys = Object.keys(localStorage).filter((key) => key.startsWith(prefix));
      for (const key of keys) items.push(...JSON.parse(localStorage.getItem(key)));
      keys.forEach((key) => localStorage.removeItem(key));
    } catch {
      return [];
    }
    items.sort((a, b) => a.epoch - b.epoch || a.seq - b.seq);
    for (const item of items) {
      if (item.epoch === this.epoch) this.seq = Math.max(this.seq, item.seq);
    }
    for (const item of items) {
      if (item.epoch !== this.epoch) Object.assign(item, { epoch: this.epoch, seq: ++this.seq });
    }
    return items;
  }}
