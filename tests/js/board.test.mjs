import assert from "node:assert/strict";
import { readFile } from "node:fs/promises";
import test from "node:test";

// A data: address has no neighbours, so the module that the board needs is handed to it by a whole address.
const folder = new URL("../../gymtrack/static/js/", import.meta.url);
const address = (source) => `data:text/javascript,${encodeURIComponent(source)}`;
const clock = address(await readFile(new URL("hold_clock.js", folder), "utf8"));
const source = (await readFile(new URL("board.js", folder), "utf8")).replace("./hold_clock.js", clock);
const { matches } = await import(address(source));

test("a row is found by part of its name or number, whatever the case", () => {
  assert.equal(matches("12 Πηνελόπη Γεωργίου", "πηνε"), true);
  assert.equal(matches("12 Ada Lindqvist", " LIND "), true);
  assert.equal(matches("12 Ada Lindqvist", "12"), true);
  assert.equal(matches("12 Ada Lindqvist", ""), true);
});

test("a row without the words is not", () => {
  assert.equal(matches("12 Ada Lindqvist", "13"), false);
});
