import assert from "node:assert/strict";
import { beforeEach, test } from "node:test";

import { load } from "../load.mjs";

const { contextOf, goOn, leave, stayAt } = await load("floor/panel_context.js");
const { nextDraft } = await load("floor/draft.js");

const STEPS = ["one", "two", "three"].map((id, place) => ({ id, label: String(place + 1), name: id, loads: [] }));
const help = { assistance: "none", variant: "" };
const open = (step) => ({ step, state: "working", missing: "", ...help });

const row = (step, more = {}) => ({ id: `at ${step}`, athlete: "a", step, at: "2026-03-02T17:00:00Z", source: "judged", faults: [], missed: [], is_void: false, ...help, ...more });

const app = (log = [], timed = null) => ({
  clocks: { stepOf: () => timed },
  state: { today: { steps: STEPS }, board: { session: { id: "s" }, log }, entries: [] },
});

const tile = (step, more = {}) => ({ id: "a", step, open: [open("one"), open("two")], with: help, ...more });
const look = (tile, given = app([row("one")])) => contextOf(given, null, { athlete: "a" }, { session: { id: "s" }, tiles: [tile] });

beforeEach(() => goOn("a"));

test("the answer that moves the athlete on leaves the panel at the kept try, which can still be mended", () => {
  stayAt("a", "one");
  const { step, next, last, draft } = look(tile("two"));
  assert.deepEqual([step.id, next.id, last.id, draft.step], ["one", "two", "at one", "one"]);
});

test("the pass taken back: nothing is left to go on with", () => {
  stayAt("a", "one");
  assert.equal(look(tile("two")).next.id, "two");
  assert.equal(look(tile("one")).next, null);
});

test("a hand that goes on or leaves brings the step in hand", () => {
  for (const away of [() => goOn("a"), leave]) {
    stayAt("a", "one");
    away();
    const { step, next, last } = look(tile("two"));
    assert.deepEqual([step.id, next, last], ["two", null, null]);
  }
});

test("it stays for that athlete alone", () => {
  stayAt("b", "one");
  assert.equal(look(tile("two")).step.id, "two");
});

test("what another tablet brings into hand comes when a hand goes on, and not under a finger", () => {
  assert.equal(look(tile("one")).step.id, "one");
  const { step, next } = look(tile("two"));
  assert.deepEqual([step.id, next.id], ["one", "two"]);
  goOn("a");
  assert.equal(look(tile("two")).step.id, "two");
});

test("a step that was not known yet comes with the first answer", () => {
  assert.equal(look(tile(null, { isUnknown: true })).step, null);
  assert.equal(look(tile("one", { isUnknown: true })).step.id, "one"); // the class's own, by the tablet's memory
  assert.equal(look(tile("two")).step.id, "two");
  assert.equal(look(tile("one")).step.id, "two");
});

test("what was typed keeps its step, also when somebody else was looked at meanwhile", () => {
  const { draft, setDraft } = look(tile("one"));
  setDraft({ ...draft, note: "slow" });
  leave();
  const context = look(tile("two"));
  assert.deepEqual([context.step.id, context.next.id, context.draft.note], ["one", "two", "slow"]);
  context.setDraft(nextDraft(context.draft));
  assert.equal(look(tile("two")).step.id, "two");
});

test("a clock that runs shows the step that it was started at, whatever else", () => {
  stayAt("a", "two");
  const { step, next } = look(tile("two"), app([], "one"));
  assert.deepEqual([step.id, next.id], ["one", "two"]);
});

test("each try of a step that is not open asks for a reason, the one after it too", () => {
  stayAt("a", "three");
  assert.equal(look(tile("one")).isClosed, true);
  assert.equal(look(tile("one", { isUnknown: true, open: [] })).isClosed, false); // not heard of yet
  goOn("a");
  assert.equal(look(tile("one")).isClosed, false);
});

test("all passed: the panel stays with the kept try, and there is nothing to go on with", () => {
  stayAt("a", "one");
  const { step, next } = look(tile(null));
  assert.deepEqual([step.id, next], ["one", null]);
});
