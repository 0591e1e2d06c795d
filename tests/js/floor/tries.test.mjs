import assert from "node:assert/strict";
import test from "node:test";

import { load } from "../load.mjs";

const { before, cannotHang, cautionsFor, judgedOf, lately, tryOf, without } = await load("floor/tries.js");
const { changesOf, textOf, whyHere } = await load("floor/waiting_words.js");
const { outboxWords } = await load("floor/leave_screen.js");

const STEP = { id: "s", label: "1", name: "Hang", is_hold: true, faults: [], checkpoints: [], variants: [], grades: [], loads: [] };
const today = { steps: [STEP, { ...STEP, id: "r", is_hold: false }, { ...STEP, id: "low", low_bar: true, cautions: ["Mats."], getting_down: "Feet first." }] };
const tile = { id: "ada", number: 7, name: "Ada", step: "s", state: "working", with: { assistance: "band", variant: "" }, cautions: [], no_consent: [], isHere: true };
const moment = { at: 5000, wall: 1_780_000_000_000 };

test("a try carries every field, with the help that the tile shows", () => {
  const entries = [{ id: "class", kind: "start", body: {} }, { id: "other", kind: "attempt", body: {} }];
  const act = tryOf({ today, entries }, "class", tile, { source: "timed_only", hold_tenths: 50, doubt: "slept", moment });
  assert.deepEqual(act.body, {
    session: "class", athlete: "ada", step: "s", source: "timed_only", hold_tenths: 50, reps: 1, unbroken: true, assistance: "band",
    variant: "", faults: [], missed: [], effort: null, pain: false, grade: 0, angle_degrees: null, closed_reason: "", note: "", doubt: "slept",
  });
  assert.deepEqual(act.after, ["class"]); // a class that began on this device is stored first
  assert.deepEqual(act.label, { number: "7", words: "5 s, timed only" });
});

test("judged is the same try entered again, after the first", () => {
  const row = { id: "a1", athlete: "ada", step: "s", source: "timed_only", hold_tenths: 50, reps: 1, faults: [], missed: [], doubt: "slept" };
  const act = judgedOf({ today, entries: [{ id: "a1", kind: "attempt", body: {} }] }, row, tile, moment);
  assert.equal(act.kind, "mend");
  assert.deepEqual([act.body.attempt, act.body.source, act.body.hold_tenths, act.body.doubt], ["a1", "judged", 50, ""]);
  assert.deepEqual(act.after, ["a1"]);
});

test("the group clock is for open holds that are not paused", () => {
  const say = (more, bar = null) => cannotHang({ today }, { ...tile, ...more }, bar);
  assert.equal(say({}), "");
  assert.equal(say({ step: "r" }), "not a hold");
  assert.equal(say({ state: "closed" }), "not open yet");
  assert.equal(say({ isPaused: true }), "paused");
  assert.equal(say({ step: null }), "no step in hand");
  assert.equal(say({ step: "low" }), "look the bar over first");
  assert.equal(say({ step: "low" }, { bar: "1" }), "");
});

test("cautions stand once a step, with how to get down, and then those of people", () => {
  const tiles = [{ ...tile, step: "low" }, { ...tile, id: "ben", name: "Ben", step: "low", cautions: ["no inversion"] }, tile];
  assert.deepEqual(cautionsFor({ today }, tiles), [
    { title: "1 Hang", lines: ["Mats.", "Getting down. Feet first."] },
    { title: "7 Ben", lines: ["no inversion"] },
  ]);
});

test("lately is the last minutes without what was taken back, and quiet who has nothing in it", () => {
  const at = (minutes) => new Date(moment.wall - minutes * 60_000).toISOString();
  const rows = [
    { athlete: "ada", at: at(2), status: "stored" },
    { athlete: "ben", at: at(3), status: "stored", is_void: true },
    { athlete: "cem", at: at(11), status: "stored" },
    { athlete: "dan", at: at(1), status: "refused" },
  ];
  assert.deepEqual(lately(rows, moment.wall, 10).map(({ athlete }) => athlete), ["ada", "dan"]);
  const tiles = ["ada", "ben", "cem", "dan", "eve"].map((id) => ({ id, isHere: id !== "eve" }));
  assert.deepEqual(without(tiles, rows).map(({ id }) => id), ["ben", "dan"]);
});

test("a moment some minutes ago is so on both clocks", () => {
  assert.deepEqual(before({ at: 900_000, wall: 2_000_000 }, 5), { at: 600_000, wall: 1_700_000 });
});

// ---- What waits -----------------------------------------------------------------------------------------------

const holders = { ada: { name: "Ada", confirmed: true }, ben: { name: "Ben", confirmed: false } };
const entry = { id: "1", kind: "attempt", coach: "ada", state: "waiting", refusal: null, after: [], body: {} };
const why = (one, { entries = [], online = true } = {}) => whyHere(one, { entries: [one, ...entries], holders, online });

test("each entry says why it is still here", () => {
  assert.equal(why(entry).words, "On its way.");
  assert.equal(why(entry, { online: false }).words, "Waits for the network.");
  assert.deepEqual(why({ ...entry, coach: "ben" }), { words: "Waits for the code of Ben.", isRefused: false, mayGo: true });
  const ahead = { ...entry, id: "0" };
  assert.equal(why({ ...entry, after: ["0"] }, { entries: [ahead] }).words, "Goes right after the entry that it is about.");
  const stuck = why({ ...entry, after: ["0"] }, { entries: [{ ...ahead, state: "refused" }] });
  assert.match(stuck.words, /refused: put that one right/);
  assert.equal(stuck.mayGo, true);
});

test("a refusal is told with its reason and every mistake, each once", () => {
  const refusal = { reason: "It cannot be stored.", mistakes: [{ field: "reps", sentence: "Too many reps." }, { sentence: "Too many reps." }] };
  const said = why({ ...entry, state: "refused", refusal });
  assert.deepEqual(said, { words: "It cannot be stored. Too many reps.", isRefused: true, mayGo: true });
  assert.equal(why({ ...entry, state: "refused", refusal: { reason: "" } }).words, "The server refused it.");
});

test("what is on its way cannot be taken back: the server may have it", () => {
  assert.equal(why(entry).mayGo, false);
  assert.equal(why({ ...entry, refusal: { reason: "Not yet.", times: 3 } }).mayGo, false);
});

test("typed texts change the fields of that kind of act alone", () => {
  const typed = { athlete: "cem", seconds: "7,5", reps: "2", name: "ignored" };
  assert.deepEqual(changesOf(entry, typed), { changes: { athlete: "cem", hold_tenths: 75, reps: 2 } });
  assert.deepEqual(changesOf({ ...entry, kind: "start" }, { name: " Late class " }), { changes: { name: "Late class" } });
  assert.deepEqual(changesOf(entry, { seconds: "" }), { changes: { hold_tenths: null } });
  assert.match(changesOf(entry, { seconds: "ninety" }).mistake, /number such as 7\.5/);
  assert.match(changesOf(entry, { reps: "-3" }).mistake, /whole number/);
  assert.equal(textOf({ hold_tenths: 75 }, "seconds"), "7.5");
  assert.equal(textOf({ hold_tenths: null }, "seconds"), "");
});

test("signing out says what is in the outbox, and nothing where that is empty", () => {
  assert.equal(outboxWords({ waiting: 0, refused: 0 }), "");
  assert.equal(outboxWords({ waiting: 1, refused: 0 }), "1 entry still waits to be sent");
  assert.equal(outboxWords({ waiting: 3, refused: 2 }), "3 entries still wait to be sent, and 2 entries were refused");
});
