import assert from "node:assert/strict";
import test from "node:test";

import { load } from "../load.mjs";

const { bySkill } = await load("floor/step_options.js");

test("steps stand under their skills, in the order in which each skill first comes", () => {
  const steps = [["a", "Pullover"], ["b", "Handstand"], ["c", "Pullover"]].map(([id, skill]) => ({ id, skill }));
  const told = bySkill(steps).map(({ skill, steps: own }) => [skill, own.map(({ id }) => id)]);
  assert.deepEqual(told, [["Pullover", ["a", "c"]], ["Handstand", ["b"]]]);
  assert.deepEqual(bySkill([]), []);
});
