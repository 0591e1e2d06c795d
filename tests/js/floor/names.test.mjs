import assert from "node:assert/strict";
import { test } from "node:test";

import { boardAfter, todayAfter } from "../../../gymtrack/static/js/floor/absorb.js";
import { athletesOf } from "../../../gymtrack/static/js/floor/model.js";
import { guestName, initials } from "../../../gymtrack/static/js/floor/names.js";
import { exportText } from "../../../gymtrack/static/js/floor/outbox.js";

const entry = (is_minor) => ({
  id: "g",
  kind: "guest",
  device_at: "2026-03-02T17:00:00.000Z",
  body: { session: "s", name: "Ana Lind", is_minor },
});

test("initials are those that the server makes", () => {
  const known = { "Ana Lind": "A. L.", "王小明": "王.", "": "?", "  ": "?", "ana  b c d": "A. B. C.", "Ana (Lind)": "A." };
  for (const [name, expected] of Object.entries(known)) assert.equal(initials(name), expected);
});

test("a guest of any age stands by initials before the server has answered, as after it", () => {
  for (const isMinor of [true, false]) assert.equal(guestName(entry(isMinor).body), "A. L.");
  assert.equal(athletesOf({ today: null, entries: [entry(true)] })[0].name, "A. L.");
});

test("no minor's whole name stands in what the device keeps of an answer, nor in what is exported", () => {
  const answer = { at: "2026-03-02T17:00:01Z", receipts: [{ id: "g", status: "stored" }] };
  const today = todayAfter({ athletes: [], sessions: [], bar_checks: [] }, answer, [entry(true)]);
  assert.equal(today.athletes[0].name, "A. L.");
  const board = { at: "2026-03-02T17:00:00Z", session: { id: "s", present: [] }, tiles: [], log: [] };
  const kept = JSON.stringify([boardAfter(board, answer, [entry(true)]), exportText([entry(true)])]);
  assert.ok(!kept.includes("Lind"), kept);
  assert.ok(kept.includes("A. L."), kept);
  assert.ok(exportText([entry(false)]).includes("Ana Lind"));
});
