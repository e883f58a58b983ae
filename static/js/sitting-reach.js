// Whether the server answers, asked before the page is left: without a connection the browser would put a page of its
// own in place of ours, and a child whose choices are still on this device would sit before it with nothing to press.

const PATIENCE = 8000; // ms until a question counts as lost
const EVERY = 2000; // ms from one to the next

export async function canReach(address) {
  try {
    const signal = AbortSignal.timeout?.(PATIENCE);
    return (await fetch(address, { signal, redirect: "manual" })).status < 500;
  } catch {
    return false;
  }
}

// Go to `to` as soon as `asked` is answered; until then `sayAway` tells what is going on.
export async function leaveWhenReached(to, asked, sayAway) {
  while (!(await canReach(asked))) {
    sayAway();
    await new Promise((wake) => setTimeout(wake, EVERY));
  }
  location.assign(to);
}
