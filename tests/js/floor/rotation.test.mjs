import assert from "node:assert/strict";
import test from "node:test";

import { load } from "../load.mjs";

const rotation = await load("floor/rotation.js");
const model = await load("floor/model.js");
const { boardAfter } = await load("floor/absorb.js");

const at = (minutes, second = 0) => new Date(Date.UTC(2026, 2, 2, 18, minutes, second)).toISOString();
const ms = (minutes, second = 0) => Date.parse(at(minutes, second));

/** Three rotations of ten minutes from 18:05; Bo has no place in the second one. */
const plan = (more = {}) => ({
  number: 1,
  rotation: -1,
  minutes: [10, 10, 10],
  turns: [5, 15, 25, 35].map((minutes, place) => ({ at: at(minutes), rotation: place })),
  sets: [["Set low bar to hole 5"], [], ["Re-set low bar to hole 9"]],
  people: {
    ada: [{ place: "floor", step: "one" }, { place: "low bar, hole 7", step: "two" }, { place: "rings", step: "one" }],
    bo: [{ place: "low bar, hole 5", step: "one" }, null, { place: "low bar, hole 9", step: "one" }],
  },
  ...more,
});

test("without a tap rotations follow one another by the plan's own times", () => {
  const seen = [0, 5, 14.99, 15, 34, 35, 600].map((minutes) => rotation.clockOf(plan(), ms(0) + minutes * 60_000));
  assert.deepEqual(seen.map((clock) => clock.rotation), [-1, 0, 0, 1, 2, 3, 3]);
  assert.deepEqual(seen.map((clock) => clock.shown), [0, 0, 0, 1, 2, null, null]);
  assert.deepEqual(seen.map((clock) => clock.next?.at), [at(5), at(15), at(15), at(25), at(35), undefined, undefined]);
});

test("a tap moves all that follow, and ends the last rotation", () => {
  const skipped = rotation.marked(plan(), { at: at(8), rotation: 1 });
  assert.deepEqual(skipped.turns, [{ at: at(8), rotation: 1 }, { at: at(18), rotation: 2 }, { at: at(28), rotation: 3 }]);
  assert.ok(rotation.clockOf(rotation.marked(plan(), { at: at(8), rotation: 3 }), ms(9)).isOver);
});

test("a tile says where now and where then", () => {
  const told = (who, minutes) => rotation.turnWords(plan(), who, rotation.clockOf(plan(), ms(minutes)));
  assert.equal(told("ada", 0), "First: floor · then low bar, hole 7");
  assert.equal(told("bo", 6), "Now: low bar, hole 5 · then no place");
  assert.equal(told("bo", 16), "Now: no place · then low bar, hole 9");
  assert.equal(told("ada", 26), "Now: rings · last rotation");
  assert.equal(told("late", 6), "Not in the plan");
  assert.equal(told("ada", 40), "");
});

test("the line above says what it is, what a key does, and how long still", () => {
  const words = (minutes) => {
    const clock = rotation.clockOf(plan(), ms(minutes));
    return [rotation.phaseWords(plan(), clock), rotation.onWords(plan(), clock)];
  };
  assert.deepEqual(words(0), ["Warm-up", "Start rotation 1"]);
  assert.deepEqual(words(6), ["Rotation 1 of 3", "On to rotation 2"]);
  assert.deepEqual(words(26), ["Rotation 3 of 3", "End the last rotation"]);
  assert.deepEqual(words(36), ["The last rotation is over", ""]);
  assert.equal(rotation.leftWords(at(15), ms(10, 55)), "4:05");
  assert.equal(rotation.leftWords(at(15), ms(16)), "0:00");
});

// ---- On the board ---------------------------------------------------------------------------------------------

const step = (id) => ({ id, label: "1", name: id, faults: [], checkpoints: [], variants: [], grades: [], loads: [] });
const tile = (id, more = {}) => ({
  ...{ id, number: 1, name: id, step: "one", state: "working", word: "", missing: "", back: "", cue: "", note: "" },
  ...{ last: "", cautions: [], no_consent: [], paused: [], stopped: [], waiting: [], skin: "", instead_of: null },
  with: { assistance: "none", variant: "" },
  open: [{ step: "two", state: "working", missing: "two more", assistance: "band", variant: "" }],
  ...more,
});
const session = { id: "s", present: ["ada", "bo"], usual: [], starts_at: at(0), ended_at: null };
const today = { gym: { time_zone: "UTC" }, sessions: [session], athletes: [], steps: [step("one"), step("two"), step("six")] };
const tap = (minutes, to, more = {}) => ({
  ...{ id: `tap ${minutes}`, kind: "rotation", coach: "c", state: "waiting", device_at: at(minutes), offset_ms: 0 },
  body: { session: "s", rotation: to },
  ...more,
});
const handed = (minutes, step_) => ({
  ...{ id: `step ${minutes}`, kind: "step", coach: "c", state: "waiting", device_at: at(minutes), offset_ms: 0 },
  body: { session: "s", athlete: "ada", step: step_ },
});
const board = (more) => ({ at: at(1), session, tiles: [tile("ada"), tile("bo")], log: [], plan: plan(more) });

function ada(minutes, entries = [], more = {}) {
  const state = { board: board(more), today, entries, offsetMs: ms(minutes) - Date.now() };
  return model.tilesOf(state, session, ["ada", "bo"])[0];
}

test("a tap that waits for the network moves the class on this device at once", () => {
  assert.equal(ada(6).turn, "Now: floor · then low bar, hole 7");
  assert.equal(ada(9, [tap(8, 1)]).turn, "Now: low bar, hole 7 · then rings");
  assert.equal(ada(9, [tap(8, 1, { state: "refused" })]).turn, "Now: floor · then low bar, hole 7");
  assert.equal(ada(9, [tap(8, 1, { body: { session: "other", rotation: 1 } })]).turn, "Now: floor · then low bar, hole 7");
});

test("in another rotation than the server told of, the rotation's step is in hand, with what is known of it", () => {
  assert.equal(ada(6, [], { rotation: 0 }).step, "one");
  const then = ada(16, [], { rotation: 0 });
  assert.deepEqual([then.step, then.missing, then.with.assistance], ["two", "two more", "band"]);
});

test("a coach's choice on this device lasts until the next rotation", () => {
  assert.equal(ada(16.5, [handed(16, "six")], { rotation: 0 }).step, "six");
  assert.equal(ada(16.5, [handed(14, "six")], { rotation: 0 }).step, "two");
  assert.equal(ada(6.5, [handed(6, "six")], { rotation: 0 }).step, "six");
});

test("a tap that the server has stored counts from the server's moment until its next answer", () => {
  const answer = { at: at(9), receipts: [{ id: "tap 8", status: "stored", happened_at: at(7) }], tiles: [], log: [] };
  const after = boardAfter(board(), answer, [tap(8, 1)]);
  assert.deepEqual(after.plan.turns[0], { at: at(7), rotation: 1 });
  const refused = { ...answer, receipts: [{ id: "tap 8", status: "refused" }] };
  assert.deepEqual(boardAfter(board(), refused, [tap(8, 1)]).plan, plan());
  assert.equal(boardAfter({ ...board(), plan: null }, answer, [tap(8, 1)]).plan, null);
});

test("a class without a plan is as it was", () => {
  const state = { board: { ...board(), plan: null }, today, entries: [tap(8, 1)], offsetMs: 0 };
  assert.equal(model.planOf(state, session), null);
  assert.equal(model.tilesOf(state, session, ["ada"])[0].turn, "");
  delete state.board.plan; // kept by an older version of this page
  assert.equal(model.planOf(state, session), null);
});
