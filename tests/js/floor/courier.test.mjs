import assert from "node:assert/strict";
import test from "node:test";

import { load } from "../load.mjs";

const { Unreachable } = await load("floor/api.js");
const { Courier, MOST_WAIT_MS, NOT_YET_WAIT_MS } = await load("floor/courier.js");
const { MemoryStore } = await load("floor/memory_store.js");
const { MOST_BYTES, entryOf } = await load("floor/outbox.js");
const { senderOf } = await load("floor/sender.js");

const STAMP = { device_at: "2026-03-02T17:00:00.000Z", offset_ms: null, life: "life", mono_ms: 5 };
const AT = "2026-03-02T17:00:01Z";
const entry = (id, body = {}) => entryOf({ id, kind: "attempt", coach: "ada", stamp: STAMP, body });
const answered = ({ acts }, what) => {
  const receipts = acts.map(({ id }) => ({ id, ...what }));
  return { status: 200, data: { at: AT, receipts } };
};
const stored = (body) => answered(body, { status: "stored" });

/** A courier whose server is `reply(body)`; `posted` has the ids of each request, `waits` how long it then waited. */
async function carrying(entries, reply, more = {}) {
  const seen = { posted: [], waits: [], states: [], answers: [], store: new MemoryStore() };
  await seen.store.put(...entries);
  const api = {
    post: async (_path, body) => {
      seen.posted.push(body.acts.map(({ id }) => id));
      return reply(body);
    },
  };
  const timers = { set: (_fn, ms) => seen.waits.push(ms), clear: () => {}, random: () => 1 };
  const heard = { onState: (told) => seen.states.push(told), onAnswer: (answer) => seen.answers.push(answer) };
  const parts = { store: seen.store, times: { envelope: () => ({}) }, api, timers, ...heard, ...more };
  const sender = senderOf(seen.store, { locks: null });
  seen.courier = new Courier({ confirmed: () => new Set(["ada"]), sender, ...parts });
  return seen;
}

/** Kick, and wait until it rests. */
async function kicked(seen) {
  const before = seen.waits.length;
  seen.courier.kick();
  for (let turns = 0; seen.waits.length === before && turns < 5000; turns += 1) await new Promise(setImmediate);
  return seen;
}

test("it sends twenty at a time until nothing is left, then looks again now and then", async () => {
  const entries = Array.from({ length: 45 }, (_, place) => entry(`e${place}`));
  const seen = await kicked(await carrying(entries, stored));
  assert.deepEqual(seen.posted.map((ids) => ids.length), [20, 20, 5]);
  assert.deepEqual(await seen.store.entries(), []);
  assert.deepEqual(seen.waits, [MOST_WAIT_MS]);
  assert.equal(seen.answers.length, 3);
  assert.equal(seen.states.at(-1).state, "idle");
});

test("without an answer it waits longer each time, up to half a minute, and keeps all", async () => {
  const seen = await carrying([entry("a")], () => Promise.reject(new Unreachable("Gone.")));
  for (let turn = 0; turn < 7; turn += 1) await kicked(seen);
  assert.deepEqual(seen.waits, [1000, 2000, 4000, 8000, 16_000, 30_000, 30_000]);
  assert.equal((await seen.store.entries()).length, 1);
  assert.deepEqual(seen.states.at(-1), { state: "away", status: 0, sentence: "Gone." });
});

test("after an answer it begins again with short waits", async () => {
  let isAway = true;
  const gone = () => Promise.reject(new Unreachable("Gone."));
  const seen = await carrying([entry("a")], (body) => (isAway ? gone() : stored(body)));
  for (let turn = 0; turn < 4; turn += 1) await kicked(seen);
  isAway = false;
  await kicked(seen);
  isAway = true;
  await seen.store.put(entry("b"));
  await kicked(seen);
  assert.equal(seen.waits.at(-1), 1000);
});

test("one act that the server cannot read stands alone in the end, and all others are stored", async () => {
  const entries = Array.from({ length: 30 }, (_, place) => entry(`e${place}`, { chokes: place === 7 }));
  const unread = { status: 400, data: { detail: "No." } };
  const reply = (body) => (body.acts.some((act) => act.body.chokes) ? unread : stored(body));
  const seen = await carrying(entries, reply);
  for (let turn = 0; turn < 12; turn += 1) await kicked(seen);
  const left = await seen.store.entries();
  assert.deepEqual(left.map(({ id, state }) => [id, state]), [["e7", "waiting"]]);
  assert.deepEqual([left[0].refusal.code, left[0].refusal.reason], ["trouble", "No."]);
  assert.equal(seen.states.at(-1).state, "trouble");
});

test("a batch is parted by its bytes too: no request has more than the server reads", async () => {
  const entries = Array.from({ length: 12 }, (_, place) => entry(`e${place}`, { note: "ü".repeat(10_000) }));
  const sizes = [];
  const seen = await carrying(entries, (body) => {
    sizes.push(new TextEncoder().encode(JSON.stringify(body)).length);
    return stored(body);
  });
  await kicked(seen);
  assert.deepEqual(seen.posted.map((ids) => ids.length), [3, 3, 3, 3]);
  assert.ok(Math.max(...sizes) <= MOST_BYTES, sizes);
  assert.deepEqual(await seen.store.entries(), []);
});

test("an entry that alone is too large is never sent, says so, and holds up nothing", async () => {
  const entries = [entry("a"), entry("huge", { note: "n".repeat(70_000) }), entry("b")];
  const seen = await kicked(await carrying(entries, stored));
  assert.deepEqual(seen.posted.flat(), ["a", "b"]);
  const [left] = await seen.store.entries();
  assert.deepEqual([left.id, left.state, left.refusal.code], ["huge", "refused", "too_large"]);
  assert.match(left.refusal.reason, /^This entry has 69 kB, more than the server takes at once\./);
  await kicked(seen);
  assert.equal(seen.posted.length, 2);
});

test("what something on the way finds too large is parted, and set aside where it stands alone", async () => {
  const reply = (body) => (JSON.stringify(body).length > 3000 ? { status: 413, data: null } : stored(body));
  const large = { note: "n".repeat(4000) };
  const entries = [entry("a"), entry("b", large), ...Array.from({ length: 18 }, (_, place) => entry(`e${place}`))];
  const seen = await carrying(entries, reply);
  for (let turn = 0; turn < 8; turn += 1) await kicked(seen);
  const left = await seen.store.entries();
  assert.deepEqual(left.map(({ id, state, refusal }) => [id, state, refusal.code]), [["b", "refused", "too_large"]]);
});

test("a tablet that the server does not know any more is told, and nothing is blamed on what was sent", async () => {
  const unknown = async () => ({ status: 401, data: { code: "tablet" } });
  const seen = await kicked(await carrying([entry("a"), entry("b")], unknown));
  assert.equal(seen.states.at(-1).state, "shut");
  assert.deepEqual((await seen.store.entries()).map(({ refusal }) => refusal), [null, null]);
});

test('"not yet" is not asked again at once', async () => {
  const early = (body) => answered(body, { status: "refused", code: "early", reason: "Not there." });
  const seen = await kicked(await carrying([entry("a")], early));
  assert.deepEqual([seen.posted, seen.waits], [[["a"]], [NOT_YET_WAIT_MS]]);
});

test("a listener that fails ends nothing", async () => {
  const failed = [];
  globalThis.reportError = (error) => failed.push(error.message);
  const onAnswer = () => {
    throw new Error("The page failed.");
  };
  const entries = Array.from({ length: 25 }, (_, place) => entry(`e${place}`));
  const seen = await kicked(await carrying(entries, stored, { onAnswer }));
  assert.deepEqual(failed, ["The page failed.", "The page failed."]);
  assert.deepEqual(await seen.store.entries(), []);
});

test("what comes while it sends is sent right after", async () => {
  const seen = await carrying([entry("a")], async (body) => {
    if (seen.posted.length === 1) {
      await seen.store.put(entry("b"));
      seen.courier.kick();
    }
    return stored(body);
  });
  await kicked(seen);
  assert.deepEqual(seen.posted, [["a"], ["b"]]);
});

test("with locks one tab alone sends; a lock that a sleeping tab never gives back is taken", async () => {
  const asked = [];
  const locks = {
    request: async (_name, options, work) => {
      asked.push(Object.keys(options));
      if (options.steal) return work();
      return new Promise((_, reject) => options.signal.addEventListener("abort", () => reject(options.signal.reason)));
    },
  };
  const sender = senderOf(new MemoryStore(), { locks, patienceMs: 10 });
  assert.deepEqual(await sender.alone(async (still) => [await still(), 7]), [true, 7]);
  assert.deepEqual(asked, [["signal"], ["steal"]]);
});

test("without locks it sends only while the lease is its own", async () => {
  const leases = [true, true, false];
  const store = { lease: async () => leases.shift(), release: async () => leases.push("released") };
  const went = await senderOf(store, { locks: null }).alone(async (still) => [await still(), await still()]);
  assert.deepEqual([went, leases], [[true, false], ["released"]]);
  const other = { lease: async () => false, release: assert.fail };
  assert.ok((await senderOf(other, { locks: null }).alone(assert.fail)) > 0);
});
