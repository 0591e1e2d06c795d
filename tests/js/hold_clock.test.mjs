import assert from "node:assert/strict";
import test from "node:test";

import { load } from "./load.mjs";

const { HoldClock, TouchGuard, cutToTenths, tell } = await load("hold_clock.js");

test("a length is cut to tenths and never rounded up", () => {
  assert.deepEqual([0, 99.9, 100, 5049.9, 5099.999, 19_990, 20_000].map(cutToTenths), [0, 0, 1, 50, 50, 199, 200]);
});

test("fractions that binary numbers cannot hold take no tenth away", () => {
  // Times as a browser gives them, in steps of 0.1 ms: the difference is 5 s, and 4999.999999999998 in floating point.
  for (let step = 0; step < 20_000; step += 1) {
    const start = step / 10 + 1_234_567.8;
    assert.equal(cutToTenths(start + 5000 - start), 50);
  }
  assert.equal(cutToTenths(4999.9999999), 50);
});

test("a clock that went backwards gives nothing rather than a negative length", () => {
  assert.equal(cutToTenths(-250), 0);
});

test("tenths are told with one digit after the point", () => {
  assert.deepEqual([0, 7, 50, 199, 6000].map(tell), ["0.0", "0.7", "5.0", "19.9", "600.0"]);
});

test("a clock runs from its start to its stop and then rests", () => {
  const clock = new HoldClock();
  assert.equal(clock.isRunning, false);
  assert.equal(clock.tenthsAt(900), 0);
  clock.start(1000);
  assert.equal(clock.isRunning, true);
  assert.equal(clock.tenthsAt(3550), 25);
  assert.equal(clock.stop(6249.9), 52);
  assert.equal(clock.isRunning, false);
  assert.equal(clock.stop(9000), 0);
});

test("a second start begins anew", () => {
  const clock = new HoldClock();
  clock.start(0);
  clock.stop(4000);
  clock.start(10_000);
  assert.equal(clock.stop(12_000), 20);
});

test("a touch within 0.3 s of the last that counted does not count", () => {
  const guard = new TouchGuard();
  assert.deepEqual([0, 299, 300, 450, 599, 601].map((at) => guard.accepts(at)), [true, false, true, false, false, true]);
});
