import assert from "node:assert/strict";
import test from "node:test";

import { load } from "../load.mjs";

const { newId } = await load("floor/ids.js");
const { DeviceTimes } = await load("floor/times.js");

const WALL = Date.parse("2026-03-02T17:00:00.000Z");
const timesAt = (wall = WALL, now = 5000) => new DeviceTimes({ clocks: () => ({ now, wall }), life: "life" });

test("an id is a UUID of version 7 whose first 48 bits are the time", () => {
  // RFC 9562, appendix A.6: 2022-02-22 14:22:22 in New York, 0x017F22E279B0.
  const id = newId(Date.parse("2022-02-22T19:22:22Z"));
  assert.match(id, /^017f22e2-79b0-7[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}$/);
});

test("ids are all different, and sort by the time of making", () => {
  const ids = Array.from({ length: 5000 }, (_, place) => newId(WALL + place));
  assert.equal(new Set(ids).size, 5000);
  assert.deepEqual([...ids].sort(), ids);
  assert.equal(new Set(Array.from({ length: 5000 }, () => newId(WALL))).size, 5000);
});

test("an act carries both clocks of its touch, and no offset before the server was heard", () => {
  const stamp = timesAt().stamp({ at: 1234.56, wall: WALL + 0.4 });
  assert.deepEqual(stamp, { device_at: "2026-03-02T17:00:00.000Z", offset_ms: null, life: "life", mono_ms: 1235 });
});

test("the offset is server minus device, from the middle of the way there and back", () => {
  const times = timesAt();
  times.heard("2026-03-02T20:00:00.150Z", WALL, WALL + 300);
  assert.equal(times.offsetMs, 3 * 3_600_000);
  assert.equal(times.stamp({ at: 0, wall: WALL }).offset_ms, 10_800_000);
});

test("a sharper answer replaces one that took longer, and not the other way round", () => {
  const times = timesAt();
  times.heard("2026-03-02T17:00:01.000Z", WALL, WALL + 4000); // -1 s, give or take 2
  times.heard("2026-03-02T17:00:00.100Z", WALL, WALL + 200); // 0, give or take 0.1
  assert.equal(times.offsetMs, 0);
  times.heard("2026-03-02T17:00:01.000Z", WALL, WALL + 4000);
  assert.equal(times.offsetMs, 0);
});

test("an answer that contradicts what is known says that the clock was set", () => {
  const times = timesAt();
  times.heard("2026-03-02T17:00:00.100Z", WALL, WALL + 200);
  times.heard("2026-03-02T19:00:04.000Z", WALL, WALL + 8000);
  assert.equal(times.offsetMs, 7_200_000);
});

test("a clock that was set while an answer was on its way, and an answer without a time, say nothing", () => {
  const times = timesAt();
  times.heard("2026-03-02T17:00:00Z", WALL, WALL - 3_600_000);
  times.heard("2026-03-02T17:00:00Z", WALL, WALL + 3_600_000);
  times.heard("yesterday", WALL, WALL + 10);
  assert.equal(times.offsetMs, null);
});

test("each loading of the page is a life of its own", () => {
  assert.notEqual(new DeviceTimes().life, new DeviceTimes().life);
});

test("the envelope has both clocks of the sending", () => {
  assert.deepEqual(timesAt().envelope(), { sent_at: "2026-03-02T17:00:00.000Z", life: "life", mono_ms: 5000 });
});
