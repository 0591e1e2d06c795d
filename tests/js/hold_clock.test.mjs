import assert from "node:assert/strict";
import test from "node:test";

import { load } from "./load.mjs";

const { HoldClock, TouchGuard, cutToTenths, momentOf, readClocks, tell } = await load("hold_clock.js");

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

const WALL = 1_780_000_000_000;

/** A touch at a stamp, of a device whose wall clock is ahead of the monotonic one by `apart` more than at its start. */
const touch = (stamp, { late = 0, apart = 0 } = {}) => momentOf(stamp, { now: stamp + late, wall: WALL + stamp + late + apart });

test("a clock runs from its start to its stop and then rests", () => {
  const clock = new HoldClock();
  assert.equal(clock.isRunning, false);
  assert.equal(clock.tenthsAt(900), 0);
  clock.start(touch(1000));
  assert.equal(clock.isRunning, true);
  assert.equal(clock.tenthsAt(3550), 25);
  assert.deepEqual(clock.stop(touch(6249.9)), { tenths: 52, doubt: "" });
  assert.equal(clock.isRunning, false);
  assert.deepEqual(clock.stop(touch(9000)), { tenths: 0, doubt: "" });
});

test("a second start begins anew, without the doubt of the first", () => {
  const clock = new HoldClock();
  clock.start(touch(0));
  clock.doubt("hidden");
  assert.deepEqual(clock.stop(touch(4000)), { tenths: 40, doubt: "hidden" });
  clock.start(touch(10_000));
  assert.deepEqual(clock.stop(touch(12_000)), { tenths: 20, doubt: "" });
});

test("the page adds less than 20 ms to what the touches' own stamps say, however late its handlers run", () => {
  // The length is cut to tenths, so a length a hair under the stamps' shows what was added: none but the cut.
  for (let round = 0; round < 2000; round += 1) {
    const start = 5000 + round * 7.3;
    const held = 2000 + ((round * 1234.5) % 60_000);
    const clock = new HoldClock();
    clock.start(touch(start, { late: (round * 37) % 900 }));
    const { tenths, doubt } = clock.stop(touch(start + held, { late: (round * 91) % 1500 }));
    const cutAway = held - tenths * 100;
    assert.ok(cutAway > -20 && cutAway < 100 + 20, `${held} ms gave ${tenths} tenths`);
    assert.equal(tenths, cutToTenths(held));
    assert.equal(doubt, "");
  }
});

test("a device that slept in between makes a length doubtful, whichever of its clocks stood still", () => {
  for (const apart of [-60_000, -101, 101, 60_000]) {
    const clock = new HoldClock();
    clock.start(touch(0));
    assert.deepEqual(clock.stop(touch(5000, { late: 40, apart })), { tenths: 50, doubt: "slept" });
  }
});

test("clocks that drift by less than a tenth leave no doubt", () => {
  for (const apart of [-100, 0, 100]) {
    const clock = new HoldClock();
    clock.start(touch(0));
    assert.equal(clock.stop(touch(5000, { apart })).doubt, "");
  }
});

test("the two clocks are read at one instant", () => {
  const before = Date.now();
  const { now, wall } = readClocks();
  assert.ok(wall >= before && wall <= Date.now());
  assert.ok(now <= performance.now());
});

test("the first reason for doubt stays, and a clock at rest has none", () => {
  const clock = new HoldClock();
  clock.doubt("hidden");
  clock.start(touch(0));
  clock.doubt("hidden");
  assert.equal(clock.stop(touch(3000, { apart: 4000 })).doubt, "hidden");
});

test("a touch within 0.3 s of the last that counted does not count", () => {
  const guard = new TouchGuard();
  assert.deepEqual([0, 299, 300, 450, 599, 601].map((at) => guard.accepts(at)), [true, false, true, false, false, true]);
});
