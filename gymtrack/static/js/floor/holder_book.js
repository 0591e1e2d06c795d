// Who holds the tablet, as the device knows it: pure. A book is `{ holder, holders }`: the id of the coach whose touches
// count now, or null; and by coach `{ name, hand_over, until, confirmed, claimed_at, asks }`.
//
// A hand-over is *confirmed* once the server took the code, and *claimed* before. Nothing here ever changes `holder` but
// `took` and `left`, which a person's hand does. `asks` says why the coach's code is needed again; "" while it is not.

export const EMPTY = { holder: null, holders: {} };

export const LAPSED = "The hand-over has run out or was ended.";
export const FORGOTTEN = "The page was opened anew before the code could be checked.";

const changed = (book, coach, news) => ({
  ...book,
  holders: { ...book.holders, [coach]: { ...book.holders[coach], ...news } },
});

/** A coach takes over: claimed until the server has said yes. */
export function took(book, coach, { name, hand_over, claimed_at }) {
  const row = { name, hand_over, claimed_at, until: null, confirmed: false, asks: "" };
  return { ...changed(book, coach, row), holder: coach };
}

/** The server took the code; who holds the tablet stays as it is. Of a hand-over that is not known (left) nothing comes. */
export function confirmed(book, answer) {
  const row = book.holders[answer.coach];
  if (row?.hand_over !== answer.hand_over) return book;
  return changed(book, answer.coach, { name: answer.name, until: answer.until, confirmed: true, asks: "" });
}

/** The server refused the code of a claim: the coach goes on working, and is asked for the code. */
export function refused(book, coach, hand_over, sentence) {
  const row = book.holders[coach];
  return row && !row.confirmed && row.hand_over === hand_over ? changed(book, coach, { asks: sentence }) : book;
}

/** A confirmed hand-over is not in force any more: a new one is claimed from now on, under a new id. */
export function lapsed(book, coach, { hand_over, claimed_at }) {
  if (!book.holders[coach]?.confirmed) return book;
  return changed(book, coach, { hand_over, claimed_at, until: null, confirmed: false, asks: LAPSED });
}

/** What a page that opens anew knows: the codes of claims are gone with the page before. */
export function reopened(book) {
  const rows = Object.entries(book.holders).map(([coach, row]) => [
    coach,
    row.confirmed || row.asks ? row : { ...row, asks: FORGOTTEN },
  ]);
  return { ...book, holders: Object.fromEntries(rows) };
}

/** Ids of the coaches whose results may be sent. */
export function confirmedOf(book) {
  return new Set(Object.keys(book.holders).filter((coach) => book.holders[coach].confirmed));
}

/** `[{ coach, name, asks }]`: whose code is needed. */
export function asking(book) {
  return Object.entries(book.holders)
    .filter(([, row]) => !row.confirmed && row.asks)
    .map(([coach, { name, asks }]) => ({ coach, name, asks }));
}

/** Coaches whose hand-over the server did not find in force, by an answer to `entries`. */
export function lapsedBy(receipts, entries) {
  const needed = new Set((receipts ?? []).filter(({ code }) => code === "hand_over").map(({ id }) => id));
  return [...new Set(entries.filter((entry) => needed.has(entry.id)).map((entry) => entry.coach))];
}
