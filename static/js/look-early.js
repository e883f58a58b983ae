// Before anything is painted: the colours and text size chosen on this device. Plain script, so that it runs first.
(() => {
  const page = document.documentElement;
  page.dataset.script = "on";
  try {
    for (const choice of ["theme", "text"]) {
      const chosen = localStorage.getItem("look-" + choice);
      if (chosen) page.dataset[choice] = chosen;
    }
  } catch {
    // Storage is shut off: the page follows the device.
  }
})();
