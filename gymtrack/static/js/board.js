// The class board: hold clocks that run on while the coach looks at somebody else, keys for counted sets, a filter
// for the roster. Without this file every form still works: seconds and reps are typed, a verdict stores.
//
// Stopping a clock sends a clean hold at once. Until an answer names its id it is kept here, by athlete, and put into
// the form again whenever that athlete's panel opens; nothing starts over it.

import { HoldClock, TouchGuard, momentOf, tell } from "./hold_clock.js";

const DOUBTS = {
  slept: "The device slept meanwhile.",
  hidden: "The page was not to be seen meanwhile.",
  step: "The clock was started at another step.",
};

const clocks = new Map(); // by athlete: several may hang at once
const unstored = new Map(); // by athlete: { id, step, seconds, doubt }
const guard = new TouchGuard();
let refusedTouch = null; // the button of a double touch, until its click has been swallowed
let felt = null; // the button whose pointer or key went down, until its click has come
const later = new Map(); // by athlete: a fault that waits for its hold to be stored, { attempt, fault }
let newest = null; // the last request for the panel
let awake = null; // the promise of a wake lock, while a clock runs

const panel = () => document.getElementById("panel");
const athlete = () => panel()?.dataset.athlete;
const form = () => panel()?.querySelector("#attempt");
const field = (name) => form()?.querySelector(`[name="${name}"]`);
const isOnItsWay = () => Boolean(form()?.classList.contains("htmx-request"));
const ticked = (name) => form()?.querySelector(`[name="${name}"]:checked`);
const isAnyRunning = () => [...clocks.values()].some((clock) => clock.isRunning);
const isRunning = (id) => Boolean(clocks.get(id)?.isRunning);

function clockOf(id) {
  if (!clocks.has(id)) clocks.set(id, new HoldClock());
  return clocks.get(id);
}

function type(name, value) {
  const input = field(name);
  if (input) input.value = value;
}

function measured(how) {
  const radio = form()?.querySelector(`[name="source"][value="${how}"]`);
  if (radio) radio.checked = true;
}

// ---- The hold clock -------------------------------------------------------------------------------------------

function startClock(moment) {
  const clock = clockOf(athlete());
  clock.start(moment);
  clock.step = field("step").value;
  if (document.hidden) clock.doubt("hidden");
  keepAwake();
}

/** Stop the clock into the form; returns why the coach should look at the time before it is stored, or "". */
function stopClock(moment) {
  const clock = clockOf(athlete());
  const { tenths, doubt } = clock.stop(moment);
  const kept = { id: field("id").value, step: clock.step, seconds: tell(tenths), doubt };
  if (field("step").value !== clock.step) kept.doubt ||= "step";
  unstored.set(athlete(), kept);
  type("seconds", kept.seconds);
  if (ticked("source")?.value === "counted") measured("judged");
  keepAwake();
  return kept.doubt;
}

function touchClock(moment) {
  if (isRunning(athlete())) {
    if (!stopClock(moment)) store();
  } else if (!field("seconds").value) {
    startClock(moment);
  }
  show();
}

/** Send the form: as ticked where something is ticked, else as clean. */
function store() {
  const verdict = ticked("faults") || ticked("missed") || ticked("pain") ? "marked" : "clean";
  form().querySelector(`[name="verdict"][value="${verdict}"]:is(button)`).click();
}

function discard() {
  unstored.delete(athlete());
  type("seconds", "");
  show();
}

function touchCount() {
  type("reps", Number(field("reps").value || 0) + 1);
  show();
}

// A verdict while the clock runs stops it: the first break and its word are one tap. A doubtful time is looked at first.
// A fault that is tapped while the hold is on its way is said as soon as that is stored.
function touchVerdict(button, moment) {
  if (isOnItsWay()) {
    if (button.name === "fault") later.set(athlete(), { attempt: field("id").value, fault: button.value });
  } else if (isRunning(athlete())) {
    if (!stopClock(moment)) button.click();
  } else return;
  refusedTouch = button; // its own click has nothing left to do
  show();
}

function sayLater() {
  const said = later.get(athlete());
  if (!said || panel().querySelector("[data-attempt]")?.dataset.attempt !== said.attempt) return;
  later.delete(athlete());
  panel().querySelector(`[data-mend] [name="fault"][value="${said.fault}"]`)?.click();
}

// ---- Touches --------------------------------------------------------------------------------------------------

function touch(target, stamp) {
  const button = target.closest("[data-clock], [data-count], [data-verdict], [data-mend] button");
  if (!button || !athlete()) return;
  refusedTouch = guard.accepts(stamp) ? null : button;
  felt = button;
  if (refusedTouch) return;
  const moment = momentOf(stamp);
  if (button.matches("[data-clock]")) touchClock(moment);
  else if (button.matches("[data-count]")) touchCount();
  else if (button.matches("[data-verdict]")) touchVerdict(button, moment);
}

function onKeyDown(event) {
  if (!event.repeat && (event.key === "Enter" || event.key === " ")) touch(event.target, event.timeStamp);
}

function tapKey(key) {
  if (key.dataset.seconds && !isRunning(athlete()) && !unstored.has(athlete())) {
    type("seconds", key.dataset.seconds);
    measured("counted");
  }
  if (key.dataset.reps) type("reps", key.dataset.reps);
  show();
}

function onClick(event) {
  const button = event.target.closest("button");
  if (!button || !event.isTrusted) return; // the page's own click is that of a touch which was looked at before
  if (button !== felt) touch(button, event.timeStamp); // by a screen reader: no pointer and no key came before
  felt = null;
  if (button === refusedTouch) {
    refusedTouch = null;
    event.preventDefault();
    event.stopPropagation();
    return;
  }
  if (button.matches("[data-discard]")) discard();
  if (button.matches(".key[type=button]")) tapKey(button);
}

// ---- What is kept until it is stored --------------------------------------------------------------------------

/** Forget what an answer names as stored: nothing else is an acknowledgement. */
function onAnswer(event) {
  const receipt = event.detail.xhr?.getResponseHeader("Receipt");
  for (const [id, kept] of unstored) if (receipt && kept.id === receipt) unstored.delete(id);
  show();
}

// The coach looked away and back while the answer was on its way: the form that waits here has been stored.
function onAnswered(event) {
  onAnswer(event);
  const receipt = event.detail.xhr?.getResponseHeader("Receipt");
  if (receipt && field("id")?.value === receipt) document.querySelector(".tile[data-open] a")?.click();
}

/** Put an unstored time into the form that has just come, under its own id: sent twice it is stored once. */
function takeUp() {
  const kept = unstored.get(athlete());
  const logged = panel()?.querySelector("[data-attempt]");
  if (kept && logged?.dataset.attempt === kept.id) unstored.delete(athlete()); // the answer was lost: it is stored
  else if (kept) fillIn(kept);
}

function fillIn(kept) {
  if (!field("seconds") || field("id").value === kept.id) return;
  if (field("step").value === kept.step) type("id", kept.id);
  else kept.doubt ||= "step";
  type("seconds", kept.seconds);
}

// ---- The panel shows what was asked for last ------------------------------------------------------------------

const isForPanel = (event) => event.detail.target?.id === "panel";

// The panel itself listens for the answer, for once it is replaced nothing that happens to it reaches the page.
function onRequest(event) {
  if (!isForPanel(event)) return;
  newest = event.detail.xhr;
  event.detail.target.addEventListener("htmx:beforeSwap", onBeforeSwap);
}

// The answer to a hold may come after the next tile was tapped: it renews its own tile and leaves the panel alone.
// And the panel that an answer was meant for may have been replaced meanwhile.
function onBeforeSwap(event) {
  onAnswer(event);
  event.detail.target = panel();
  if (event.detail.xhr === newest) return;
  event.detail.shouldSwap = false;
  renewTiles(event.detail.xhr.responseText);
}

// By hand: htmx looks for them beside the form that was sent, and that is no longer on the page.
function renewTiles(html) {
  const part = document.createElement("template");
  part.innerHTML = html;
  for (const tile of part.content.querySelectorAll(".tile")) {
    tile.removeAttribute("hx-swap-oob");
    document.getElementById(tile.id)?.replaceWith(tile);
    window.htmx.process(tile);
  }
  wake();
}

// ---- The screen stays awake while a clock runs ----------------------------------------------------------------

function keepAwake() {
  if (isAnyRunning()) {
    awake ??= navigator.wakeLock?.request("screen").catch(() => null) ?? null;
  } else {
    awake?.then((lock) => lock?.release());
    awake = null;
  }
}

function onVisibility() {
  awake = null; // the browser lets go of it by itself
  if (document.hidden) for (const clock of clocks.values()) clock.doubt("hidden");
  else keepAwake();
}

// ---- What is shown --------------------------------------------------------------------------------------------

function show() {
  const now = performance.now();
  if (form()) showForm(now);
  for (const mark of document.querySelectorAll("[data-running-of]")) {
    const id = mark.dataset.runningOf;
    const kept = unstored.get(id);
    mark.hidden = !isRunning(id) && !kept && !later.has(id);
    if (isRunning(id)) mark.textContent = `▶ ${tell(clocks.get(id).tenthsAt(now))} s`;
    else if (kept) mark.textContent = `${kept.seconds} s not stored`;
    else if (later.has(id)) mark.textContent = "its fault not stored";
  }
}

function showForm(now) {
  const clock = panel().querySelector("[data-clock]");
  if (clock) showClock(clock, now);
  const count = panel().querySelector("[data-count-figure]");
  if (count) count.textContent = field("reps").value || "0";
  for (const key of panel().querySelectorAll(".key[type=button]")) {
    const { seconds, reps } = key.dataset;
    key.setAttribute("aria-pressed", String(seconds ? field("seconds").value === seconds : field("reps").value === reps));
  }
  panel().querySelector("[data-with]").textContent = withWords();
  showWords();
}

function showClock(button, now) {
  const clock = clockOf(athlete());
  const { value } = field("seconds");
  button.querySelector("[data-clock-time]").textContent = clock.isRunning ? tell(clock.tenthsAt(now)) : value || "0.0";
  button.querySelector("[data-clock-word]").textContent = clock.isRunning ? "Stop" : value ? "s" : "Start";
  button.toggleAttribute("data-running", clock.isRunning);
  showUnstored();
}

function showUnstored() {
  const line = panel().querySelector("[data-unstored]");
  const { value } = field("seconds");
  const { doubt } = unstored.get(athlete()) ?? {};
  const isSent = isOnItsWay();
  line.hidden = !value || isRunning(athlete());
  const words = isSent ? `Storing ${value} s …` : `${value} s, not stored yet. ${DOUBTS[doubt] ?? ""} Tap how it was.`;
  const place = line.querySelector("[data-unstored-words]");
  if (place.textContent !== words) place.textContent = words; // said once by a screen reader
  line.querySelector("[data-discard]").hidden = isSent;
}

function withWords() {
  const chosen = ["assistance", "variant"].map(ticked).filter((radio) => radio?.value);
  return chosen.map((radio) => radio.labels[0].textContent.trim()).join("; ");
}

// One row of words at a time: those of the stored try until the next one has begun.
function showWords() {
  const mend = panel().querySelector("[data-mend]");
  if (!mend) return;
  const isNext = isRunning(athlete()) || Boolean(field("seconds") ? field("seconds").value : field("reps").value);
  mend.hidden = isNext;
  panel().querySelector("[data-verdicts]").hidden = !isNext;
}

function wake() {
  for (const part of document.querySelectorAll("[data-clock], [data-count], [data-needs-script]")) part.hidden = false;
  filterRoster();
  markOpenTile();
  takeUp();
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
  sayLater();
  if (event.detail.target?.id !== "panel" && event.detail.elt?.id !== "panel") return;
  panel()?.querySelector("#panel-title")?.focus({ preventScroll: true });
  panel()?.parentElement.scrollTo(0, 0);
  panel()?.querySelector(".form-errors")?.scrollIntoView({ block: "nearest" });
}

if (typeof document !== "undefined") {
  document.addEventListener("pointerdown", (event) => event.button === 0 && touch(event.target, event.timeStamp));
  document.addEventListener("keydown", onKeyDown);
  document.addEventListener("click", onClick, { capture: true });
  document.addEventListener("visibilitychange", onVisibility);
  document.addEventListener("input", (event) => {
    if (event.target.matches("[data-filter]")) filterRoster();
    else if (event.target.closest("#attempt")) show();
  });
  document.addEventListener("htmx:beforeRequest", onRequest);
  document.addEventListener("htmx:afterRequest", onAnswered);
  document.addEventListener("htmx:afterSettle", onSwap);
  setInterval(() => isAnyRunning() && show(), 100);
  wake();
}
