// The angle that tapped points make, and how far it can be off when each tap is. Plane geometry, nothing else: whether
// the camera stood square to the movement no picture tells.
//
// A point is { x, y, off }: where it was tapped and how far at most the place meant lies from there, in one unit (pixels
// of the picture), y downwards. Angles come back in degrees. The interval is the worst case, no chance in it: for every
// way in which the places meant lie within their discs the angle lies in it, and both ends are reached.

export const SHORTEST_ARM = 3; // times both taps' errors together; under this an arm may turn by more than 19.5°

const VERTICES = 360; // places on the vertex's circle that are looked at: coarser by less than 0.001° than all of them
const DEGREE = Math.PI / 180;
const SLIGHT = 1e-9; // degrees that binary numbers may be off

const distance = (from, to) => Math.hypot(to.x - from.x, to.y - from.y);

/** The turn from the direction of `from` to that of `to`, both seen from `at`; from -π to π. */
function turn(at, from, to) {
  const [ax, ay, bx, by] = [from.x - at.x, from.y - at.y, to.x - at.x, to.y - at.y];
  return Math.atan2(ax * by - ay * bx, ax * bx + ay * by);
}

/** Whether two points are too near to each other for the line through them to have a direction. */
export function isTooShort(from, to) {
  return distance(from, to) < SHORTEST_ARM * (from.off + to.off);
}

/** In degrees, and within 0 and `most`: an angle has no sign, what turns beyond an end comes back from it. */
function folded(middle, low, high, most) {
  let [least, greatest] = [low, high];
  if (low < 0) [least, greatest] = [0, Math.max(high, -low)];
  if (high > most) [least, greatest] = [Math.min(least, 2 * most - high), most];
  return { degrees: middle / DEGREE, low: least / DEGREE, high: Math.min(greatest, most) / DEGREE };
}

/**
 * The angle at a joint: between the lines from `joint` to `one` and to `other`, 180° where they lie in one line.
 *
 * For a vertex at v the line to a point a within its disc turns by up to asin(off / |a - v|) either way, and the lines
 * turn each for itself. That largest angle is a subharmonic function of v, so that it is reached on the edge of the
 * vertex's disc; the smallest likewise.
 */
function joint(one, at, other) {
  const tapped = turn(at, one, other);
  const side = tapped < 0 ? -1 : 1;
  const middle = side * tapped;
  let [low, high] = [middle, middle];
  for (let place = 0; place < VERTICES; place += 1) {
    const angle = (2 * Math.PI * place) / VERTICES;
    const vertex = { x: at.x + at.off * Math.cos(angle), y: at.y + at.off * Math.sin(angle) };
    const seen = middle + unwrapped(side * turn(vertex, one, other) - middle);
    const slack = Math.asin(one.off / distance(vertex, one)) + Math.asin(other.off / distance(vertex, other));
    low = Math.min(low, seen - slack);
    high = Math.max(high, seen + slack);
  }
  return folded(middle, low, high, Math.PI);
}

const unwrapped = (angle) => angle - 2 * Math.PI * Math.round(angle / (2 * Math.PI));

/** The angle between the line from `from` to `to` and straight down: 0° hanging, 90° level, 180° straight up. */
function fromDown(from, to) {
  const middle = Math.abs(turn(from, { x: from.x, y: from.y + 1 }, to));
  const slack = Math.asin((from.off + to.off) / distance(from, to));
  return folded(middle, middle - slack, middle + slack, Math.PI);
}

/** The angle between the line through two points and level: from 0° to 90°, whichever end is higher. */
function fromLevel(from, to) {
  const turned = Math.abs(turn(from, { x: from.x + 1, y: from.y }, to));
  const middle = Math.min(turned, Math.PI - turned);
  const slack = Math.asin((from.off + to.off) / distance(from, to));
  return folded(middle, middle - slack, middle + slack, Math.PI / 2);
}

const WAYS = { joint: [3, joint], down: [2, fromDown], level: [2, fromLevel] };

/** The pairs of points, by place, that a way of reading draws a line between. */
export function arms(points) {
  return points.slice(1).map((point, place) => [points[place], point]);
}

/**
 * Read an angle in one way (joint, down or level) off two or three points.
 *
 * Returns { degrees, low, high }, or { short } with the place (0 or 1) of the first arm that is too short to be read.
 * Throws a RangeError for a way that is not known and for the wrong number of points.
 */
export function read(way, points) {
  const [wanted, measured] = WAYS[way] ?? [];
  if (points.length !== wanted) throw new RangeError(`No reading ${way} of ${points.length} points.`);
  const short = arms(points).findIndex(([from, to]) => isTooShort(from, to));
  return short < 0 ? measured(...points) : { short };
}

/** The reading in whole degrees, as it is stored and told: the interval is rounded outwards, and so keeps its promise. */
export function told({ degrees, low, high }) {
  return { degrees: Math.round(degrees), low: Math.floor(low + SLIGHT), high: Math.ceil(high - SLIGHT) };
}
