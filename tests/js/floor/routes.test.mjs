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
