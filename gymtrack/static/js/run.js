// The class page of a class that has a plan: how long the rotation still lasts. Without this file its end stands there.

import { leftWords } from "./wall.js";

const TICK_MS = 1000;

function tick() {
  const left = document.querySelector("#run [data-until]");
  if (left) left.textContent = ` (${leftWords(left.dataset.until, Date.now())})`;
}

setInterval(tick, TICK_MS);
tick();
