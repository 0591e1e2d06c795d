// The group clock: choose a target and who hangs, start, tap who comes down early, then mark what was watched.

import { clone, element, fill, keyed, press, show, slot, write } from "./dom.js";
import { tilesHere } from "./end_screen.js";
import { LEAST_TENTHS, targetOf } from "./group_clock.js";
import { GroupRun } from "./group_run.js";
import { paintCautions } from "./caution_list.js";
import { barCheckOf, helpOf, rowsOf, sessionOf } from "./model.js";
import { classPlace } from "./routes.js";
import { cannotHang, cautionsFor, judgedOf } from "./tries.js";
import { DOUBTS, seconds, stepName, withWords } from "./words.js";
import { tell } from "../hold_clock.js";

// Kept while the page lives, so that a coach may look at the board in between.
const chosen = new Map(); // by class: ids of who hangs
let targetTenths = 50;
const read = new Set(); // cautions under which a group has hung since the page was opened
let run = null;
let shown = null; // { app, root } while the screen is open

const chosenIn = (session) => chosen.get(session) ?? chosen.set(session, new Set()).get(session);
const runIn = (session) => (run?.session === session ? run : null);
const isMoving = (session) => ["count-in", "running"].includes(runIn(session)?.state);

function tilesIn(app, session) {
  const known = sessionOf(app.state, session);
  const rows = rowsOf(app.state);
  return known ? tilesHere(app, known).map((tile) => ({ ...tile, with: helpOf(tile, tile.step, rows) })) : [];
}

export const screen = {
  name: "group",

  open(app, root, { session }) {
    root.replaceChildren(clone("screen-group"));
    shown = { app, root };
    slot(root, "back").href = classPlace(session);
    root.querySelector("[name=seconds]").addEventListener("input", ({ target }) => chooseTarget(targetOf(target.value)));
    paint();
    root.querySelector("h1").focus({ preventScroll: true });
  },

  update: paint,

  close() {
    shown = null;
  },

  /** What counts at the moment of the touch itself. */
  touch(app, node, moment) {
    const { session } = app.params;
    const going = runIn(session);
    if (node.dataset.do === "group-start") return start(app, session, moment);
    if (!going || going.hasLanded) return false;
    if (node.dataset.do === "group-person") going.clock.touch(node.dataset.athlete, moment);
    else if (node.dataset.do === "group-stop") going.clock.stop(moment);
    else if (node.dataset.do === "group-back") going.clock.takeBack(going.clock.lastDown, moment.at);
    else return false;
    paint();
    return true;
  },

  tap(app, node, moment) {
    const { session } = app.params;
    const { dataset } = node;
    const acts = {
      "group-target": () => typeTarget(dataset.seconds),
      "group-person": () => toggle(session, dataset.athlete),
      "group-all": () => all(app, session),
      "group-none": () => chosenIn(session).clear(),
      "group-again": () => (run = null),
      "group-judge": () => judge(app, dataset.athlete, moment),
      "group-judge-all": () => judgeAll(app, moment),
      "group-keep": () => run.keep(run.rows.find(({ tile }) => tile.id === dataset.athlete)),
    };
    acts[dataset.do]?.();
    paint();
  },
};

// ---- Choosing -------------------------------------------------------------------------------------------------

function chooseTarget(tenths) {
  targetTenths = tenths;
  paint();
}

function typeTarget(text) {
  shown.root.querySelector("[name=seconds]").value = text;
  targetTenths = targetOf(text);
}

function toggle(session, athlete) {
  const group = chosenIn(session);
  if (!group.delete(athlete)) group.add(athlete);
}

const ableIn = (app, session) =>
  tilesIn(app, session).filter((tile) => tile.isHere && !cannotHang(app.state, tile, barCheckOf(app.state)));

function all(app, session) {
  for (const tile of ableIn(app, session)) chosenIn(session).add(tile.id);
}

const groupIn = (app, session) => ableIn(app, session).filter(({ id }) => chosenIn(session).has(id));

function start(app, session, moment) {
  const tiles = groupIn(app, session);
  if (!tiles.length || !targetTenths || isMoving(session)) return true;
  read.add(cautionsFor(app.state, tiles).map(({ title }) => title).join("; "));
  run = new GroupRun(app, { session, targetTenths, tiles, moment, show: paint });
  paint();
  return true;
}

// ---- Afterwards -----------------------------------------------------------------------------------------------

async function judge(app, athlete, moment) {
  const row = run.rows.find(({ tile }) => tile.id === athlete);
  const known = rowsOf(app.state).find(({ id }) => id === row?.id);
  if (!known || known.source !== "timed_only" || row.isOnItsWay) return;
  row.isOnItsWay = true;
  try {
    row.id = await app.act(judgedOf(app.state, known, row.tile, moment));
  } catch {
    // The app says why; the row stays as it is.
  }
  row.isOnItsWay = false;
  paint();
}

async function judgeAll(app, moment) {
  for (const { tile } of run.rows) await judge(app, tile.id, moment);
}

// ---- What is shown --------------------------------------------------------------------------------------------

function paint() {
  if (!shown) return;
  const { app, root } = shown;
  const { session } = app.params;
  const going = runIn(session);
  const phase = going?.hasLanded ? "list" : going ? "run" : "choose";
  begin(root.firstElementChild, phase);
  for (const part of root.querySelectorAll("[data-in]")) show(part, part.dataset.in.split(" ").includes(phase));
  if (phase === "list") paintList(app, root);
  else paintPeople(app, root, session, going);
  if (phase === "choose") paintChoice(app, root, session);
  if (phase === "run") paintClock(root, going);
}

/** Choice, run and results each begin at their top: whoever starts it sees the time. */
function begin(screenNode, phase) {
  if (screenNode.dataset.phase === phase) return;
  screenNode.dataset.phase = phase;
  scrollTo(0, 0);
}

function paintChoice(app, root, session) {
  for (const key of root.querySelectorAll("[data-seconds]")) press(key, targetOf(key.dataset.seconds) === targetTenths);
  const group = groupIn(app, session);
  const start = root.querySelector("[data-do=group-start]");
  start.setAttribute("aria-disabled", String(!group.length || !targetTenths));
  const words = group.length ? `${group.length} at ${targetTenths ? seconds(targetTenths) : "?"}` : "tap who hangs";
  const mistake = targetTenths ? "" : "A target is 2 s to 600 s, such as 7.5.";
  fill(root, { group: words, mistake });
  paintCautions(slot(root, "cautions-box"), cautionsFor(app.state, group), (what) => read.has(what));
}

function paintPeople(app, root, session, going) {
  const bar = barCheckOf(app.state);
  const tiles = tilesIn(app, session).filter((tile) => tile.isHere || going?.clock.athletes.includes(tile.id));
  keyed(slot(root, "people"), tiles, {
    keyOf: ({ id }) => id,
    make: () => clone("group-person"),
    update: (node, tile) => paintPerson(app, node, tile, { session, going, cannot: cannotHang(app.state, tile, bar) }),
  });
  show(slot(root, "nobody"), tiles.length === 0);
}

function paintPerson(app, node, tile, { session, going, cannot }) {
  const button = node.querySelector("button");
  const step = app.state.today?.steps.find(({ id }) => id === tile.step);
  const isIn = going ? going.clock.athletes.includes(tile.id) : chosenIn(session).has(tile.id) && !cannot;
  button.dataset.athlete = tile.id;
  button.toggleAttribute("data-quick", Boolean(going)); // two may come down at once
  button.disabled = going ? !isIn : Boolean(cannot);
  press(button, isIn);
  const help = tile.with.assistance === "none" && !tile.with.variant ? "" : withWords(tile.with, step, app.state.today?.words);
  const personal = [...tile.cautions, ...tile.no_consent];
  const words = going ? (isIn ? wordsInRun(going, tile.id) : "") : cannot || (isIn ? "✓ hangs" : "tap to add");
  fill(node, { number: tile.number, name: tile.name, step: stepName(step), help, state: words });
  fill(node, { caution: personal.length && !going ? `Caution: ${personal.join("; ")}` : "" });
  node.toggleAttribute("data-down", Boolean(going) && isIn && words !== "hangs");
}

function wordsInRun({ clock }, athlete) {
  const how = clock.standOf(athlete);
  if (how.isOut) return "not hanging";
  return how.downTenths === null ? "hangs" : `down at ${seconds(how.downTenths)}`;
}

function paintClock(root, { clock, tiles }) {
  const now = performance.now();
  const state = clock.stateAt(now);
  const count = clock.countAt(now);
  write(slot(root, "time"), count ? String(count) : tell(clock.tenthsAt(now)));
  write(slot(root, "of"), count ? "get hold of the bar: time begins after this" : `of ${seconds(clock.targetTenths)}`);
  write(slot(root, "said"), { "count-in": `Time begins in ${count}`, running: "Time runs", ended: "Time" }[state]);
  const last = tiles.find(({ id }) => id === clock.lastDown);
  const undo = root.querySelector("[data-do=group-back]");
  undo.disabled = !last || state !== "running";
  write(undo, last ? `${last.number} ${last.name} still hangs` : "Nobody is down yet");
}

function paintList(app, root) {
  const rows = new Map(rowsOf(app.state).map((row) => [row.id, row]));
  keyed(slot(root, "results"), run.rows, {
    keyOf: ({ tile }) => tile.id,
    make: () => clone("group-result"),
    update: (node, row) => paintResult(node, row, rows.get(row.id)),
  });
  show(slot(root, "nothing"), run.rows.length === 0);
  const isLeft = run.rows.some((row) => rows.get(row.id)?.source === "timed_only");
  show(root.querySelector("[data-do=group-judge-all]"), isLeft && run.rows.length > 1);
}

function paintResult(node, { tile, result, id, isOnItsWay }, known) {
  const words = known?.words ?? `${seconds(result.tenths)}, timed only`;
  const doubt = [
    known?.doubt && `Doubtful: ${DOUBTS[known.doubt] ?? known.doubt}.`,
    result.tenths < LEAST_TENTHS && "Under 2 s: kept, and no hold.",
  ];
  const status = known?.is_void ? "taken back" : { stored: "stored", waiting: "kept here, waiting", refused: "refused" }[known?.status];
  const kept = isOnItsWay ? "…" : id ? "kept" : "not kept";
  fill(node, { number: tile.number, name: tile.name, words, status: status ?? kept });
  fill(node, { doubt: doubt.filter(Boolean).join(" ") });
  for (const button of node.querySelectorAll("button")) button.dataset.athlete = tile.id;
  show(node.querySelector("[data-do=group-judge]"), known?.source === "timed_only" && !known.is_void);
  show(node.querySelector("[data-do=group-keep]"), !id && !isOnItsWay);
  slot(node, "open").href = classPlace(run.session, "athlete", tile.id, known?.step ?? tile.step);
  slot(node, "open").setAttribute("aria-label", `Open ${tile.number} ${tile.name}`);
}
