import assert from "node:assert/strict";
import test from "node:test";

import { load } from "../load.mjs";

const { MemoryStore } = await load("floor/memory_store.js");
const { boardsToForget, isCopy, mayLease, settledEntries } = await load("floor/store_rules.js");

const entry = (seq, body = {}) => ({ seq, id: `e${seq}`, kind: "attempt", body, state: "waiting" });

test("what has left the outbox does not come back by a late answer", () => {
  assert.deepEqual(settledEntries([entry(2)], { gone: ["e1"], changed: [entry(1)] }), { gone: [], changed: [] });
});

test("what was put right since it was sent does not go by an old answer", () => {
  const sent = [entry(1, { reps: -1 })];
  const kept = [entry(1, { reps: 1 })];
  assert.deepEqual(settledEntries(kept, { gone: ["e1"], sent }).gone, []);
  assert.deepEqual(settledEntries(kept, { changed: sent, sent }).changed, []);
  assert.deepEqual(settledEntries(sent, { gone: ["e1"], sent }).gone, [1]);
});

test("a changed entry keeps its place", () => {
  const { seq: _, ...changed } = { ...entry(7), state: "refused" };
  assert.deepEqual(settledEntries([entry(7)], { changed: [changed] }).changed, [{ ...entry(7), state: "refused" }]);
});

test("an entry that is replaced keeps its place under another id, and only where it is still here", () => {
  const news = [["e7", { id: "new", kind: "attempt" }], ["e8", { id: "other" }]];
  assert.deepEqual(settledEntries([entry(7)], { replaced: news }).changed, [{ id: "new", kind: "attempt", seq: 7 }]);
});

test("of boards the four newest stay", () => {
  const boards = [3, 1, 6, 2, 5, 4].map((day) => ({ key: `board:${day}`, at: `2026-03-0${day}` }));
  assert.deepEqual(boardsToForget(boards).sort(), ["board:1", "board:2"]);
  assert.deepEqual(["today", "board:1", "tablet", "holders"].map(isCopy), [true, true, false, false]);
});

test("a lease holds for its time, for its owner, and never for longer because a clock was set back", () => {
  const held = { owner: "a", until: 1000 };
  const may = (owner, now) => mayLease(held, owner, 500, now);
  assert.deepEqual([may("a", 600), may("b", 600), may("b", 1000), may("b", 499)], [true, false, true, true]);
  assert.equal(mayLease(undefined, "b", 500, 600), true);
});

test("the store of a browser that keeps nothing says so and works the same", async () => {
  const store = new MemoryStore();
  assert.equal(store.isDurable, false);
  await store.put(entry(9), entry(8));
  await store.put({ ...entry(9), state: "refused" });
  assert.deepEqual((await store.entries()).map(({ id, state }) => [id, state]), [["e9", "refused"], ["e8", "waiting"]]);
  await store.settle({ gone: ["e9"], changed: [{ ...entry(8), state: "refused" }] });
  assert.deepEqual((await store.entries()).map(({ id, state }) => [id, state]), [["e8", "refused"]]);
  for (const day of [1, 2, 3, 4, 5]) await store.keep(`board:${day}`, { at: `2026-03-0${day}` });
  assert.equal(await store.kept("board:1"), undefined);
  assert.deepEqual(await store.kept("board:5"), { at: "2026-03-05" });
});
