import assert from "node:assert/strict";
import test from "node:test";

import { load } from "./load.mjs";

const wall = await load("wall.js");
const rotation = await load("floor/rotation.js");
const at = (minutes, second = 0) => new Date(Date.UTC(2026, 2, 2, 18, minutes, second)).toISOString();
const ms = (minutes, second = 0) => Date.parse(at(minutes, second));

test("the wall shows the last turn that has begun, and the first one before any has", () => {
  const turns = [{}, { begins: at(5) }, { begins: at(15) }];
  assert.deepEqual([0, 4.99, 5, 14, 15, 600].map((minutes) => wall.turnAt(turns, ms(0) + minutes * 60_000)), [0, 0, 1, 1, 2, 2]);
});

test("what is left is told in whole seconds, and is nothing when the time has come", () => {
  assert.equal(wall.leftWords(at(15), ms(10, 55)), "4:05");
  assert.equal(wall.leftWords(at(15), ms(14, 59) + 999), "0:01");
  assert.equal(wall.leftWords(at(15), ms(15)), "0:00");
  assert.equal(wall.leftWords(at(15), ms(16)), "0:00");
});

test("wall, class page and tablet tell the same time left", () => {
  for (const second of [0, 1, 17, 59]) assert.equal(wall.leftWords(at(15), ms(9, second)), rotation.leftWords(at(15), ms(9, second)));
});

test("the clock is the gym's, whatever zone the screen is in", () => {
  assert.equal(wall.clockWords(ms(0), "Europe/Berlin"), "19:00");
  assert.equal(wall.clockWords(ms(0), "America/New_York"), "13:00");
});

test("columns that do not fit make further pages", () => {
  const pages = [[1000, 1000], [990, 1000], [1001, 1000], [2030, 1000], [2031, 1000]].map(([wide, frame]) => wall.pagesIn(wide, frame, 30));
  assert.deepEqual(pages, [1, 1, 1, 2, 2]);
  assert.equal(wall.pagesIn(2062, 1000, 30), 3);
});
