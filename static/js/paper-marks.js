// <form data-paper-marks>: answers from paper, one key each. Letters A to E and "-" are taken, and typed over what
// stands there; a full row hands the cursor to the next; Up and Down change rows. Beside each row stands what is
// missing, and beside the button which rows have gaps. Without script the same fields are plain text.

const KEYS = /^[a-e-]$/i;
const form = document.querySelector("[data-paper-marks]");
const rows = [...form.querySelectorAll("[data-answers]")];
const gapsLine = form.querySelector("[data-answers-gaps]");

const countOf = (row) => Number(row.dataset.answers);
const nameOf = (row) => row.closest("tr").querySelector("th").textContent.trim();

function tidy(row) {
  const kept = [...row.value.toUpperCase().replace(/[.–—_?]/g, "-")].filter((key) => KEYS.test(key));
  const text = kept.join("").slice(0, countOf(row));
  if (text !== row.value) row.value = text;
}

function tell(row) {
  const typed = row.value.length;
  const out = [...row.value].flatMap((letter, i) => (letter === "-" ? [i + 1] : []));
  const says = !typed ? "" : typed < countOf(row) ? `${typed} of ${countOf(row)}` : out.length ? `left out: ${out.join(", ")}` : "all";
  row.closest("tr").querySelector("[data-answers-state]").textContent = says;
}

function tellGaps() {
  const short = rows.filter((row) => row.value && row.value.length < countOf(row));
  gapsLine.textContent = short.length ? `Not complete: ${short.map(nameOf).join(", ")}.` : "";
}

function goTo(row, at) {
  row.focus();
  row.setSelectionRange(at, at);
  row.closest("tr").scrollIntoView({ block: "nearest" });
}

function step(row, by, at) {
  const next = rows[rows.indexOf(row) + by];
  if (next) goTo(next, Math.min(at, next.value.length));
}

// Types one letter over what stands at the cursor.
function type(row, key) {
  const at = row.selectionStart;
  if (at >= countOf(row)) return;
  const end = Math.max(row.selectionEnd, at + 1);
  row.setRangeText(key.toUpperCase(), at, Math.min(end, row.value.length), "end");
  row.dispatchEvent(new Event("input", { bubbles: true }));
  if (at + 1 === countOf(row)) step(row, 1, 0);
}

for (const row of rows) {
  row.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    if (event.key === "ArrowDown" || event.key === "ArrowUp") step(row, event.key === "ArrowDown" ? 1 : -1, row.selectionStart);
    else if (event.key === "Enter") step(row, 1, 0);
    else if (KEYS.test(event.key)) type(row, event.key);
    else if (event.key.length !== 1) return;
    event.preventDefault();
  });
  row.addEventListener("input", () => {
    tidy(row);
    tell(row);
    tellGaps();
  });
  tell(row);
}
tellGaps();
