// What every store of this device does alike, wherever it keeps its things: pure.

import { isSameAct } from "./outbox.js";

export const BOARDS_KEPT = 4;

/**
 * Whether `owner` may take the lease at `now` on the wall clock; `held` is who has it, `{ owner, until }`, or nothing.
 * One that ends later than any can is from before the clock was set back.
 */
export function mayLease(held, owner, ms, now) {
  return !held || held.owner === owner || held.until <= now || held.until > now + ms;
}

/** Whether a key holds only a copy of what the server has: it may go when room is needed. */
export const isCopy = (key) => key === "today" || key.startsWith("board:");

/** Keys of the boards that are too many: `boards` is `[{ key, at }]`. */
export function boardsToForget(boards) {
  const newestFirst = [...boards].sort((one, other) => (one.at < other.at ? 1 : -1));
  return newestFirst.slice(BOARDS_KEPT).map((board) => board.key);
}

/**
 * What settling does to the entries that are kept now: `{ gone: [seqs], changed: [entries] }`. What has left the outbox
 * does not come back, and what was put right since it was sent does not go by an old answer. `replaced` is
 * `[[id, entry]]`: an entry with an id of its own in the place of another.
 */
export function settledEntries(kept, { gone = [], changed = [], replaced = [], sent = null }) {
  const asSent = sent && new Map(sent.map((entry) => [entry.id, entry]));
  const isMeant = (entry) => !asSent || (asSent.has(entry.id) && isSameAct(asSent.get(entry.id), entry));
  const going = new Set(gone);
  const news = new Map([...changed.map((entry) => [entry.id, entry]), ...replaced]);
  const meant = kept.filter(isMeant);
  return {
    gone: meant.filter((entry) => going.has(entry.id)).map((entry) => entry.seq),
    changed: meant
      .filter((entry) => news.has(entry.id) && !going.has(entry.id))
      .map((entry) => ({ ...news.get(entry.id), seq: entry.seq })),
  };
}
