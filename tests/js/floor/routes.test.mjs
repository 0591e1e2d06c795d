import assert from "node:assert/strict";
import { test } from "node:test";

import { classPlace, placeBefore, routeOf } from "../../../gymtrack/static/js/floor/routes.js";

test("a hand-over leads back to where the coach was, and never to itself", () => {
  const place = classPlace("s", "athlete", "a");
  assert.equal(placeBefore(place), place);
  assert.equal(placeBefore(""), "#/");
  for (const about of ["#/coach", "#/leave", "#/enrol"]) assert.equal(placeBefore(about), null);
  assert.deepEqual(routeOf(place), { name: "board", params: { session: "s", athlete: "a" } });
});

test("an address that no page of ours made leads to the classes, or to a class that nobody knows", () => {
  for (const hash of ["#/%E0", "#/%", "#/%E0%A4%A"]) assert.equal(routeOf(hash).name, "classes");
  assert.deepEqual(routeOf("#/class/%E0/athlete/%"), { name: "board", params: { session: "%E0", athlete: "%" } });
  assert.deepEqual(routeOf("#/class/a%20b").params.session, "a b");
});

test("an address may say at which step a panel opens, and a usual one says none", () => {
  const of = (...more) => routeOf(classPlace("s", "athlete", "a", ...more)).params;
  assert.deepEqual(of("p"), { session: "s", athlete: "a", step: "p" });
  assert.deepEqual(of(), { session: "s", athlete: "a" });
});
