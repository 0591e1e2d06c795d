// What the panel shows and its taps are about: one athlete, the step of the try, what is known of both.

import { freshDraft } from "./draft.js";
import { helpOf, rowsOf, stepsById } from "./model.js";

const drafts = new Map(); // by athlete: nothing that was typed is lost by looking at somebody else

/** Forget what was begun for an athlete: another step comes. */
export const forgetDraft = (athlete) => drafts.delete(athlete);

/** The step of a draft: the one in hand, or a closed one that is tried once. */
function draftOf(tile, rows) {
  const kept = drafts.get(tile.id);
  if (kept && (kept.step === tile.step || kept.isClosedTry)) return kept;
  const draft = freshDraft(tile.step, helpOf(tile, tile.step, rows));
  drafts.set(tile.id, draft);
  return draft;
}

/** `{ app, root, params, athlete, tile, tiles, rows, step, session, draft, setDraft, last, isClosed }`; null where nobody is. */
export function contextOf(app, root, params, { session, tiles }) {
  const tile = tiles.find(({ id }) => id === params.athlete);
  if (!tile) return null;
  const rows = rowsOf(app.state);
  const draft = draftOf(tile, rows);
  const step = stepsById(app.state.today).get(draft.step) ?? null;
  const last = rows.find((row) => row.athlete === tile.id && !row.is_void && row.step === draft.step) ?? null;
  const setDraft = (next) => drafts.set(tile.id, next);
  const isClosed = Boolean(draft.isClosedTry);
  return { app, root, params, athlete: tile.id, tile, tiles, rows, step, session, draft, setDraft, last, isClosed };
}
