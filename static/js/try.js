// [data-try]: a question that is neither marked nor kept. Keys choose and pictures can be ruled out, as in a sitting.

import "./sitting-keys.js";
import { Strikes } from "./sitting-strikes.js";

const form = document.querySelector("[data-try]");
const strikes = new Strikes({ add() {} });

form.addEventListener("change", (event) => event.target.name === "option" && strikes.chose(form, event.target.value));
form.addEventListener("submit", (event) => {
  if (!event.submitter?.matches("[data-strike]")) return;
  event.preventDefault();
  strikes.flip(event.submitter);
});
