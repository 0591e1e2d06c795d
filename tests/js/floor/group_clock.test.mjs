import assert from "node:assert/strict";
import test from "node:test";

import { load } from "../load.mjs";

const { COUNT_IN_MS, GroupClock, LATE_MS, targetOf } = await load("floor/group_clock.js");

const WALL = 1_780_000_000_000;
const START = 10_000;
const BEGIN = START + COUNT_IN_MS;

/** A moment of a device whose wall clock is ahead of the monotonic one by `apart` more than at the start. */
const moment = (at, apart = 0) => ({ at, wall: WALL + at + apart });

function started(tenths = 50, group = ["ada", "ben", "cem"]) {
  const clock = new GroupClock(tenths, group);
  clock.start(moment(START));
  return clock;
}

const had = (clock, looked) => clock.results(looked).map(({ athlete, tenths }) => [athlete, tenths]);

test("it waits, counts in for three seconds, runs for its target and has ended", () => {
  const clock = new GroupClock(50, ["ada"]);
  assert.equal(clock.stateAt(START), "idle");
  assert.equal(clock.tenthsAt(START), 0);
  assert.equal(clock.endsAt, null);
  clock.start(moment(START));
  const states = [START, BEGIN - 0.1, BEGIN, BEGIN + 4999.9, BEGIN + 5000, BEGIN + 90_000].map((at) => clock.stateAt(at));
  assert.deepEqual(states, ["count-in", "count-in", "running", "running", "ended", "ended"]);
});

test("the count-in shows 3, 2, 1 and then nothing", () => {
  const clock = started();
  const counts = [0, 1, 999, 1000, 1001, 2000, 2999, 3000, 4000].map((ms) => clock.countAt(START + ms));
  assert.deepEqual(counts, [3, 3, 3, 2, 2, 1, 1, 0, 0]);
});

test("the time shown begins after the count-in and stays at the target", () => {
  const clock = started();
  assert.deepEqual([START, BEGIN, BEGIN + 1234, BEGIN + 60_000].map((at) => clock.tenthsAt(at)), [0, 0, 12, 50]);
});

test("a second start changes nothing", () => {
  const clock = started();
  clock.start(moment(START + 2000));
  assert.equal(clock.endsAt, BEGIN + 5000);
});

test("whoever nobody tapped has the target exactly, at its end, however late the page looks", () => {
  for (const late of [0, 16, 700, LATE_MS]) {
    const results = started().results(moment(BEGIN + 5000 + late));
    assert.deepEqual(results.map(({ tenths, doubt, isDown }) => [tenths, doubt, isDown]), Array(3).fill([50, "", false]));
    assert.ok(results.every((result) => result.moment.at === BEGIN + 5000));
    assert.ok(results.every((result) => result.moment.wall === WALL + BEGIN + 5000));
  }
});

test("several come down early, each with the time of the own touch, cut to tenths", () => {
  const clock = started();
  assert.equal(clock.touch("ben", moment(BEGIN + 3249.9)), true);
  assert.equal(clock.touch("ada", moment(BEGIN + 3250)), true); // at once after another: both count
  assert.deepEqual(had(clock, moment(BEGIN + 5000)), [["ada", 32], ["ben", 32], ["cem", 50]]);
  assert.deepEqual(clock.results(moment(BEGIN + 5000)).map(({ isDown }) => isDown), [true, true, false]);
});

test("the first touch of somebody stays", () => {
  const clock = started();
  clock.touch("ben", moment(BEGIN + 2000));
  assert.equal(clock.touch("ben", moment(BEGIN + 2100)), false);
  assert.equal(clock.touch("ben", moment(BEGIN + 4000)), false);
  assert.deepEqual(had(clock, moment(BEGIN + 5000))[1], ["ben", 20]);
});

test("a touch in the last tenth is a break by its own time, even where the page hears of it after the end", () => {
  const clock = started();
  assert.equal(clock.stateAt(BEGIN + 5040), "ended"); // the page's timer came first
  assert.equal(clock.touch("ben", moment(BEGIN + 4950)), true);
  assert.equal(clock.touch("cem", moment(BEGIN + 5000)), false);
  assert.deepEqual(had(clock, moment(BEGIN + 5040)), [["ada", 50], ["ben", 49], ["cem", 50]]);
});

test("a target is reached in fractions that binary numbers cannot hold", () => {
  for (let step = 0; step < 5000; step += 1) {
    const clock = new GroupClock(50, ["ada"]);
    const start = 1_234_567.8 + step / 10;
    clock.start(moment(start));
    assert.deepEqual(had(clock, moment(start + COUNT_IN_MS + 5000)), [["ada", 50]]);
  }
});

test("it ends with the last who comes down", () => {
  const clock = started(200, ["ada", "ben"]);
  clock.touch("ada", moment(BEGIN + 4000));
  assert.equal(clock.stateAt(BEGIN + 4000), "running");
  clock.touch("ben", moment(BEGIN + 7100));
  assert.equal(clock.stateAt(BEGIN + 7100), "ended");
  assert.deepEqual(had(clock, moment(BEGIN + 60_000)), [["ada", 40], ["ben", 71]]);
  assert.deepEqual(clock.results(moment(BEGIN + 60_000)).map(({ doubt }) => doubt), ["", ""]);
});

test("the wrong one is taken back while it runs and not afterwards", () => {
  const clock = started();
  clock.touch("ben", moment(BEGIN + 2000));
  assert.equal(clock.lastDown, "ben");
  assert.equal(clock.takeBack("ben", BEGIN + 2600), true);
  assert.equal(clock.lastDown, null);
  assert.equal(clock.takeBack("ben", BEGIN + 2700), false);
  clock.touch("cem", moment(BEGIN + 3000));
  assert.equal(clock.takeBack("cem", BEGIN + 5000), false);
  assert.deepEqual(had(clock, moment(BEGIN + 5000)), [["ada", 50], ["ben", 50], ["cem", 30]]);
});

test("a touch in the count-in says that somebody does not hang, and a second one that somebody does", () => {
  const clock = started();
  clock.touch("ada", moment(START + 1000));
  clock.touch("ben", moment(START + 1200));
  clock.touch("ben", moment(START + 1800));
  assert.equal(clock.touch("ada", moment(BEGIN + 2000)), false);
  clock.touch("ben", moment(BEGIN + 3140));
  assert.deepEqual(["ada", "ben", "cem"].map((id) => clock.standOf(id)), [
    { isOut: true, downTenths: null },
    { isOut: false, downTenths: 31 },
    { isOut: false, downTenths: null },
  ]);
  assert.deepEqual(had(clock, moment(BEGIN + 5000)), [["ben", 31], ["cem", 50]]);
});

test("ended by the coach: who still hangs has the time so far", () => {
  const clock = started(300);
  clock.touch("ada", moment(BEGIN + 4000));
  clock.stop(moment(BEGIN + 12_345));
  assert.equal(clock.stateAt(BEGIN + 12_345), "ended");
  assert.equal(clock.touch("ben", moment(BEGIN + 13_000)), false);
  assert.equal(clock.tenthsAt(BEGIN + 20_000), 123);
  assert.deepEqual(had(clock, moment(BEGIN + 90_000)), [["ada", 40], ["ben", 123], ["cem", 123]]);
  assert.ok(clock.results(moment(BEGIN + 90_000)).every(({ doubt }) => doubt === ""));
});

test("ended in the count-in: nobody has anything", () => {
  const clock = started();
  clock.stop(moment(START + 2000));
  assert.equal(clock.stateAt(START + 2000), "ended");
  assert.deepEqual(clock.results(moment(START + 2000)), []);
});

test("a stop after the end changes nothing", () => {
  const clock = started();
  clock.stop(moment(BEGIN + 6000));
  assert.deepEqual(had(clock, moment(BEGIN + 6000)), [["ada", 50], ["ben", 50], ["cem", 50]]);
});

test("a device that slept makes doubtful what lies across the sleep, and not what was tapped before it", () => {
  for (const apart of [-60_000, -101, 101, 60_000]) {
    const clock = started();
    clock.touch("ada", moment(BEGIN + 2000));
    const results = clock.results(moment(BEGIN + 5000, apart));
    assert.deepEqual(results.map(({ doubt }) => doubt), ["", "slept", "slept"]);
  }
});

test("a page that looks long after the end was not awake: nobody was there to tap", () => {
  const clock = started();
  clock.touch("ada", moment(BEGIN + 2000));
  const results = clock.results(moment(BEGIN + 5000 + LATE_MS + 1));
  assert.deepEqual(results.map(({ tenths, doubt }) => [tenths, doubt]), [[20, ""], [50, "slept"], [50, "slept"]]);
});

test("the first reason for doubt stays", () => {
  const clock = started();
  clock.doubt("hidden");
  clock.doubt("slept");
  assert.deepEqual(clock.results(moment(BEGIN + 5000, 9000)).map(({ doubt }) => doubt), ["hidden", "hidden", "hidden"]);
});

test("somebody who is not in the group cannot be tapped", () => {
  const clock = started();
  assert.equal(clock.touch("dora", moment(BEGIN + 1000)), false);
  assert.equal(new GroupClock(50, ["ada"]).touch("ada", moment(BEGIN)), false);
});

test("a target is typed in seconds, with one digit after the point or comma, of 2 s to 10 minutes", () => {
  assert.deepEqual(["5", " 7.5 ", "7,5", "2", "600"].map(targetOf), [50, 75, 75, 20, 6000]);
  assert.deepEqual(["", "1.9", "600.1", "-5", "5.55", "five", "5400"].map(targetOf), Array(7).fill(null));
});
