// A try or a caution of a coach whose code never came, entered again by the one who holds the tablet, who says so in it. It is
// a new act with a new id, in the name of who enters it; the old entry stays in it, as `was`, until it is stored. The
// server is asked first: what it has already is never entered twice.

import { actOf, dependents, naming, settled } from "./outbox.js";

// No check of a bar: whoever looked it over vouches for it by name.
const GOES_ALONG = new Set(["start", "guest", "attempt", "mend", "move", "void", "caution"]);
const IN_NOBODYS_NAME = new Set(["hand_over", "right"]);
const UNASKED = "The server must say first that it does not have this entry, and did not answer. Try again.";
const CHANGED = "Meanwhile something else became of this entry: look again.";
const REASON_LENGTHS = { void: 200, caution: 500 };
const ENTERABLE = new Set(["attempt", "caution"]);

/** Whether an entry is in the name of a coach whom the server has not confirmed: it is not sent before the code comes. */
export const isUnconfirmed = ({ coach, state }, { holders }) => state !== "refused" && !holders[coach]?.confirmed;

export const mayEnterAgain = ({ kind, coach }, { holder, holders }) =>
  ENTERABLE.has(kind) && coach !== holder && !holders[coach]?.confirmed && Boolean(holders[holder]?.confirmed);

/** How a coach is called, also one who has left the tablet. */
export const coachName = (id, { holders, coaches }) =>
  holders[id]?.name ?? coaches?.find((coach) => coach.id === id)?.name ?? "another coach";

export const reasonFor = (entry, state) =>
  `Entered again by ${coachName(state.holder, state)}; logged on the tablet while ${coachName(entry.coach, state)} held it unconfirmed.`;

/** What is entered again with a try or a caution, itself included: the class or guest that it needs, and what was done to it since. */
export function goingAlong(entries, entry) {
  const isTheirs = ({ coach, kind }) => coach === entry.coach && GOES_ALONG.has(kind);
  const theirs = new Map(entries.filter(isTheirs).map((one) => [one.id, one]));
  const ids = new Set([entry.id, ...dependents(entries, entry.id)]);
  for (const id of ids) for (const before of theirs.get(id)?.after ?? []) if (theirs.has(before)) ids.add(before);
  return [...theirs.values()].filter(({ id }) => ids.has(id));
}

/**
 * What the outbox is then: `{ replaced: [[id, entry]], changed: [entries] }`, for the store's `settle`; `changed` are
 * those that name what has another id now.
 */
export function enteredAgain(entries, going, { by, reason, newId }) {
  const ids = new Map(going.map(({ id }) => [id, newId()]));
  const left = new Set(entries.filter(({ kind, coach }) => kind === "bar" && coach === going[0].coach).map(({ id }) => id));
  const others = entries.filter(({ id, after }) => !ids.has(id) && (after ?? []).some((one) => ids.has(one)));
  return {
    replaced: going.map((entry) => [entry.id, { ...inNameOf(by, entry, ids, left, reason), id: ids.get(entry.id) }]),
    changed: others.map((entry) => naming(entry, ids)),
  };
}

function inNameOf(coach, entry, ids, left, reason) {
  const { seq: _, ...was } = entry;
  const { body, after, ...same } = naming(was, ids);
  const waitsFor = after.filter((id) => !left.has(id));
  return { ...same, coach, body: saying(entry.kind, body, reason), after: waitsFor, state: "waiting", refusal: null, was };
}

/** The reason stands where the act has room for words. */
function saying(kind, body, reason) {
  if (kind === "attempt") return { ...body, note: [body.note, reason].filter(Boolean).join(" ") };
  const whole = body.reason ? `${body.reason} (${reason})` : reason;
  return whole.length <= (REASON_LENGTHS[kind] ?? 0) ? { ...body, reason: whole } : body;
}

/** Enter a try or a caution again in the name of who holds the tablet. Resolves with the sentence that says what became of it. */
export async function enterAgain(app, entry, newId) {
  const { holder: by } = app.state;
  const reason = reasonFor(entry, app.state);
  const going = goingAlong(app.state.entries, entry);
  const answer = await askFor(app, going);
  if (!answer) return UNASKED;
  if (!isNowhere(going, answer)) return stoodElsewhere(app, going, answer, entry);
  const entries = await app.store.entries();
  const isSame = String(goingAlong(entries, entry).map(({ id }) => id)) === String(going.map(({ id }) => id));
  if (!isSame || app.state.holder !== by || !mayEnterAgain(entry, app.state)) return CHANGED;
  await app.store.settle(enteredAgain(entries, going, { by, reason, newId }));
  return `Entered again in the name of ${coachName(by, app.state)}.`;
}

/** The server's receipts for acts that may be there already; null without an answer. */
async function askFor(app, going) {
  const body = { ...app.times.envelope(), acts: going.map(actOf) };
  const { status, data } = await app.api.post("acts/", body).catch(() => ({}));
  return status === 200 ? data : null;
}

/** Whether the server has none of these, and takes none of them in the name that they are in. */
function isNowhere(going, { receipts }) {
  const codes = new Map((receipts ?? []).map(({ id, status, code }) => [id, status === "refused" ? code : status]));
  return going.every(({ id }) => IN_NOBODYS_NAME.has(codes.get(id)));
}

async function stoodElsewhere(app, going, answer, entry) {
  const what = settled(going, answer);
  await app.store.settle({ ...what, sent: going });
  return what.gone.includes(entry.id) ? `It is stored in the name of ${coachName(entry.coach, app.state)}.` : CHANGED;
}
