// For hands that were spotting: the last ten minutes, what of it is still timed only, and a try entered without the
// clock, or by the clock of a partner.

import { HoldClock, tell } from "../hold_clock.js";
import { paintCautions } from "./caution_list.js";
import { clone, element, fill, keyed, press, show, slot, write } from "./dom.js";
import { tilesHere } from "./end_screen.js";
import { targetOf } from "./group_clock.js";
import { barCheckOf, helpOf, rowsOf, sessionOf } from "./model.js";
import { classPlace } from "./routes.js";
import { before, cautionsFor, judgedOf, lately, tryOf, without } from "./tries.js";
import { clockTime, stepName, withWords } from "./words.js";

const MINUTES = 10;

const clock = new HoldClock(); // the partner's, held on this tablet
let clockOf = null; // whose it is
let clockTile = null; // as they were at the start: the time belongs to that step
let who = null;
let figures = { seconds: "5", reps: 1, ago: 0 };
let timer = null;
document.addEventListener("visibilitychange", () => document.hidden && clock.doubt("hidden"));

const stepOf = (app, tile) => app.state.today?.steps.find(({ id }) => id === tile?.step);

function tilesIn(app) {
  const session = sessionOf(app.state, app.params.session);
  const rows = rowsOf(app.state);
  return session ? tilesHere(app, session).map((tile) => ({ ...tile, with: helpOf(tile, tile.step, rows) })) : [];
}

const tileOf = (app, id) => tilesIn(app).find((tile) => tile.id === id);

/** Why nothing can be entered for somebody here; "" where it can. */
function cannot(app, tile) {
  const step = stepOf(app, tile);
  if (!step) return "No step in hand: open the tile.";
  if (tile.isPaused) return "Paused: nothing can be logged at this step.";
  if (tile.state === "closed") return "Not open yet: a try with a reason is logged from the tile.";
  return step.low_bar && !barCheckOf(app.state) ? "Look the low bar over first: open the tile." : "";
}

// ---- Entering -------------------------------------------------------------------------------------------------

async function enter(app, tile, what) {
  const id = await app.act(tryOf(app.state, app.params.session, tile, what));
  app.say(`Kept for ${tile.number} ${tile.name}.`);
  who = null;
  app.changed();
  return id;
}

function enterFigures(app, source, moment) {
  const tile = tileOf(app, who);
  if (!tile || cannot(app, tile)) return;
  const isHold = stepOf(app, tile).is_hold;
  const tenths = isHold ? targetOf(figures.seconds) : null;
  if (isHold && !tenths) return write(slot(document, "mistake"), "Seconds are 2 to 600, such as 7.5.");
  const what = { source, hold_tenths: tenths, reps: figures.reps, moment: before(moment, figures.ago) };
  void enter(app, tile, what).catch(() => {});
}

/** At the touch itself. Returns true where that was all. */
function touchClock(app, moment) {
  if (clock.isRunning) return stop(app, moment);
  const tile = tileOf(app, who);
  if (!tile || cannot(app, tile)) return true;
  [clockOf, clockTile] = [who, tile];
  clock.start(moment);
  app.hanging.set(clock, [who]);
  app.noteTiming();
  app.clocks.keepAwake(true);
  timer = setInterval(() => paintClock(), 100);
  paintClock();
  return true;
}

function stop(app, moment) {
  const { tenths, doubt } = clock.stop(moment);
  timer = clearInterval(timer) ?? null;
  app.clocks.keepAwake(app.clocks.running.length > 0);
  app.hanging.delete(clock);
  app.noteTiming();
  if (tenths) void enter(app, clockTile, { source: "timed_only", hold_tenths: tenths, doubt, moment }).catch(() => {});
  paintClock();
  return true;
}

async function judge(app, id, moment) {
  const row = rowsOf(app.state).find((one) => one.id === id);
  if (!row || row.source !== "timed_only" || row.is_void) return;
  await app.act(judgedOf(app.state, row, tileOf(app, row.athlete), moment));
}

// ---- What is shown --------------------------------------------------------------------------------------------

function paintClock() {
  const button = document.querySelector("[data-do=partner-clock]");
  if (!button) return;
  write(slot(button, "time"), clock.isRunning ? tell(clock.tenthsAt(performance.now())) : "0.0");
  write(slot(button, "word"), clock.isRunning ? "Stop" : "Partner's clock: start");
  button.toggleAttribute("data-running", clock.isRunning);
}

function paintWho(app, root) {
  if (clock.isRunning) who = clockOf;
  const tile = tileOf(app, who);
  show(slot(root, "entry"), Boolean(tile));
  show(slot(root, "choose"), !tile);
  if (!tile) return;
  const step = stepOf(app, tile);
  const why = cannot(app, tile);
  fill(root, { number: tile.number || "new", name: tile.name, step: stepName(step), cannot: why });
  fill(root, { with: step && !why ? `With: ${withWords(tile.with, step, app.state.today?.words)}` : "" });
  slot(root, "tile").href = classPlace(app.params.session, "athlete", tile.id);
  paintCautions(slot(root, "cautions-box"), cautionsFor(app.state, [tile]), () => false);
  show(slot(root, "figures"), !why);
  for (const part of root.querySelectorAll("[data-holds]")) show(part, Boolean(step?.is_hold));
  for (const key of root.querySelectorAll("[data-value]")) press(key, String(figures[key.dataset.figure]) === key.dataset.value);
  for (const key of root.querySelectorAll("[data-do=enter]")) key.disabled = clock.isRunning;
  paintClock();
}

function paintRows(app, root) {
  const tiles = new Map(tilesIn(app).map((tile) => [tile.id, tile]));
  const now = Date.now() + (app.times.offsetMs ?? 0);
  const rows = lately(rowsOf(app.state), now, MINUTES);
  const timedOnly = rows.filter(({ source }) => source === "timed_only").length;
  fill(root, { "to-judge": timedOnly ? `${timedOnly} timed only` : "" });
  show(slot(root, "none"), rows.length === 0);
  keyed(slot(root, "rows"), rows, {
    keyOf: ({ id }) => id,
    make: () => clone("catch-up-row"),
    update: (node, row) => paintRow(app, node, row, tiles.get(row.athlete)),
  });
  keyed(slot(root, "people"), choice(app, rows), {
    keyOf: ({ id }) => id,
    make: (tile) =>
      element("li", {}, element("button", { type: "button", className: "row", dataset: { do: "choose-who", athlete: tile.id } },
        element("span", { className: "row-number", dataset: { slot: "number" } }),
        element("span", { className: "row-name" }, element("bdi", { dataset: { slot: "name" } })),
        element("span", { className: "row-state", dataset: { slot: "state" } }))),
    update: (node, tile) => fill(node, { number: tile.number || "new", name: tile.name, state: tile.isQuiet ? "nothing lately" : "" }),
  });
}

/** Everybody here, in their places; who has nothing lately is said so. */
function choice(app, rows) {
  const tiles = tilesIn(app);
  const quiet = new Set(without(tiles, rows).map(({ id }) => id));
  return tiles.filter(({ isHere }) => isHere).map((tile) => ({ ...tile, isQuiet: quiet.has(tile.id) }));
}

function paintRow(app, node, row, tile) {
  const step = app.state.today?.steps.find(({ id }) => id === row.step);
  fill(node, {
    number: tile?.number,
    name: tile?.name ?? "",
    at: clockTime(row.at, app.state.today?.gym.time_zone),
    step: stepName(step),
    words: row.words,
    status: { stored: "stored", waiting: "kept here, waiting", refused: "refused" }[row.status],
  });
  const button = node.querySelector("[data-do=judge]");
  button.dataset.attempt = row.id;
  show(button, row.source === "timed_only");
  slot(node, "open").href = classPlace(app.params.session, "athlete", row.athlete, row.step);
  slot(node, "open").setAttribute("aria-label", `Open ${tile?.number ?? ""} ${tile?.name ?? ""}`);
}

export const screen = {
  name: "catch_up",

  open(app, root, { session }) {
    who = clock.isRunning ? clockOf : null;
    root.replaceChildren(clone("screen-catch_up"));
    slot(root, "back").href = classPlace(session);
    const seconds = document.getElementById("catch-up-seconds");
    seconds.value = figures.seconds;
    seconds.addEventListener("input", () => {
      figures = { ...figures, seconds: seconds.value };
      app.changed();
    });
    root.querySelector("h1").focus({ preventScroll: true });
  },

  update(app, root) {
    paintRows(app, root);
    paintWho(app, root);
  },

  touch(app, node, moment) {
    return node.dataset.do === "partner-clock" && touchClock(app, moment);
  },

  tap(app, node, moment) {
    const { do: what, athlete, attempt, figure, value, source } = node.dataset;
    if (what === "choose-who") who = athlete;
    if (what === "other-who" && !clock.isRunning) who = null;
    if (what === "figure") choose(figure, value);
    if (what === "enter") enterFigures(app, source, moment);
    if (what === "judge") void judge(app, attempt, moment).catch(() => {});
    app.changed();
    if (what === "choose-who") document.getElementById("catch-up-who")?.focus();
  },
};

function choose(figure, value) {
  figures = { ...figures, [figure]: figure === "seconds" ? value : Number(value) };
  if (figure === "seconds") document.getElementById("catch-up-seconds").value = value;
}
