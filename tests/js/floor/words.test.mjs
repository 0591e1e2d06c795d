import assert from "node:assert/strict";
import test from "node:test";

import { load } from "../load.mjs";

const words = await load("floor/words.js");
const { bodyOf, freshDraft, isBegun, nextDraft, tenthsOf } = await load("floor/draft.js");
const { routeOf, signOffAddress } = await load("floor/routes.js");

const result = {
  hold_tenths: 52,
  reps: 1,
  unbroken: true,
  grade: 0,
  angle_degrees: null,
  faults: [],
  missed: [],
  pain: false,
};

test("a result in the words of the rest of the site", () => {
  assert.equal(words.resultWords(result), "5.2 s");
  assert.equal(words.resultWords({ ...result, hold_tenths: 50, reps: 3 }), "3 × 5 s");
  assert.equal(words.resultWords({ ...result, hold_tenths: null, reps: 4, unbroken: false }), "4 reps, broken");
  assert.equal(words.resultWords({ ...result, hold_tenths: null }), "1 rep");
  assert.equal(words.resultWords({ ...result, angle_degrees: 90 }), "5.2 s at 90°");
  assert.equal(
    words.resultWords({ ...result, hold_tenths: null, grade: 2 }, { grades: ["chin", "chest"] }),
    "1 rep to the chest",
  );
});

test("how things stand: nothing where the page has just heard and nothing waits", () => {
  const at = "2026-03-02T17:02:00Z";
  const stand = (more) =>
    words.standWords({ at, zone: "Europe/Berlin", isOnline: true, waiting: 0, refused: 0, ...more });
  assert.equal(stand({}), "");
  assert.equal(stand({ isOnline: false, waiting: 2 }), "No network: as of 18:02, 2 waiting");
  assert.equal(stand({ refused: 1 }), "1 refused");
});

test("typed seconds are cut to tenths, whatever stands between", () => {
  assert.deepEqual(["5", "5,25", " 19.96 s", "0.09", "", "five", "-3"].map(tenthsOf), [
    50,
    52,
    199,
    0,
    null,
    null,
    null,
  ]);
});

test("a try takes help and form from its draft, and a doubtful time is timed only", () => {
  const draft = freshDraft("one", { assistance: "band", variant: "bent" });
  const step = { id: "one", is_hold: true };
  assert.equal(isBegun(draft, step), false);
  const body = bodyOf({ session: "s", athlete: "a", draft, step, more: { tenths: 52, doubt: "slept", faults: ["x"] } });
  assert.deepEqual(
    [body.assistance, body.variant, body.source, body.doubt, body.hold_tenths],
    ["band", "bent", "timed_only", "slept", 52],
  );
  assert.deepEqual(nextDraft({ ...draft, tenths: 50, note: "n", faults: ["x"] }), draft);
});

test("reps have no time", () => {
  const draft = { ...freshDraft("one", { assistance: "none", variant: "" }), reps: 4, tenths: 30 };
  const body = bodyOf({ session: "s", athlete: "a", draft, step: { id: "one", is_hold: false } });
  assert.deepEqual([body.hold_tenths, body.reps, body.source], [null, 4, "judged"]);
});

test("an address leads to its screen", () => {
  assert.deepEqual(routeOf(""), { name: "classes", params: {} });
  assert.deepEqual(routeOf("#/class/s/athlete/a"), { name: "board", params: { session: "s", athlete: "a" } });
  assert.deepEqual(routeOf("#/class/s/catch-up"), { name: "catch_up", params: { session: "s" } });
  assert.deepEqual(routeOf("#/class/s"), { name: "board", params: { session: "s", roster: false } });
  assert.deepEqual(routeOf("#/waiting"), { name: "waiting", params: {} });
  assert.deepEqual(routeOf("#/nowhere/x"), { name: "classes", params: {} });
});

test("a sign-off leads back to the same place", () => {
  const address = signOffAddress({ session: "s", athlete: "a", step: "t", gate: "finish", signer: "c" });
  assert.equal(address, "/sign-offs/a/t/finish/?next=%2Ffloor%2F%23%2Fclass%2Fs%2Fathlete%2Fa&signer=c");
});

test("a tile says what is missing without the asides that stand in the panel", () => {
  const due = "one clean hold of 5 s, to show it again";
  assert.equal(words.briefly(`${due} (due since 28 Oct 2026)`), due);
  assert.equal(words.briefly(`${due} (due since 28 Oct 2026); a coach's sign-off`), `${due}; a coach's sign-off`);
  const tries = "three more clean reps in a row";
  assert.equal(words.briefly(`${tries} (5 of 12 tries so far show 40 %, 80 % is asked)`), tries);
  assert.equal(words.briefly(`${tries} (0 of 1 try so far show 0 %, 80 % is asked)`), tries);
  for (const whole of ["two of: (a coach's sign-off), or (one clean rep)", "paused by a caution (no grip) until it is lifted"])
    assert.equal(words.briefly(whole), whole);
});
