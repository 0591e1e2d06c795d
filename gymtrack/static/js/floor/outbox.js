// The outbox as a protocol, without any store, clock or network. An entry is an act with what the device keeps beside:
//
//   { v: 1, id, kind, coach, device_at, offset_ms, life, mono_ms, body,
//     after: [ids], state: "waiting" | "refused", refusal: null | { code, reason, mistakes, at, times },
//     label: { number, words } }
//
// What holds: an entry leaves the outbox only by a receipt that names its id, or by a person's hand. Until then it is
// sent, always with the same bytes, so that the server knows it again. A refused one stays, with the reason. A waiting
// one that has a refusal was answered "not yet": it is sent again, behind those that were never answered.
// Nothing waits for anything but what it names in `after`. Entries are given and returned in the order of making.

import { discreet } from "./names.js";

export const ENTRY_VERSION = 1;
export const BATCH = 20; // the most acts that the server takes at once
export const MOST_BYTES = 64 * 1024; // the most that it reads at once
const ROOM_BYTES = MOST_BYTES - 512; // beside what goes with the acts of a request

const ACT_KEYS = ["id", "kind", "coach", "device_at", "offset_ms", "life", "mono_ms", "body"];
const NOT_YET = new Set(["hand_over", "early", "trouble"]);

const timesOf = (entry) => entry.refusal?.times ?? 0;

/** A new entry: `stamp` as DeviceTimes.stamp gives it. */
export function entryOf({ id, kind, coach, stamp, body, after = [], label = { number: "", words: "" } }) {
  const act = { v: ENTRY_VERSION, id, kind, coach, ...stamp, body };
  return { ...act, after: [...after], state: "waiting", refusal: null, label };
}

/** What is sent of an entry, and nothing else: the same for as long as the entry stays as it is. */
export function actOf(entry) {
  return Object.fromEntries(ACT_KEYS.map((key) => [key, entry[key] ?? null]));
}

/** Whether two entries send the same. */
export function isSameAct(one, other) {
  return JSON.stringify(actOf(one)) === JSON.stringify(actOf(other));
}

/**
 * What may be sent now: in the order of making, those that were answered "not yet" behind the others, by how
 * often they were. `confirmed`: the coaches whose hand-over stands; `except`: ids to leave out.
 */
export function due(entries, { confirmed, limit = BATCH, except = new Set() }) {
  const here = new Set(entries.map((entry) => entry.id));
  const mayGo = (entry) =>
    entry.state !== "refused" &&
    confirmed.has(entry.coach) &&
    !except.has(entry.id) &&
    !(entry.after ?? []).some((id) => here.has(id));
  return entries
    .filter(mayGo)
    .sort((one, other) => timesOf(one) - timesOf(other))
    .slice(0, limit);
}

const bytesOf = (entry) => new TextEncoder().encode(JSON.stringify(actOf(entry))).length + 1; // and its comma

/** As many of a batch's first as one request has room for; one at least. */
export function fitting(batch) {
  let bytes = 0;
  const over = batch.findIndex((entry) => (bytes += bytesOf(entry)) > ROOM_BYTES);
  return over < 0 ? batch : batch.slice(0, Math.max(over, 1));
}

/** Whether an entry has no room in a request even alone. */
export const isTooLarge = (entry) => bytesOf(entry) > ROOM_BYTES;

/** An entry that cannot be sent as it is, ever: it stays here with the reason, and is not tried again by itself. */
export function tooLarge(entry) {
  const size = Math.ceil(bytesOf(entry) / 1024);
  const reason = `This entry has ${size} kB, more than the server takes at once. Make its words shorter, or take it back.`;
  return answered(entry, { code: "too_large", reason });
}

/**
 * What an answer to a batch changes: `{ gone: [ids], changed: [entries] }`. Only a receipt that names the id counts; an
 * answer that is none of ours changes nothing.
 */
export function settled(entries, answer) {
  const receipts = Array.isArray(answer?.receipts) ? answer.receipts : [];
  const of = new Map(entries.map((entry) => [entry.id, entry]));
  const known = receipts.filter((receipt) => of.has(receipt?.id));
  return {
    gone: known.filter((receipt) => receipt.status === "stored").map((receipt) => receipt.id),
    changed: known
      .filter((receipt) => receipt.status === "refused")
      .map((receipt) => answered(of.get(receipt.id), receipt, answer.at)),
  };
}

function answered(entry, { code = "", reason = "", mistakes = [] }, at = "") {
  const state = NOT_YET.has(code) ? "waiting" : "refused";
  return { ...entry, state, refusal: { code, reason, mistakes, at, times: timesOf(entry) + 1 } };
}

/** An entry for which the server has no receipt, only trouble, even alone: it waits on, behind the others. */
export function troubled(entry, reason) {
  return answered(entry, { code: "trouble", reason });
}

/** A refused entry to be sent again as it is: the right was given back, the class is open again. */
export function retried(entry) {
  return { ...entry, state: "waiting", refusal: null };
}

/**
 * A refused entry put right: `changes` are new fields of its body. It keeps its id, so that it can be one row at most,
 * whatever the network still has on its way; only where the id is taken on the server it gets `newId`. Its time stays
 * that of the touch.
 */
export function mended(entry, changes, newId) {
  const id = entry.refusal?.code === "taken" ? newId : entry.id;
  return { ...retried(entry), id, body: { ...entry.body, ...changes } };
}

/** The entries that name `oldId`, naming `newId` instead: what depends on a mended one whose id was taken. */
export function renamed(entries, oldId, newId) {
  const ids = new Map([[oldId, newId]]);
  return entries.filter((entry) => (entry.after ?? []).includes(oldId)).map((entry) => naming(entry, ids));
}

/** An entry that names others by their new ids; `ids` is a Map from the old ones. */
export function naming(entry, ids) {
  const swap = (value) => ids.get(value) ?? value;
  const body = Object.fromEntries(Object.entries(entry.body).map(([key, value]) => [key, swap(value)]));
  return { ...entry, after: (entry.after ?? []).map(swap), body };
}

/** Ids of the entries that wait for `id`, nearest first, and for these: what goes with it when it is withdrawn. */
export function dependents(entries, id) {
  const found = [id];
  for (const one of found) {
    for (const entry of entries) {
      if ((entry.after ?? []).includes(one) && !found.includes(entry.id)) found.push(entry.id);
    }
  }
  return found.slice(1);
}

/** A person takes an entry back, and with it what only makes sense after it. For the store's `settle`. */
export function withdrawn(entries, id) {
  return { gone: [id, ...dependents(entries, id)], changed: [] };
}

/** `{ waiting, refused, stuck }`: `stuck` of the waiting ones wait for a refused one. */
export function counts(entries) {
  const refused = entries.filter((entry) => entry.state === "refused");
  const behind = new Set(refused.flatMap((entry) => dependents(entries, entry.id)));
  const waiting = entries.filter((entry) => entry.state !== "refused");
  const stuck = waiting.filter((entry) => behind.has(entry.id));
  return { waiting: waiting.length, refused: refused.length, stuck: stuck.length };
}

/** All of it as text that a person can keep and send: JSON, with every field that the device has. */
export function exportText(entries, exportedAt = null) {
  return `${JSON.stringify({ what: "floor outbox", v: ENTRY_VERSION, exported_at: exportedAt, entries: entries.map(discreet) }, null, 2)}\n`;
}
