// 500 holds through 50 faults, in a simulated world and with the page's own code: for every seed exactly 500 rows, none
// lost, none twice, each at its right time. One world alone: FLOOR_SEED=17 node --test tests/js/floor/protocol.test.mjs
import assert from "node:assert/strict";
import test from "node:test";

import { Class } from "./class.mjs";

const BUDGET_MS = 15_000;
const LEAST_SEEDS = 5;
const FINAL = ["mistakes", "right"]; // what this server refuses for good
const only = process.env.FLOOR_SEED;

function* seeds() {
  const end = Date.now() + BUDGET_MS;
  if (only) yield Number(only);
  else for (let seed = 1; seed <= LEAST_SEEDS || Date.now() < end; seed += 1) yield seed;
}

/** All that was claimed is at the server or on the device, and where it was refused with the reason. */
function checkAllThere({ claimed, misdeeds, world }) {
  assert.deepEqual(misdeeds, [], "left the outbox without being stored");
  assert.deepEqual(world.server.hasty, [], "sent before what it is about was stored");
  assert.deepEqual(world.network.misdeeds, []);
  for (const [id, { device, entry }] of claimed) {
    const kept = device.entries.find((other) => other.id === id);
    assert.ok(world.server.acts.has(id) || kept, `lost: ${JSON.stringify(entry)}`);
    if (kept?.state === "refused") assert.ok(kept.refusal.code && kept.refusal.reason, "refused without a reason");
    assert.notEqual(kept?.refusal?.code, "taken");
  }
}

/** What waits behind nothing is not held up by what was refused: only what the server objects to is left. */
function checkOnlyRefusedLeft({ devices }) {
  for (const { entries } of devices) {
    const refused = entries.filter(({ state }) => state === "refused").map(({ refusal }) => refusal.code);
    for (const code of refused) assert.ok(FINAL.includes(code), code);
    const here = new Set(entries.map((entry) => entry.id));
    for (const entry of entries.filter(({ state }) => state === "waiting"))
      assert.ok(entry.body.chokes || entry.after.some((id) => here.has(id)), `held up: ${JSON.stringify(entry)}`);
  }
}

function checkRows({ holds, claimed, world, correctionOf }) {
  const rows = [...world.server.rows.values()];
  const attempts = rows.filter((row) => row.kind === "attempt").map((row) => row.hold);
  assert.deepEqual(attempts.sort((one, other) => one - other), holds, "each hold is one row");
  const corrected = rows.filter((row) => row.voidedBy);
  assert.equal(corrected.length, rows.filter((row) => correctionOf(row.id)).length, "corrected: those and no others");
  for (const row of corrected) assert.equal(claimed.get(row.voidedBy).entry.kind, correctionOf(row.id));
}

const within = (moments, from, to) => moments.some((moment) => moment >= from && moment <= to);

/** Whether what an act carries can tell its moment at all, and how exactly. */
function exactness({ act, sent, received, sentLife }, { device, truth }) {
  const up = received - sent;
  const wasSet = within(device.sets, truth.at, sent);
  const slept = within(device.sleeps, truth.at, sent);
  const offsetError = act.offset_ms === null ? Infinity : Math.abs(act.offset_ms - truth.offset);
  if (act.life !== sentLife) return Math.min(offsetError, wasSet || act.offset_ms !== null ? Infinity : up);
  if (!slept) return Math.max(up, Math.min(offsetError, up + 2000)); // by the offset, where that is near enough
  return wasSet || offsetError > 900 || up > 900 ? Infinity : offsetError;
}

/** Once the server was heard an act carries an offset, and a right one unless the clock was set since. */
function checkOffset(act, { device, truth }) {
  if (truth.heardAt === null || within(device.sets, truth.heardAt - 40_000, truth.at)) return;
  assert.notEqual(act.offset_ms, null, "the offset was known when it was made");
  assert.ok(Math.abs(act.offset_ms - truth.offset) <= 10_000, `offset ${act.offset_ms} and not ${truth.offset}`);
}

/** Returns how far each moment is from the truth, where it can be known. */
function checkTimes({ claimed, world }) {
  const errors = [];
  for (const [id, claim] of claimed) {
    const stored = world.server.acts.get(id);
    checkOffset(stored.act, claim);
    const exact = exactness(stored, claim);
    const error = Math.abs(stored.receipt.happened_at - claim.truth.at);
    if (exact < Infinity) errors.push(error);
    assert.ok(error <= exact + 5, `${error} ms off, ${exact} allowed: ${JSON.stringify(stored)}`);
  }
  return { known: errors.length / claimed.size, median: errors.sort((one, other) => one - other)[errors.length >> 1] };
}

async function runOnce(seed) {
  const lesson = new Class(seed);
  try {
    await lesson.run();
    checkAllThere(lesson);
    await lesson.settleDown();
    checkAllThere(lesson);
    checkOnlyRefusedLeft(lesson);
    await lesson.putRight();
    checkAllThere(lesson);
    checkRows(lesson);
    return { seed, lost: lesson.lost, ...checkTimes(lesson), faults: lesson.taken };
  } catch (error) {
    error.message = `seed ${seed}: ${error.message}`;
    throw error;
  } finally {
    lesson.close();
  }
}

test("500 holds through 50 faults are 500 rows, whatever the seed", async (t) => {
  const runs = [];
  for (const seed of seeds()) runs.push(await runOnce(seed));
  const meanOf = (name) => runs.reduce((sum, run) => sum + run[name], 0) / runs.length;
  const [known, median] = [meanOf("known"), meanOf("median")];
  const told = `moments that could be known ${(known * 100).toFixed(1)} %, median error ${median.toFixed()} ms`;
  t.diagnostic(`${runs.length} seeds; ${told}`);
  for (const { faults } of runs) assert.equal([...faults.values()].reduce((sum, count) => sum + count, 0), 50);
  assert.ok(known > 0.9, "most moments can be known");
  assert.ok(median < 500, "and most are as good as the network; each one's own bound is in checkTimes");
});
