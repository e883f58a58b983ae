// [data-saved]: the line that tells whether choices are stored. It says "Saved" only after the server did.

const WORDS = {
  saved: "Saved",
  saving: "Saving…",
  waiting: "Not saved yet",
  "signed-out": "Not saved yet: please sign in again",
  elsewhere: "Open on another device",
};
const MORE = { waiting: ", trying again" }; // where there is room: a second line would move the options under a finger
const LINKS = { "signed-out": "Sign in", elsewhere: "Continue here?" };

export function showState(state, start) {
  const line = document.querySelector("[data-saved]");
  if (line.dataset.state === state) return;
  line.dataset.state = state;
  line.textContent = WORDS[state];
  if (MORE[state]) {
    const more = document.createElement("span");
    more.className = "more";
    more.textContent = MORE[state];
    line.append(more);
  }
  if (!LINKS[state]) return;
  const link = document.createElement("a");
  link.href = start;
  link.textContent = LINKS[state];
  line.append(" ", link);
}
