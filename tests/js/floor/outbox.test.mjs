import assert from "node:assert/strict";
import test from "node:test";

import { load } from "../load.mjs";

const box = await load("floor/outbox.js");

const STAMP = { device_at: "2026-03-02T17:00:00.000Z", offset_ms: null, life: "life", mono_ms: 5 };

/** Entries by id, each `{ coach, after, kind, body }` where it differs. */
const entry = (id, { coach = "ada", after = [], kind = "attempt", body = {}, ...more } = {}) => ({
  ...box.entryOf({ id, kind, coach, stamp: STAMP, body, after }),
  ...more,
});
const ids = (entries) => entries.map(({ id }) => id);
const due = (entries, more = {}) => ids(box.due(entries, { confirmed: new Set(["ada"]), ...more }));
const stored = (id) => ({ id, status: "stored" });
const refused = (id, code) => ({ id, status: "refused", code, reason: "No.", mistakes: [] });
const answer = (...receipts) => ({ at: "2026-03-02T17:00:01Z", receipts });

/** An entry that was answered with this code. */
const after = (code, one) => box.settled([one], answer(refused(one.id, code))).changed[0];

test("what is due goes in the order of making, and no more than the server takes", () => {
  const many = Array.from({ length: 30 }, (_, place) => entry(`e${place}`));
  assert.deepEqual(due(many), ids(many).slice(0, 20));
  assert.deepEqual(due(many, { limit: 2, except: new Set(["e0"]) }), ["e1", "e2"]);
});

test("an entry waits while what it comes after is still here, whatever became of that", () => {
  const first = entry("a");
  const then = entry("v", { after: ["a"] });
  assert.deepEqual(due([first, then]), ["a"]);
  assert.deepEqual(due([after("right", first), then]), []);
  assert.deepEqual(due([then]), ["v"]);
});

test("only what a coach made whose hand-over stands is due", () => {
  assert.deepEqual(due([entry("a", { coach: "ben" }), entry("b")]), ["b"]);
});

test("nothing that was refused, or is not yet taken, holds up what follows", () => {
  const bad = after("mistakes", entry("bad"));
  const early = after("early", entry("early"));
  const twice = after("early", after("early", entry("twice")));
  assert.deepEqual(due([bad, twice, early, entry("a"), entry("b")]), ["a", "b", "early", "twice"]);
  assert.deepEqual(due([twice, early, entry("a")], { limit: 2 }), ["a", "early"]);
});

test("only a receipt that names the id acknowledges", () => {
  const entries = [entry("a"), entry("b")];
  assert.deepEqual(box.settled(entries, answer(stored("a"), stored("x"))), { gone: ["a"], changed: [] });
  const unsaid = answer(null, {}, { id: "a" }, { id: "b", status: "ok" });
  for (const none of [null, undefined, "", [], {}, answer(), { receipts: {} }, unsaid])
    assert.deepEqual(box.settled(entries, none), { gone: [], changed: [] });
});

test("a refusal stays on the device with its reason; a code that is needed and an early one are asked again", () => {
  for (const code of ["taken", "mistakes", "right", "gone"]) assert.equal(after(code, entry("a")).state, "refused");
  for (const code of ["hand_over", "early"]) assert.equal(after(code, entry("a")).state, "waiting");
  const mistakes = [{ field: "reps", sentence: "At least one." }];
  const [changed] = box.settled([entry("a")], answer({ ...refused("a", "mistakes"), mistakes })).changed;
  const refusal = { code: "mistakes", reason: "No.", mistakes, at: "2026-03-02T17:00:01Z", times: 1 };
  assert.deepEqual(changed.refusal, refusal);
});

test("a code that no version knows yet is final, so that nobody waits for ever without knowing", () => {
  assert.equal(after("closed_for_repair", entry("a")).state, "refused");
});

test("what is sent is the act and nothing beside it, the same each time", () => {
  const one = entry("a", { body: { reps: 3 }, colour: "green" });
  const act = { id: "a", kind: "attempt", coach: "ada", ...STAMP, body: { reps: 3 } };
  assert.deepEqual(box.actOf(one), act);
  assert.deepEqual(box.actOf(after("early", one)), act);
  assert.equal(after("early", one).colour, "green");
});

test("an entry that is put right keeps its id and its time; where the id is taken it gets another", () => {
  const right = box.mended(after("mistakes", entry("a", { body: { reps: -1, note: "x" } })), { reps: 1 }, "new");
  assert.deepEqual([right.id, right.state, right.refusal, right.body], ["a", "waiting", null, { reps: 1, note: "x" }]);
  assert.equal(right.device_at, STAMP.device_at);
  assert.equal(box.mended(after("taken", entry("a")), {}, "new").id, "new");
});

test("what depends on an entry with another id now names that", () => {
  const entries = [entry("v", { after: ["a"], kind: "void", body: { attempt: "a", reason: "slip" } }), entry("b")];
  const [changed, ...others] = box.renamed(entries, "a", "new");
  assert.deepEqual([changed.after, changed.body, others], [["new"], { attempt: "new", reason: "slip" }, []]);
});

test("what is withdrawn takes along what only makes sense after it", () => {
  const entries = [entry("a"), entry("m", { after: ["a"] }), entry("v", { after: ["m"] }), entry("b")];
  assert.deepEqual(box.dependents(entries, "a"), ["m", "v"]);
  assert.deepEqual(box.withdrawn(entries, "a"), { gone: ["a", "m", "v"], changed: [] });
});

test("what waits, was refused, and waits for what was refused is counted", () => {
  const entries = [after("right", entry("a")), entry("m", { after: ["a"] }), entry("v", { after: ["m"] }), entry("b")];
  assert.deepEqual(box.counts(entries), { waiting: 3, refused: 1, stuck: 2 });
  assert.deepEqual(box.counts([]), { waiting: 0, refused: 0, stuck: 0 });
});

test("the export has every field that the device has", () => {
  const entries = [{ ...entry("a"), colour: "green" }];
  assert.deepEqual(JSON.parse(box.exportText(entries, "2026-03-02T17:00:00Z")).entries, entries);
});

test("an entry of an earlier version without the newer fields is due as well", () => {
  const { after: _, refusal: __, label: ___, state: ____, ...old } = entry("a");
  assert.deepEqual(due([old]), ["a"]);
  assert.deepEqual(box.counts([old]), { waiting: 1, refused: 0, stuck: 0 });
});
