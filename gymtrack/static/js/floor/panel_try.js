// The try on the panel: whether one may be logged now, its clock or count, and one row of words.

import { fill, press, show, slot, write } from "./dom.js";
import { tell } from "../hold_clock.js";
import { isBegun } from "./draft.js";
import { barCheckOf } from "./model.js";
import { clockTime, stepName, withWords } from "./words.js";

export function showTry(context) {
  showWhetherOpen(context);
  showBarCheck(context);
  if (!context.step) return;
  showFigures(context);
  showWords(context);
  showClock(context);
}

/** One of these stands in the place of the form; a clock that runs can always be stopped. */
function showWhetherOpen({ app, root, step, session, tile, athlete }) {
  const hasEnded = Boolean(session?.ended_at);
  const isPaused = Boolean(step && tile.paused.has(step.id));
  const isStopped = Boolean(step && tile.stopped.has(step.id));
  const isUnchecked = Boolean(step?.low_bar && !barCheckOf(app.state));
  const isFree = (!isPaused && !isUnchecked) || app.clocks.isRunning(athlete);
  show(slot(root, "ended"), hasEnded);
  show(slot(root, "paused"), isPaused && !isStopped && !hasEnded);
  show(slot(root, "stopped"), isStopped && !hasEnded);
  show(slot(root, "bar"), isUnchecked && !isPaused && !hasEnded);
  show(root.querySelector("form"), Boolean(step && !hasEnded && isFree));
}

function showBarCheck({ app, root, step }) {
  const check = step?.low_bar ? barCheckOf(app.state) : null;
  const at = check && clockTime(check.at, app.state.today?.gym.time_zone);
  fill(root, { checked: check ? `Bar checked today: ${check.bar}, ${at}, ${check.by}` : "" });
}

function showFigures({ app, root, step, draft, isClosed }) {
  write(slot(root, "with"), withWords(draft, step, app.state.today.words));
  show(slot(root, "closed-reason"), isClosed);
  for (const button of root.querySelectorAll("[data-seconds]"))
    press(button, draft.tenths === Number(button.dataset.seconds) * 10);
  for (const button of root.querySelectorAll("[data-part]"))
    press(button, draft[button.dataset.part] === button.dataset.word);
  for (const button of root.querySelectorAll("[data-reps]")) press(button, draft.reps === Number(button.dataset.reps));
  write(slot(root, "count-figure"), String(draft.reps ?? 0));
  for (const name of ["clock-step", "count-step"]) write(slot(root, name), stepName(step));
}

/** One row of words at a time: those of the kept try until the next one has begun. */
function showWords(context) {
  const { root, draft, step, last, app, athlete } = context;
  const isGoing = app.clocks.isRunning(athlete) || isBegun(draft, step);
  const isNext = isGoing || !last || last.status === "refused";
  show(slot(root, "verdicts"), isNext);
  show(slot(root, "mend"), !isNext);
  show(slot(root, "drop"), isGoing);
  show(slot(root, "again"), Boolean(app.state.unkept[athlete]));
  fill(root, { unkept: unkeptWords(context) });
}

function unkeptWords({ app, athlete, draft, step }) {
  const unkept = app.state.unkept[athlete];
  if (unkept) return `This was not kept: ${unkept.label.words}. ${unkept.sentence}`;
  if (!isBegun(draft, step) || app.clocks.isRunning(athlete)) return "";
  const typed = step.is_hold ? `${tell(draft.tenths)} s` : "";
  return `${typed} not kept yet. Tap how it was.`.trim();
}

export function showClock({ app, root, athlete, draft }) {
  const isRunning = app.clocks.isRunning(athlete);
  const button = root.querySelector(".clock[data-do=clock]");
  button.toggleAttribute("data-running", isRunning);
  write(slot(root, "clock-word"), isRunning ? "Stop" : "Start");
  const tenths = isRunning ? app.clocks.tenthsAt(athlete, performance.now()) : (draft.tenths ?? 0);
  write(slot(root, "clock-time"), tell(tenths));
}
