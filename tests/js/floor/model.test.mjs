import assert from "node:assert/strict";
import test from "node:test";

import { load } from "../load.mjs";

const model = await load("floor/model.js");

const step = (id, more = {}) => ({
  id,
  label: "1",
  name: `Step ${id}`,
  is_hold: true,
  faults: [{ code: "bent", name: "Arms bend", cue: "Long arms" }],
  checkpoints: [{ code: "grip", text: "Thumb around the bar." }],
  variants: [],
  grades: [],
  loads: ["hanging"],
  low_bar: false,
  ...more,
});

const today = (more = {}) => ({
  gym: { time_zone: "Europe/Berlin" },
  sessions: [
    {
      id: "s",
      name: "Monday",
      starts_at: "2026-03-02T17:00:00Z",
      ended_at: null,
      present: ["a", "b"],
      usual: ["c"],
      focus: null,
    },
  ],
  athletes: [
    { id: "a", number: 1, name: "Ada", guest: false },
    { id: "b", number: 2, name: "M. O.", guest: false },
    { id: "c", number: 3, name: "Cy", guest: false },
  ],
  steps: [step("one"), step("two"), step("other", { loads: ["support"] })],
  words: {
    assistances: [
      ["none", "no help"],
      ["band", "band"],
    ],
    sources: { judged: "judged", timed_only: "timed only" },
  },
  bar_checks: [],
  ...more,
});

const tile = (id, more = {}) => ({
  id,
  number: 1,
  name: id,
  step: "one",
  chosen: false,
  state: "working",
  word: "",
  missing: "3 more",
  back: "",
  instead_of: null,
  cue: "old cue",
  note: "",
  last: "",
  cautions: [],
  no_consent: [],
  with: { assistance: "band", variant: "" },
  open: [
    { step: "one", state: "working", missing: "3 more", assistance: "band", variant: "" },
    { step: "two", state: "ready", missing: "", assistance: "none", variant: "" },
  ],
  paused: [],
  waiting: [],
  ...more,
});

const state = (more = {}) => ({
  today: today(),
  board: { at: "2026-03-02T17:02:00Z", session: { ...today().sessions[0] }, tiles: [tile("a"), tile("b")], log: [] },
  entries: [],
  holders: { coach: { name: "Cleo" } },
  holder: "coach",
  ...more,
});

let made = 0;
const entry = (kind, body, more = {}) => ({
  id: `e${(made += 1)}`,
  kind,
  body,
  coach: "coach",
  device_at: "2026-03-02T17:05:00.000Z",
  after: [],
  state: "waiting",
  refusal: null,
  ...more,
});

const hold = (athlete, more = {}, rest = {}) =>
  entry(
    "attempt",
    {
      session: "s",
      athlete,
      step: "one",
      source: "judged",
      hold_tenths: 52,
      reps: 1,
      unbroken: true,
      assistance: "none",
      variant: "",
      faults: [],
      missed: [],
      effort: null,
      pain: false,
      grade: 0,
      angle_degrees: null,
      note: "",
      doubt: "",
      ...more,
    },
    rest,
  );

const shown = (given, places = ["a", "b"]) => model.tilesOf(given, model.sessionOf(given, "s"), places);

test("a try that waits is shown at once, with the server's word on what is missing left as it was", () => {
  const [ada, other] = shown(state({ entries: [hold("a")] }));
  assert.equal(ada.last_row.words, "5.2 s, clean");
  assert.equal(ada.last_row.status, "waiting");
  assert.equal(ada.waiting_count, 1);
  assert.equal(ada.missing, "3 more");
  assert.equal(other.waiting_count, 0);
});

test("a fault brings its cue in the place of the old one", () => {
  const [ada] = shown(state({ entries: [hold("a", { faults: ["bent"] })] }));
  assert.equal(ada.last_row.words, "5.2 s, Arms bend");
  assert.equal(ada.cue_now, "Long arms");
});

test("a mend takes the place of what it mends, and its own mend of it", () => {
  const first = hold("a");
  const mend = entry("mend", { attempt: first.id, ...model.resultOf(first.body, { faults: ["bent"] }) });
  const again = entry("mend", { attempt: mend.id, ...model.resultOf(first.body) });
  const rows = model.rowsOf(state({ entries: [first, mend, again] }));
  assert.deepEqual(
    rows.map(({ id, is_void: isVoid }) => [id, isVoid]),
    [
      [again.id, false],
      [mend.id, true],
      [first.id, true],
    ],
  );
  assert.equal(rows[0].words, "5.2 s, clean");
  assert.equal(rows[0].athlete, "a");
});

test("a void that was refused leaves the try standing, with the reason", () => {
  const first = hold("a");
  const refusal = { code: "right", reason: "You may not." };
  const rows = model.rowsOf(
    state({ entries: [first, entry("void", { attempt: first.id, reason: "x" }, { state: "refused", refusal })] }),
  );
  assert.equal(rows[0].is_void, false);
  assert.equal(rows[0].refusal.reason, "You may not.");
});

test("a move shows the try at the other athlete", () => {
  const first = hold("a");
  const given = state({
    entries: [first, entry("move", { attempt: first.id, athlete: "b", step: "one", closed_reason: "" })],
  });
  const [ada, other] = shown(given);
  assert.equal(ada.last_row, null);
  assert.equal(other.last_row.words, "5.2 s, clean");
});

test("pain pauses every step with the same load at once, and stays so when the entry is refused", () => {
  for (const how of ["waiting", "refused"]) {
    const given = state({ entries: [hold("a", { pain: true }, { state: how })] });
    assert.deepEqual([...model.pausedOf(given, "a")].sort(), ["one", "two"]);
    assert.equal(shown(given)[0].isPaused, true);
    assert.equal(model.pausedOf(given, "b").size, 0);
  }
});

test("who did not agree to it is stopped at each step that inverts, by the day alone and by the server's answer", () => {
  const steps = [step("one"), step("two", { inverted: true })];
  const people = (more) => [{ id: "a", number: 1, name: "", guest: false, ...more }, ...today().athletes.slice(1)];
  const byDay = state({ today: today({ steps, athletes: people({ upside_down: false }) }) });
  assert.deepEqual([...model.stoppedOf(byDay, "a")], ["two"]);
  assert.deepEqual([...model.pausedOf(byDay, "a")], ["two"]);
  assert.equal(model.stoppedOf(byDay, "b").size, 0);
  const unknown = shown({ ...byDay, board: null })[0];
  assert.deepEqual(unknown.no_consent, ["no consent to going upside down"]);
  const told = { ...state().board, tiles: [tile("a", { stopped: ["one"], paused: ["one"] }), tile("b")] };
  const [ada, other] = shown(state({ board: told }));
  assert.equal(ada.isStopped && ada.isPaused, true);
  assert.equal(other.isStopped || other.isPaused, false);
});

test("a guest of this device stays the right way up where consent is asked, until somebody wrote it down", () => {
  const steps = [step("one"), step("two", { inverted: true })];
  const guest = entry("guest", { session: "s", name: "Gus", is_minor: false });
  for (const asks of [true, false]) {
    const gym = { time_zone: "Europe/Berlin", asks_consent: asks };
    const given = state({ today: today({ gym, steps }), entries: [guest] });
    assert.deepEqual([...model.stoppedOf(given, guest.id)], asks ? ["two"] : []);
  }
});

test("a caution of this device pauses each step with that load at once, says so, and is for that athlete alone", () => {
  const label = { number: 1, words: "no inversion until it is lifted" };
  const body = { session: "s", athlete: "a", loads: ["hanging"], until: "lifted", reason: "" };
  for (const how of ["waiting", "refused"]) {
    const given = state({ entries: [entry("caution", body, { state: how, label })] });
    assert.deepEqual([...model.pausedOf(given, "a")].sort(), ["one", "two"]);
    const [ada, other] = shown(given);
    assert.equal(ada.isPaused && ada.isHalted, true);
    const where = { waiting: "here only, until the coach's code is typed", refused: "refused: see what waits" }[how];
    assert.deepEqual(ada.cautions.at(-1), `${label.words} (${where})`);
    assert.equal(other.isHalted, false);
    assert.equal(model.pausedOf(given, "b").size, 0);
  }
});

test("a caution that is on its way is told without more words", () => {
  const label = { number: 1, words: "no hanging today" };
  const body = { session: "s", athlete: "a", loads: ["hanging"], until: "lifted", reason: "" };
  const holders = { coach: { name: "Cleo", confirmed: true } };
  const [ada] = shown(state({ holders, entries: [entry("caution", body, { label })] }));
  assert.deepEqual(ada.cautions.at(-1), label.words);
});

test("a tile whose step in hand was not tried yet has the last try of the class at another step", () => {
  const tried = hold("a");
  const given = state({ entries: [tried], board: { ...state().board, tiles: [tile("a", { step: "two" }), tile("b")] } });
  const [ada, other] = shown(given);
  assert.deepEqual([ada.last_row, ada.row_before.id, other.row_before], [null, tried.id, null]);
  assert.equal(shown(state({ entries: [tried] }))[0].row_before, null);
});

test("a caution for a day pauses nothing on the next one", () => {
  const body = { session: "s", athlete: "a", loads: ["hanging"], until: "day", reason: "" };
  const label = { number: 1, words: "no hanging today" };
  const today = new Date().toISOString();
  const yesterday = new Date(Date.now() - 25 * 3_600_000).toISOString();
  const on = (at) => model.pausedOf(state({ entries: [entry("caution", body, { device_at: at, label })] }), "a").size;
  assert.deepEqual([on(today), on(yesterday)], [2, 0]);
});

test("torn skin is shown and pauses nothing", () => {
  const given = state({ entries: [entry("skin", { session: "s", athlete: "a" })] });
  const [ada, other] = shown(given);
  assert.deepEqual([ada.skin, ada.isPaused, other.skin], ["torn skin", false, ""]);
});

test("who came, who went and a guest are here at once, and a refused one is not", () => {
  const guest = entry("guest", { session: "s", name: "Gus", is_minor: false });
  const entries = [entry("here", { session: "s", athlete: "c" }), entry("gone", { session: "s", athlete: "b" }), guest];
  const given = state({ entries: [...entries, entry("here", { session: "s", athlete: "z" }, { state: "refused" })] });
  assert.deepEqual([...model.presentOf(given, model.sessionOf(given, "s"))], ["a", "c", guest.id]);
  assert.equal(model.athletesOf(given).at(-1).name, "G.");
});

test("nobody's tile moves: who comes later stands behind, who went keeps the place", () => {
  assert.deepEqual(model.placesOf(["b", "a"], new Set(["a", "c", "b"])), ["b", "a", "c"]);
  assert.deepEqual(model.placesOf(["b", "a"], new Set(["b"])), ["b", "a"]);
});

test("a class that was begun here is there before the server knows of it, with last time's people", () => {
  const start = entry("start", { name: "Monday", focus: "two" });
  const given = state({ board: null, entries: [start] });
  const session = model.sessionOf(given, start.id);
  assert.deepEqual([session.focus, session.usual], ["two", ["a", "b"]]);
  assert.equal(model.tilesOf(given, session, ["a"])[0].step, "two");
});

test("a class of which this device knows nothing has nobody", () => {
  const given = state({ board: null });
  assert.equal(model.sessionOf(given, "unknown"), null);
  assert.deepEqual(model.tilesOf(given, null, []), []);
});

test("another step in hand brings what the server said of that one alone", () => {
  const [ada] = shown(state({ entries: [entry("step", { session: "s", athlete: "a", step: "two" })] }));
  assert.deepEqual([ada.step, ada.state, ada.missing, ada.cue, ada.with.assistance], ["two", "ready", "", "", "none"]);
});

test("who goes on with the other step after weeks away stays with it, whatever an older answer proposes", () => {
  const back = { back: "back after 24 days: begin with 1 One", instead_of: "two" };
  const board = { ...state().board, tiles: [tile("a", back)] };
  const session = board.session;
  const handed = (entries) => model.tilesOf(state({ board, entries }), session, ["a"])[0];
  assert.deepEqual([handed([]).step, handed([]).instead_of], ["one", "two"]);
  const chosen = handed([entry("step", { session: "s", athlete: "a", step: "two" })]);
  assert.deepEqual([chosen.step, chosen.back, chosen.instead_of], ["two", "", null]);
});

test("help is that of the last judged try, else what the server remembers, and never silently none", () => {
  const given = tile("a");
  assert.equal(model.helpOf(given, "one", []).assistance, "band");
  const rows = model.rowsOf(state({ entries: [hold("a", { assistance: "none" })] }));
  assert.equal(model.helpOf(given, "one", rows).assistance, "none");
  assert.equal(model.helpOf(given, "two", rows).assistance, "none");
});

test("a bar that was looked over yesterday opens nothing today", () => {
  const now = Date.parse("2026-03-02T17:00:00Z");
  const check = (at) => today({ bar_checks: [{ bar: "low", at, by: "Cleo" }] });
  assert.equal(model.barCheckOf(state({ today: check("2026-03-01T17:00:00Z") }), now), null);
  assert.equal(model.barCheckOf(state({ today: check("2026-03-02T08:00:00Z") }), now).by, "Cleo");
  const here = state({ entries: [entry("bar", { session: "s", bar: "low", lines: [] })] });
  assert.deepEqual(model.barCheckOf(here, now), { bar: "low", at: "2026-03-02T17:05:00.000Z", by: "Cleo" });
});

test("an act names what has to be stored before it", () => {
  const start = entry("start", { name: "x", focus: null });
  const guest = entry("guest", { session: start.id, name: "Gus", is_minor: false });
  const bar = entry("bar", { session: start.id, bar: "low", lines: [] });
  const all = [start, guest, bar, entry("here", { session: start.id, athlete: "a" })];
  assert.deepEqual(model.needs(all, { session: start.id, athlete: guest.id, isLowBar: true }), [
    start.id,
    guest.id,
    bar.id,
  ]);
  assert.deepEqual(model.needs(all, { session: "s", athlete: "a" }), []);
});

test("a device whose clock is wrong by a day asks for today's bar all the same, and shows no try as of another hour", () => {
  const day = 24 * 3_600_000;
  const iso = (ms) => new Date(ms).toISOString();
  const checked = (ms) => ({ ...today(), bar_checks: [{ bar: "low", at: iso(ms), by: "Cleo" }] });
  const behind = { offsetMs: day }; // the server is a day ahead of this clock
  assert.equal(model.barCheckOf(state({ ...behind, today: checked(Date.now()) })), null); // of yesterday
  assert.equal(model.barCheckOf(state({ ...behind, today: checked(Date.now() + day) })).bar, "low");
  const bar = entry("bar", { session: "s", bar: "mine" }, { device_at: iso(Date.now()), offset_ms: day });
  assert.equal(model.barCheckOf(state({ ...behind, entries: [bar] })).bar, "mine");
  const tried = hold("a", {}, { device_at: "2026-03-01T17:05:00.000Z", offset_ms: day });
  assert.equal(model.rowsOf(state({ entries: [tried] }))[0].at, "2026-03-02T17:05:00.000Z");
});
