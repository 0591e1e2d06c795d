import assert from "node:assert/strict";
import test from "node:test";

import { load } from "../load.mjs";

const { SHORTEST_ARM, isTooShort, read, told } = await load("angles/geometry.js");

const point = (x, y, off = 0) => ({ x, y, off });
const near = (seen, wanted, within = 1e-9) => assert.ok(Math.abs(seen - wanted) <= within, `${seen}, not ${wanted}`);

/** Numbers that look like chance and are the same in every run (Numerical Recipes' linear congruence). */
function chance(seed) {
  let state = seed;
  return () => {
    state = (state * 1_664_525 + 1_013_904_223) % 2 ** 32;
    return state / 2 ** 32;
  };
}

/** Points at `at`, with arms of those lengths that enclose that angle, turned about `at`. */
function elbow(degrees, { first = 200, second = 260, turned = 0, at = [500, 400], off = 0 } = {}) {
  const [a, b] = [turned, turned + degrees].map((angle) => (angle * Math.PI) / 180);
  return [
    point(at[0] + first * Math.cos(a), at[1] + first * Math.sin(a), off),
    point(...at, off),
    point(at[0] + second * Math.cos(b), at[1] + second * Math.sin(b), off),
  ];
}

// ---- Known triangles ------------------------------------------------------------------------------------------

test("triangles whose angles are known are read as they are", () => {
  near(read("joint", [point(3, 0), point(0, 0), point(0, 4)]).degrees, 90); // 3, 4, 5
  near(read("joint", [point(0, 0), point(3, 0), point(0, 4)]).degrees, (Math.atan2(4, 3) * 180) / Math.PI);
  near(read("joint", [point(1, 0), point(0, 0), point(0.5, Math.sqrt(3) / 2)]).degrees, 60); // equal sides
  near(read("joint", [point(-7, 0), point(0, 0), point(9, 0)]).degrees, 180);
  near(read("joint", [point(7, 0), point(0, 0), point(9, 0)]).degrees, 0);
});

test("the three angles of any triangle make 180 degrees", () => {
  const next = chance(1);
  for (let round = 0; round < 500; round += 1) {
    const [a, b, c] = [0, 1, 2].map(() => point(next() * 1000, next() * 1000));
    const sum = [[c, a, b], [a, b, c], [b, c, a]].reduce((total, three) => total + read("joint", three).degrees, 0);
    near(sum, 180, 1e-7);
  }
});

test("a line is read from straight down and from level", () => {
  const hip = point(100, 100);
  const from = (way, x, y) => read(way, [hip, point(x, y)]).degrees;
  for (const [x, y, down, level] of [
    [100, 300, 0, 90],
    [300, 100, 90, 0],
    [-100, 100, 90, 0],
    [100, -100, 180, 90],
    [200, 200, 45, 45],
    [0, 0, 135, 45],
  ]) {
    near(from("down", x, y), down);
    near(from("level", x, y), level);
  }
});

// ---- What must not change an angle ----------------------------------------------------------------------------

test("size, place, turn and mirror image of the picture change neither angle nor interval", () => {
  const next = chance(2);
  for (let round = 0; round < 200; round += 1) {
    const three = elbow(next() * 180, { first: 60 + next() * 300, second: 60 + next() * 300, off: 1 + next() * 5 });
    const [grown, turned, x, y] = [0.1 + next() * 9, next() * 7, next() * 999, next() * 999];
    const moved = three.map((one) => ({
      x: x + grown * (one.x * Math.cos(turned) - one.y * Math.sin(turned)),
      y: y + grown * (one.x * Math.sin(turned) + one.y * Math.cos(turned)),
      off: grown * one.off,
    }));
    const mirrored = three.map((one) => ({ ...one, x: -one.x }));
    const wanted = read("joint", three);
    for (const other of [moved, mirrored, three.toReversed()]) {
      const seen = read("joint", other);
      near(seen.degrees, wanted.degrees, 1e-7);
      // The places looked at on the vertex's circle are others: that is what the interval may differ by.
      near(seen.low, wanted.low, 2e-3);
      near(seen.high, wanted.high, 2e-3);
    }
  }
});

// ---- The interval against brute force -------------------------------------------------------------------------

/** The same angle by another formula: the law of cosines on the three sides. */
function byCosines([a, b, c]) {
  const [ab, bc, ca] = [[a, b], [b, c], [c, a]].map(([p, q]) => Math.hypot(p.x - q.x, p.y - q.y));
  const cosine = (ab ** 2 + bc ** 2 - ca ** 2) / (2 * ab * bc);
  return (Math.acos(Math.min(1, Math.max(-1, cosine))) * 180) / Math.PI;
}

test("the angle agrees with the law of cosines", () => {
  const next = chance(5);
  for (let round = 0; round < 500; round += 1) {
    const three = elbow(next() * 180, { first: 40 + next() * 300, second: 40 + next() * 300, turned: next() * 7 });
    near(read("joint", three).degrees, byCosines(three), 1e-5);
  }
});

/** Every angle that is made when each place meant lies on one of `many` places of its disc's edge. */
function* everyAngle(three, many) {
  const edges = three.map((one) =>
    Array.from({ length: many }, (_, place) => {
      const angle = (2 * Math.PI * place) / many;
      return point(one.x + one.off * Math.cos(angle), one.y + one.off * Math.sin(angle));
    }),
  );
  for (const a of edges[0]) for (const b of edges[1]) for (const c of edges[2]) yield byCosines([a, b, c]);
}

test("no place within the discs makes an angle outside the interval", () => {
  const next = chance(3);
  for (let round = 0; round < 400; round += 1) {
    const three = elbow(next() * 180, { first: 40 + next() * 300, second: 40 + next() * 300, off: 5 });
    const reading = read("joint", three);
    if ("short" in reading) continue;
    for (let tries = 0; tries < 300; tries += 1) {
      const meant = three.map((one) => {
        const [far, angle] = [one.off * Math.sqrt(next()), 2 * Math.PI * next()];
        return point(one.x + far * Math.cos(angle), one.y + far * Math.sin(angle));
      });
      const degrees = byCosines(meant);
      assert.ok(degrees >= reading.low - 1e-3 && degrees <= reading.high + 1e-3, `${degrees} at ${JSON.stringify(three)}`);
    }
  }
});

test("both ends of the interval are reached", () => {
  for (const degrees of [0, 3, 20, 60, 90, 120, 165, 178, 180]) {
    for (const lengths of [{ first: 45, second: 45 }, { first: 60, second: 200 }, { first: 300, second: 300 }]) {
      const three = elbow(degrees, { ...lengths, off: 5 });
      const { low, high } = read("joint", three);
      let [least, greatest] = [180, 0];
      for (const angle of everyAngle(three, 60)) {
        if (angle < least) least = angle;
        if (angle > greatest) greatest = angle;
      }
      near(low, least, 0.12); // 60 places of an edge miss the outermost by at most 3 degrees of the circle
      near(high, greatest, 0.12);
    }
  }
});

test("a line's interval is the turn of a line that touches both discs", () => {
  for (const [way, x, y] of [["down", 130, 290], ["down", 100, 310], ["level", 300, 120], ["level", 110, 300]]) {
    const [from, to] = [point(100, 100, 5), point(x, y, 5)];
    const { low, high } = read(way, [from, to]);
    let [least, greatest] = [180, 0];
    for (let a = 0; a < 360; a += 1) {
      for (let b = 0; b < 360; b += 1) {
        const [s, t] = [a, b].map((angle) => (angle * Math.PI) / 180);
        const meant = [
          point(from.x + 5 * Math.cos(s), from.y + 5 * Math.sin(s)),
          point(to.x + 5 * Math.cos(t), to.y + 5 * Math.sin(t)),
        ];
        const { degrees } = read(way, meant);
        [least, greatest] = [Math.min(least, degrees), Math.max(greatest, degrees)];
      }
    }
    near(low, least, 0.01);
    near(high, greatest, 0.01);
  }
});

test("to the first order a tap turns an arm by its error over the arm's length", () => {
  const { low, high } = read("joint", elbow(90, { first: 400, second: 400, off: 1 }));
  // Both ends of both arms; the joint's own move is across both arms at once only to 1/√2 each at a right angle.
  const expected = ((1 / 400 + 1 / 400 + Math.hypot(1 / 400, 1 / 400)) * 180) / Math.PI;
  near(high - 90, expected, 0.005);
  near(90 - low, expected, 0.005);
});

test("an interval never leaves the half circle and always holds what was tapped", () => {
  const next = chance(4);
  for (let round = 0; round < 500; round += 1) {
    const three = elbow(next() * 180, { first: 31 + next() * 60, second: 31 + next() * 60, off: 5 });
    const { degrees, low, high } = read("joint", three);
    assert.ok(low >= 0 && low <= degrees && degrees <= high && high <= 180);
  }
  const straight = read("joint", elbow(180, { first: 100, second: 100, off: 5 }));
  assert.equal(straight.high, 180);
  assert.ok(straight.low < 170);
  assert.equal(read("joint", elbow(0, { first: 90, second: 200, off: 5 })).low, 0);
});

test("taps that are exact leave nothing open", () => {
  const { degrees, low, high } = read("joint", elbow(77));
  near(low, degrees);
  near(high, degrees);
});

// ---- What cannot be read --------------------------------------------------------------------------------------

test("an arm shorter than three times its taps' errors is refused, and named", () => {
  const [hip, shoulder, wrist] = elbow(90, { first: SHORTEST_ARM * 10 - 0.1, second: 200, off: 5 });
  assert.ok(isTooShort(hip, shoulder));
  assert.deepEqual(read("joint", [hip, shoulder, wrist]), { short: 0 });
  assert.deepEqual(read("joint", [wrist, shoulder, hip]), { short: 1 });
  assert.deepEqual(read("down", [shoulder, hip]), { short: 0 });
  assert.ok("degrees" in read("joint", elbow(90, { first: SHORTEST_ARM * 10, second: 200, off: 5 })));
});

test("the same points tapped closer up are read more narrowly", () => {
  const wide = (off) => {
    const { low, high } = read("joint", elbow(100, { off }));
    return high - low;
  };
  assert.ok(wide(2) < wide(5));
  near(wide(1) / wide(2), 0.5, 0.01);
});

test("the wrong number of points, and a way that nobody knows, are errors", () => {
  assert.throws(() => read("joint", [point(0, 0), point(1, 1)]), RangeError);
  assert.throws(() => read("down", []), RangeError);
  assert.throws(() => read("sideways", [point(0, 0), point(1, 1)]), RangeError);
});

test("a reading is told in whole degrees, its interval rounded outwards", () => {
  assert.deepEqual(told({ degrees: 89.5, low: 84.9, high: 95.1 }), { degrees: 90, low: 84, high: 96 });
  assert.deepEqual(told({ degrees: 180, low: 170.0000000000001, high: 180 }), { degrees: 180, low: 170, high: 180 });
});
