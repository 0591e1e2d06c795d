// What the panel shows and its taps are about: one athlete, the step of the try, what is known of both.
//
// The server's answer to a try, another tablet or a class that goes on may bring another step in hand. A finger on its way
// to the clock must not start that one, and what was just kept must stay under it: the panel stands at the step that it
// showed first, or that of the last try, until a hand goes on from there or leaves the athlete.

import { freshDraft, isTouched } from "./draft.js";
import { helpOf, rowsOf, stepsById } from "./model.js";

const drafts = new Map(); // by athlete: nothing that was typed is lost by looking at somebody else
let stay = null; // { athlete, step }: where the panel stands, whatever the tile has in hand

/** Stand at the step of a try that was just kept, was changed, or is looked at again. */
export function stayAt(athlete, step) {
  stay = { athlete, step };
}

/** The athlete was left, or comes anew: what was typed is still there, the step is the one in hand again. */
export function leave() {
  stay = null;
}

/** Go on with the step in hand: what was begun at another one is dropped. */
export function goOn(athlete) {
  leave();
  drafts.delete(athlete);
}

/** The step of a try: that of a clock that runs, of what was begun, else where the panel stands. */
function stepOn(app, tile) {
  if (stay?.athlete !== tile.id && tile.step && !tile.isUnknown) stayAt(tile.id, tile.step);
  const kept = drafts.get(tile.id);
  const begun = kept && (kept.isClosedTry || isTouched(kept)) ? kept.step : null;
  const stood = stay?.athlete === tile.id ? stay.step : tile.step;
  return app.clocks.stepOf(tile.id) ?? begun ?? stood;
}

function draftOf(tile, step, rows) {
  const kept = drafts.get(tile.id);
  if (kept?.step === step) return kept;
  const draft = freshDraft(step, helpOf(tile, step, rows));
  drafts.set(tile.id, draft);
  return draft;
}

/** Whether the server has said that a step is not open: each try there asks for a reason. */
const isClosedTo = (tile, step) => Boolean(step) && !tile.isUnknown && !tile.open.some((one) => one.step === step);

/**
 * `{ app, root, params, athlete, tile, tiles, rows, step, next, session, draft, setDraft, last, isClosed }`, `next` the
 * step in hand where the panel stands at another one; null where nobody is.
 */
export function contextOf(app, root, params, { session, tiles }) {
  const tile = tiles.find(({ id }) => id === params.athlete);
  if (!tile) return null;
  const rows = rowsOf(app.state);
  const draft = draftOf(tile, stepOn(app, tile), rows);
  const steps = stepsById(app.state.today);
  const step = steps.get(draft.step) ?? null;
  const next = tile.step === draft.step ? null : (steps.get(tile.step) ?? null);
  const last = rows.find((row) => row.athlete === tile.id && !row.is_void && row.step === draft.step) ?? null;
  const setDraft = (fresh) => drafts.set(tile.id, fresh);
  const isClosed = Boolean(draft.isClosedTry) || isClosedTo(tile, draft.step);
  return { app, root, params, athlete: tile.id, tile, tiles, rows, step, next, session, draft, setDraft, last, isClosed };
}
