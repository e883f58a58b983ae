// [data-sitting-stopped]: the clock stands. Asks now and then whether it runs again, and then goes on by itself.

const EVERY = 5000; // ms
const page = document.querySelector("[data-sitting-stopped]");

async function ask() {
  try {
    const response = await fetch(page.dataset.timeUrl, { redirect: "manual" });
    if (response.ok && !(await response.json()).stopped) return page.querySelector("[data-go-on]").click();
  } catch {
    // No connection: ask again.
  }
  setTimeout(ask, EVERY);
}

setTimeout(ask, EVERY);
