// One class: tiles of everybody who is here, each in its place, and beside them one athlete or the roster.

import { clone, fill, keyed, show, slot, write } from "./dom.js";
import { tell } from "../hold_clock.js";
import { placesOf, presentOf, sessionOf, tilesOf } from "./model.js";
import { panel } from "./panel_screen.js";
import { roster } from "./roster_screen.js";
import { classPlace } from "./routes.js";
import { goRotation, openStrip, shutStrip, updateStrip } from "./run_strip.js";
import { keepLines, keepRoom } from "./steady.js";
import { briefly, stepName } from "./words.js";

let side = null; // panel or roster
let places = []; // ids of athletes: nobody's tile moves while the class is open here
let placesFor = null;
let openedOf = null; // whose panel is open: closing it leads back to the tile
const shownAs = new Map(); // by athlete: what its tile was made of, so that a result in one touches no other

function placesIn(state, session) {
  if (placesFor !== session?.id) [places, placesFor] = [[], session?.id];
  const numbers = new Map((state.today?.athletes ?? []).map(({ id, number }) => [id, number]));
  const newcomers = [...presentOf(state, session)].sort(
    (one, other) => (numbers.get(one) || 1e9) - (numbers.get(other) || 1e9),
  );
  places = placesOf(places, newcomers);
  return places;
}

const STATUS = { waiting: "Kept", stored: "Stored", refused: "Refused" };

/** The last try at the step in hand; else the last of this class, and at which step that was. */
function resultOf(tile, today) {
  const row = tile.last_row ?? tile.row_before;
  if (!row) return tile.last || "no try yet";
  const at = tile.last_row ? "" : ` (${today?.steps.find(({ id }) => id === row.step)?.label ?? "another step"})`;
  return `${STATUS[row.status]}: ${row.words}${at}`;
}

function linesOf(app, tile) {
  const { today, board, unkept } = app.state;
  const step = today?.steps.find(({ id }) => id === tile.step);
  const hurts = tile.isPaused && tile.state !== "paused" && !tile.isHalted && !tile.isStopped;
  const words = tile.isStopped ? "no consent" : hurts ? "paused, it hurt" : tile.isPaused ? "paused" : tile.word || today?.words.states[tile.state];
  const missing = [tile.back && `${tile.back[0].toUpperCase()}${tile.back.slice(1)}`, tile.missing]
    .filter(Boolean)
    .join(" · ");
  return {
    number: tile.number || "new",
    name: tile.name,
    alone: tile.name ? "" : "Athlete ",
    skin: tile.skin,
    turn: tile.turn,
    step: stepName(step) || (tile.isUnknown ? "Step not known yet" : "All open steps are passed"),
    missing: tile.isHere ? briefly(missing) : "not here any more",
    cue: [tile.cue_now && `“${tile.cue_now}”`, tile.note].filter(Boolean).join(" · "),
    state: words ?? "",
    result: resultOf(tile, today),
    waiting: unkept[tile.id] ? "not kept" : tile.waiting_count ? `${tile.waiting_count} waiting` : "",
    refused: tile.refused.length ? `Refused: ${tile.refused[0].refusal?.reason ?? ""}` : "",
    caution: [...tile.cautions, ...tile.no_consent].join("; "),
    ready:
      tile.waiting.length && board
        ? tile.waiting.some(({ gate }) => gate === "finish")
          ? "Ready for sign-off"
          : "Waits for clearance"
        : "",
  };
}

function updateTile(app, node, tile, params) {
  const isOpen = params.athlete === tile.id;
  const lines = linesOf(app, tile);
  const shape = tile.isPaused ? "paused" : tile.state;
  const made = JSON.stringify([lines, shape, isOpen, tile.isHere]);
  if (shownAs.get(tile.id) === made && node.dataset.made) return;
  shownAs.set(tile.id, made);
  keepRoom(node);
  if (node.dataset.made === "known") keepLines(node);
  node.dataset.made = tile.isUnknown ? "unknown" : "known";
  fill(node, lines);
  show(slot(node, "caution-line"), Boolean(lines.caution));
  node.querySelector("[data-shape]").className = `state state-${shape}`;
  node.querySelector("use").setAttribute("href", `#shape-${shape || "none"}`);
  node.toggleAttribute("data-open", isOpen);
  node.toggleAttribute("data-gone", !tile.isHere);
  const link = node.querySelector("a");
  link.href = classPlace(params.session, "athlete", tile.id);
  // Tapped again the open one comes with the step in hand; the clock may be touched right after.
  for (const [name, value] of [["aria-current", "true"], ["data-do", "anew"], ["data-quick", ""]])
    if (isOpen) link.setAttribute(name, value);
    else link.removeAttribute(name);
}

function makeTile(tile) {
  const node = clone("floor-tile");
  node.dataset.athlete = tile.id;
  return node;
}

function showClocks(app) {
  const now = performance.now();
  for (const mark of document.querySelectorAll("[data-running-of]")) {
    const id = mark.closest("[data-athlete]").dataset.athlete;
    show(mark, app.clocks.isRunning(id));
    if (app.clocks.isRunning(id)) write(mark, `▶ ${tell(app.clocks.tenthsAt(id, now))} s`);
  }
}

function updateHead(app, root, params, session, count) {
  const focus = app.state.today?.steps.find(({ id }) => id === session?.focus);
  const about = [
    `${count} here`,
    session?.coach,
    focus && `for everybody: ${stepName(focus)}`,
    session?.ended_at && "ended",
  ];
  fill(root, {
    class: session?.name ?? "A class that this tablet does not know",
    about: about.filter(Boolean).join(" · "),
  });
  for (const link of root.querySelectorAll("[data-place]")) link.href = classPlace(params.session, link.dataset.place);
}

function sideOf(params) {
  return params.athlete ? panel : roster;
}

export const screen = {
  name: "board",

  open(app, root) {
    root.append(clone("screen-board"));
    side = openedOf = null;
    shownAs.clear();
    openStrip(app, root);
  },

  close: () => shutStrip(),

  update(app, root, params) {
    const session = sessionOf(app.state, params.session);
    const tiles = tilesOf(app.state, session, placesIn(app.state, session));
    updateStrip(app, root, session);
    updateHead(app, root, params, session, tiles.filter(({ isHere }) => isHere).length);
    keyed(root.querySelector("#tiles"), tiles, {
      keyOf: ({ id }) => id,
      make: makeTile,
      update: (node, tile) => updateTile(app, node, tile, params),
    });
    show(slot(root, "nobody"), tiles.length === 0);
    const place = root.querySelector(".board-side");
    const next = sideOf(params);
    if (side !== next) {
      place.replaceChildren();
      next.open(app, place, params);
      side = next;
    }
    side.update(app, place, params, { session, tiles });
    if (openedOf && !params.athlete) root.querySelector(`.tile[data-athlete="${openedOf}"] a`)?.focus();
    openedOf = params.athlete ?? null;
    showClocks(app);
  },

  tick(app) {
    showClocks(app);
    side?.tick?.(app);
  },

  touch(app, node, moment) {
    return side?.touch?.(app, node, moment);
  },

  tap(app, node, moment) {
    const by = { "next-rotation": 1, "rotation-before": -1 }[node.dataset.do];
    if (by) return void goRotation(app, by, moment).catch(() => {});
    side?.tap?.(app, node, moment);
  },
};
