// After a sitting: what this device still keeps of it is sent, so that nothing is lost. What comes too late to count
// is kept by the server for the teacher to see.

import { Queue } from "./sitting-queue.js";

const page = document.querySelector("[data-sitting-over]");
const queue = new Queue({ ...page.dataset, sitting: page.dataset.sittingOver });
queue.send();
