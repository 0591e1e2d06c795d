// Who holds the tablet, as the device knows it: pure. A book is `{ holder, holders }`: the id of the coach whose touches
// count now, or null; and by coach `{ name, hand_over, until, confirmed, claimed_at, asks }`.
//
// A hand-over is *confirmed* once the server took the code, and *claimed* before. Nothing here ever changes `holder` but
// `took`, which a person's hand does. `asks` is what the server said against the code; "" where it said nothing.

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

/** A hand-over that was confirmed is not in force any more: a new one is claimed from now on, under a new id. */
export function lapsed(book, coach, { hand_over, claimed_at }) {
  if (!book.holders[coach]?.until) return book;
  return changed(book, coach, { hand_over, claimed_at, until: null, confirmed: false, asks: LAPSED });
}

/** `[{ coach, name, asks }]`: whose code is to be typed; `known` has the coaches whose code this page remembers. */
export function asking(book, known) {
  return Object.entries(book.holders)
    .filter(([coach, row]) => !row.confirmed && !known.has(coach))
    .map(([coach, { name, asks, until }]) => ({ coach, name, asks: asks || (until ? LAPSED : FORGOTTEN) }));
}
