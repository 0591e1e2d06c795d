import assert from "node:assert/strict";
import test from "node:test";

import { load } from "../load.mjs";

const { Points, SAME_PX } = await load("angles/points.js");
const { Viewport } = await load("angles/viewport.js");

const JOINT = ["Hip", "Shoulder", "Wrist"];

function asked(names = JOINT) {
  const points = new Points(5);
  points.askFor(names);
  return points;
}

test("taps go to the points in their order, and then to the one in hand", () => {
  const points = asked();
  assert.equal(points.chosen, "Hip");
  assert.deepEqual([[10, 500], [10, 300], [10, 90]].map(([x, y]) => points.tap({ x, y }, 1)), JOINT);
  assert.ok(points.isWhole);
  assert.equal(points.chosen, "Wrist");
  points.tap({ x: 200, y: 90 }, 1);
  assert.deepEqual({ ...points.at("Wrist") }, { x: 200, y: 90, off: 5 });
});

test("a tap near to another point takes that in hand, and the next tap moves it", () => {
  const points = asked();
  for (const place of [{ x: 10, y: 500 }, { x: 10, y: 300 }, { x: 10, y: 90 }]) points.tap(place, 1);
  assert.equal(points.tap({ x: 10 + SAME_PX, y: 500 }, 1), "");
  assert.equal(points.chosen, "Hip");
  assert.equal(points.at("Hip").x, 10);
  assert.equal(points.tap({ x: 14, y: 500 }, 1), "Hip"); // near to itself: that is a small move
  assert.equal(points.at("Hip").x, 14);
});

test("while points are missing a tap near to another puts the next one there", () => {
  const points = asked();
  points.tap({ x: 10, y: 500 }, 1);
  points.tap({ x: 12, y: 500 }, 1);
  assert.equal(points.at("Shoulder").x, 12);
});

test("nearness is the screen's: from nearer by, the same points are far apart", () => {
  const points = asked(["Hip", "Ankle"]);
  points.tap({ x: 0, y: 0 }, 1);
  points.tap({ x: 20, y: 0 }, 1);
  assert.equal(points.tap({ x: 1, y: 0 }, 8), "");
  points.choose("Ankle");
  assert.equal(points.tap({ x: 5, y: 0 }, 8), "Ankle");
});

test("a tap's error is that of the screen at that moment, and never under a pixel of the picture", () => {
  const points = asked();
  points.tap({ x: 0, y: 0 }, 0.25);
  points.tap({ x: 90, y: 0 }, 2);
  points.tap({ x: 90, y: 90 }, 16);
  assert.deepEqual(points.placed.map((point) => point.off), [20, 2.5, 1]);
});

test("a joint that two readings share stays where it was tapped", () => {
  const points = asked();
  for (const place of [{ x: 10, y: 500 }, { x: 10, y: 300 }, { x: 10, y: 90 }]) points.tap(place, 1);
  points.askFor(["Shoulder", "Hip", "Knee"]);
  assert.equal(points.chosen, "Knee");
  assert.deepEqual(points.placed.map((point) => point.name), ["Shoulder", "Hip"]);
  points.clear();
  assert.deepEqual(points.placed, []);
  assert.equal(points.chosen, "Shoulder");
});

// ---- The part of the picture that is seen ---------------------------------------------------------------------

const PICTURE = { width: 4000, height: 3000 };

test("the whole picture is seen first, in the middle of its box", () => {
  const view = new Viewport(PICTURE, { width: 400, height: 500 });
  assert.equal(view.scale, 0.1);
  assert.deepEqual(view.toScreen({ x: 0, y: 0 }), { x: 0, y: 100 });
  assert.deepEqual(view.toScreen({ x: 4000, y: 3000 }), { x: 400, y: 400 });
});

test("what is tapped is found again at every zoom", () => {
  const view = new Viewport(PICTURE, { width: 390, height: 410 });
  for (const factor of [1, 2, 2, 1.5, 0.5, 9, 9, 0.01]) {
    view.zoomBy(factor, { x: 1234, y: 567 });
    const seen = view.toScreen(view.toPicture({ x: 111, y: 222 }));
    assert.ok(Math.hypot(seen.x - 111, seen.y - 222) < 1e-6);
    assert.ok(view.zoom >= 1 && view.zoom <= 16);
  }
});

test("coming nearer shows the place asked for in the middle, but no empty room", () => {
  const view = new Viewport(PICTURE, { width: 400, height: 300 });
  view.zoomBy(4, { x: 2000, y: 1000 });
  assert.deepEqual(view.toScreen({ x: 2000, y: 1000 }), { x: 200, y: 150 });
  view.lookAt({ x: 0, y: 0 });
  assert.deepEqual(view.toScreen({ x: 0, y: 0 }), { x: 0, y: 0 });
});

test("a tap beside the picture is one on its edge", () => {
  const view = new Viewport(PICTURE, { width: 400, height: 500 });
  assert.deepEqual(view.toPicture({ x: -9, y: 20 }), { x: 0, y: 0 });
  assert.deepEqual(view.toPicture({ x: 500, y: 499 }), { x: 4000, y: 3000 });
});

test("another box shows the same picture", () => {
  const view = new Viewport(PICTURE, { width: 400, height: 300 });
  view.resize({ width: 800, height: 300 });
  assert.equal(view.scale, 0.1);
  assert.deepEqual(view.toScreen({ x: 2000, y: 1500 }), { x: 400, y: 150 });
});
