import assert from "node:assert/strict";
import test from "node:test";

import { load } from "../load.mjs";

const { lostTiming, noteTiming } = await load("floor/timing_note.js");

function storage() {
  const kept = new Map();
  return {
    getItem: (key) => kept.get(key) ?? null,
    setItem: (key, value) => kept.set(key, value),
    removeItem: (key) => kept.delete(key),
  };
}

test("a clock that ran when the page went is told once, by its number", () => {
  const kept = storage();
  noteTiming(kept, [12]);
  assert.match(lostTiming(kept), /^A clock was running for 12 when this page was opened anew: its time is lost/);
  assert.equal(lostTiming(kept), "");
});

test("several are told together, and none where all were stopped before", () => {
  const kept = storage();
  noteTiming(kept, [3, "A. L."]);
  assert.match(lostTiming(kept), /^Clocks were running for 3, A. L. when/);
  noteTiming(kept, [3]);
  noteTiming(kept, []);
  assert.equal(lostTiming(kept), "");
});

test("a browser that keeps nothing, or something else, is no trouble", () => {
  const refusing = { getItem: () => "{", setItem: () => { throw new Error("full"); }, removeItem() {} };
  noteTiming(refusing, [1]);
  assert.equal(lostTiming(refusing), "");
  assert.equal(lostTiming({ ...refusing, getItem: () => '{"a":1}' }), "");
});
