import assert from "node:assert/strict";
import test from "node:test";

import { load } from "../load.mjs";

const { boardAfter, isOlder, newsAfter, todayAfter } = await load("floor/absorb.js");

const board = {
  at: "2026-03-02T17:00:00Z",
  session: { id: "s", present: ["a", "b"], ended_at: null },
  tiles: [
    { id: "a", missing: "2 more" },
    { id: "b", missing: "1 more" },
  ],
  log: [{ id: "old", at: "2026-03-02T16:59:00Z" }],
};
const stored = (...ids) => ids.map((id) => ({ id, status: "stored", news: id === "x" ? ["Passed: 1 Hang"] : [] }));
const entry = (id, kind, body) => ({ id, kind, body, device_at: "2026-03-02T17:01:00Z" });

test("an answer's tile takes its place and moves no other", () => {
  const answer = {
    at: "2026-03-02T17:01:00Z",
    receipts: stored("x"),
    tiles: [{ id: "b", missing: "" }],
    log: [{ id: "x", at: "2026-03-02T17:00:30Z" }],
  };
  const after = boardAfter(board, answer, [entry("x", "attempt", { session: "s", athlete: "b" })]);
  assert.deepEqual(after.tiles, [
    { id: "a", missing: "2 more" },
    { id: "b", missing: "" },
  ]);
  assert.deepEqual(
    after.log.map(({ id }) => id),
    ["x", "old"],
  );
  assert.deepEqual(newsAfter({}, answer), { x: ["Passed: 1 Hang"] });
});

test("an answer about another class leaves this one alone", () => {
  const answer = { at: "2026-03-02T17:01:00Z", receipts: stored("x"), tiles: [{ id: "z" }], log: [] };
  assert.equal(boardAfter(board, answer, [entry("x", "attempt", { session: "other" })]), board);
});

test("only what a receipt names as stored changes who is here", () => {
  const entries = [
    entry("h", "here", { session: "s", athlete: "c" }),
    entry("g", "gone", { session: "s", athlete: "a" }),
  ];
  const answer = {
    at: "2026-03-02T17:01:00Z",
    receipts: [...stored("h"), { id: "g", status: "refused" }],
    tiles: [],
    log: [],
  };
  assert.deepEqual(boardAfter(board, answer, entries).session.present, ["a", "b", "c"]);
});

test("the day knows classes, guests and bars as soon as they are stored", () => {
  const today = { sessions: [board.session], athletes: [], bar_checks: [] };
  const entries = [
    entry("n", "start", { name: "New", focus: null }),
    entry("u", "guest", { session: "n", name: "Gus" }),
    entry("r", "bar", { session: "s", bar: "low" }),
  ];
  const after = todayAfter(today, { receipts: stored("n", "u", "r") }, entries);
  assert.deepEqual(
    after.sessions.map(({ id, present }) => [id, present]),
    [
      ["n", ["u"]],
      ["s", ["a", "b"]],
    ],
  );
  assert.equal(after.athletes[0].name, "G."); // as the server shows who has agreed to nothing
  assert.equal(after.bar_checks[0].bar, "low");
});

test("an answer that was asked for before a result was stored is older", () => {
  assert.equal(isOlder("2026-03-02T17:00:00Z", "2026-03-02T17:00:01+00:00"), true);
  assert.equal(isOlder("2026-03-02T17:00:01Z", "2026-03-02T17:00:01+00:00"), false);
  assert.equal(isOlder("2026-03-02T17:00:01Z", undefined), false);
});
