// Acts about tries that the screens beside the board make: pure. A body has every field, so that the server never has to
// guess what a screen left out.

import { needs, resultOf } from "./model.js";
import { resultWords } from "./words.js";

const MEASURED = { timed_only: "timed only", counted: "counted" };

const USUAL = {
  reps: 1,
  unbroken: true,
  faults: [],
  missed: [],
  effort: null,
  pain: false,
  grade: 0,
  angle_degrees: null,
  closed_reason: "",
  note: "",
  doubt: "",
};

/** A try of who stands on a tile, at the step in hand, with the help that the tile shows. */
export function tryOf(state, session, tile, { source, hold_tenths = null, moment, ...more }) {
  const help = { assistance: tile.with.assistance, variant: tile.with.variant };
  const body = { session, athlete: tile.id, step: tile.step, source, hold_tenths, ...USUAL, ...help, ...more };
  const step = state.today?.steps.find(({ id }) => id === tile.step);
  const after = needs(state.entries, { session, athlete: tile.id, isLowBar: Boolean(step?.low_bar) });
  const label = { number: String(tile.number), words: `${resultWords(body, step)}, ${MEASURED[source]}` };
  return { kind: "attempt", body, moment, after, label };
}

/** A row's try entered again as one that the coach watched: the doubt about its time is settled with it. */
export function judgedOf(state, row, tile, moment) {
  const step = state.today?.steps.find(({ id }) => id === row.step);
  const body = { attempt: row.id, ...resultOf(row, { source: "judged", doubt: "" }) };
  const label = { number: String(tile?.number ?? ""), words: `${resultWords(body, step)}, judged` };
  return { kind: "mend", body, moment, after: needs(state.entries, { attempt: row.id }), label };
}

/** Why the group clock is not for somebody now; "" where it is. */
export function cannotHang(state, tile, bar) {
  const step = state.today?.steps.find(({ id }) => id === tile.step);
  if (!step) return "no step in hand";
  if (tile.isPaused) return "paused";
  if (tile.state === "closed") return "not open yet";
  if (!step.is_hold) return "not a hold";
  return step.low_bar && !bar ? "look the bar over first" : "";
}

/** Cautions to read before a group hangs: `[{ title, lines }]`, those of steps first, each step once. */
export function cautionsFor(state, tiles) {
  const inHand = new Set(tiles.map((tile) => tile.step));
  const risky = (state.today?.steps ?? []).filter(
    (step) => inHand.has(step.id) && (step.inverted || step.over_bar || step.low_bar),
  );
  const ofSteps = risky.map((step) => ({
    title: `${step.label} ${step.name}`,
    lines: [...step.cautions, ...(step.getting_down ? [`Getting down. ${step.getting_down}`] : [])],
  }));
  const ofPeople = tiles
    .map((tile) => ({ title: `${tile.number} ${tile.name}`, lines: [...tile.cautions, ...tile.no_consent] }))
    .filter(({ lines }) => lines.length);
  return [...ofSteps, ...ofPeople];
}

/** Rows that are not taken back, of the last `minutes` before `nowMs` by the clock that made `row.at`. */
export function lately(rows, nowMs, minutes) {
  return rows.filter((row) => !row.is_void && nowMs - Date.parse(row.at) <= minutes * 60_000);
}

/** Tiles of who is here and has nothing in `rows`. */
export function without(tiles, rows) {
  const logged = new Set(rows.filter((row) => !row.is_void && row.status !== "refused").map(({ athlete }) => athlete));
  return tiles.filter((tile) => tile.isHere && !logged.has(tile.id));
}

/** A moment some minutes before another, on both clocks. */
export const before = (moment, minutes) => ({ at: moment.at - minutes * 60_000, wall: moment.wall - minutes * 60_000 });
