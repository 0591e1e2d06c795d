// The class board: hold clocks that run on while the coach looks at somebody else, keys for counted sets, a filter
// for the roster. Without this file every form still works: seconds and reps are typed.

import { HoldClock, TouchGuard, tell } from "./hold_clock.js";

const clocks = new Map(); // by athlete: several may hang at once
const guard = new TouchGuard();
let refusedTouch = null; // the button of a double touch, until its click has been swallowed

const panel = () => document.getElementById("panel");
const athlete = () => panel()?.dataset.athlete;
const field = (name) => panel()?.querySelector(`#attempt [name="${name}"]`);

function clockOf(id) {
  if (!clocks.has(id)) clocks.set(id, new HoldClock());
  return clocks.get(id);
}

function type(name, value) {
  const input = field(name);
  if (input) input.value = value;
}

function stopClock(at) {
  const tenths = clockOf(athlete()).stop(at);
  type("seconds", tell(tenths));
  measured("judged");
  show();
}

function measured(how) {
  const radio = panel()?.querySelector(`#attempt [name="source"][value="${how}"]`);
  if (radio) radio.checked = true;
}

function touchClock(at) {
  const clock = clockOf(athlete());
  if (clock.isRunning) return stopClock(at);
  clock.start(at);
  type("seconds", "");
  show();
}

function touchCount() {
  type("reps", Number(field("reps").value || 0) + 1);
  show();
}

// A verdict while the clock runs stops it: the first break and its word are one tap.
function touchVerdict(at) {
  if (clockOf(athlete()).isRunning) stopClock(at);
}

function touch(target, at) {
  const button = target.closest("[data-clock], [data-count], [data-verdict]");
  if (!button || !athlete()) return;
  refusedTouch = guard.accepts(at) ? null : button;
  if (refusedTouch) return;
  if (button.matches("[data-clock]")) touchClock(at);
  else if (button.matches("[data-count]")) touchCount();
  else touchVerdict(at);
}

function tapKey(key) {
  if (key.dataset.seconds) {
    type("seconds", key.dataset.seconds);
    measured("counted");
  }
  if (key.dataset.reps) type("reps", key.dataset.reps);
  show();
}

function onClick(event) {
  const button = event.target.closest("button");
  if (!button) return;
  if (button === refusedTouch) {
    refusedTouch = null;
    event.preventDefault();
    event.stopPropagation();
    return;
  }
  if (event.detail === 0) touch(button, event.timeStamp); // by keyboard or a screen reader: no pointer came before
  if (button === refusedTouch) event.preventDefault();
  if (button.matches(".key[type=button]")) tapKey(button);
}

// ---- What is shown --------------------------------------------------------------------------------------------

function show() {
  const now = performance.now();
  showClock(now);
  for (const mark of document.querySelectorAll("[data-running-of]")) {
    const clock = clocks.get(mark.dataset.runningOf);
    mark.hidden = !clock?.isRunning;
    if (clock?.isRunning) mark.textContent = `▶ ${tell(clock.tenthsAt(now))} s`;
  }
}

function showClock(now) {
  const button = panel()?.querySelector("[data-clock]");
  if (button) {
    const clock = clockOf(athlete());
    button.querySelector("[data-clock-time]").textContent = clock.isRunning ? tell(clock.tenthsAt(now)) : field("seconds").value || "0.0";
    button.querySelector("[data-clock-word]").textContent = clock.isRunning ? "Stop" : "Start";
    button.toggleAttribute("data-running", clock.isRunning);
  }
  const count = panel()?.querySelector("[data-count-figure]");
  if (count) count.textContent = field("reps").value || "0";
  for (const key of panel()?.querySelectorAll(".key[type=button]") ?? []) {
    const { seconds, reps } = key.dataset;
    key.setAttribute("aria-pressed", String(seconds ? field("seconds").value === seconds : field("reps").value === reps));
  }
}

function wake() {
  for (const part of document.querySelectorAll("[data-clock], [data-count], [data-needs-script]")) part.hidden = false;
  filterRoster();
  markOpenTile();
  show();
}

function markOpenTile() {
  for (const tile of document.querySelectorAll(".tile")) {
    const isOpen = tile.dataset.athlete === athlete();
    tile.toggleAttribute("data-open", isOpen);
    if (isOpen) tile.querySelector("a").setAttribute("aria-current", "true");
    else tile.querySelector("a").removeAttribute("aria-current");
  }
}

export function matches(words, wanted) {
  return words.toLocaleLowerCase().includes(wanted.trim().toLocaleLowerCase());
}

function filterRoster() {
  const input = document.querySelector("[data-filter]");
  if (!input) return;
  for (const row of document.querySelectorAll(`${input.dataset.filter} [data-words]`)) {
    row.hidden = !matches(row.dataset.words, input.value);
  }
}

// A panel begins at its top: with the cautions, with what was stored, or near it with what is wrong.
function onSwap(event) {
  wake();
  if (event.detail.target?.id !== "panel" && event.detail.elt?.id !== "panel") return;
  panel()?.querySelector("#panel-title")?.focus({ preventScroll: true });
  panel()?.parentElement.scrollTo(0, 0);
  panel()?.querySelector(".form-errors")?.scrollIntoView({ block: "nearest" });
}

if (typeof document !== "undefined") {
  document.addEventListener("pointerdown", (event) => event.button === 0 && touch(event.target, event.timeStamp));
  document.addEventListener("click", onClick, { capture: true });
  document.addEventListener("input", (event) => {
    if (event.target.matches("[data-filter]")) filterRoster();
    else if (event.target.closest("#attempt")) show();
  });
  document.addEventListener("htmx:afterSettle", onSwap);
  setInterval(() => [...clocks.values()].some((clock) => clock.isRunning) && show(), 100);
  wake();
}
