// The points of a picture that were tapped: which is in hand, where the next tap goes, and how far each may be off.

export const SAME_PX = 24; // on the screen: a tap so near to another point takes that one in hand

const LEAST_OFF = 1; // pixels of the picture: nearer than that no picture shows a place

const distance = (one, other) => Math.hypot(one.x - other.x, one.y - other.y);

export class Points {
  #names = [];
  #places = new Map(); // by name, for every way of reading: a hip stays a hip
  #chosen = "";
  #tapPx;

  /** `tapPx`: how far a tap may be from the place meant, in CSS pixels. */
  constructor(tapPx) {
    this.#tapPx = tapPx;
  }

  get chosen() {
    return this.#chosen;
  }

  get names() {
    return this.#names;
  }

  /** Those placed so far, in the order of the names: { name, x, y, off }. */
  get placed() {
    return this.#names.filter((name) => this.#places.has(name)).map((name) => ({ name, ...this.#places.get(name) }));
  }

  get isWhole() {
    return this.placed.length === this.#names.length;
  }

  at(name) {
    return this.#places.get(name);
  }

  /** Ask for these points from now on; the first that is not placed comes in hand. */
  askFor(names) {
    this.#names = names;
    this.#chosen = this.#next() ?? names[0];
  }

  choose(name) {
    this.#chosen = name;
  }

  #next() {
    return this.#names.find((name) => !this.#places.has(name));
  }

  /** Put the point in hand there (pixels of the picture), seen at that scale. The error of a tap is the screen's. */
  put({ x, y }, scale) {
    this.#places.set(this.#chosen, { x, y, off: Math.max(this.#tapPx / scale, LEAST_OFF) });
  }

  /**
   * Take a tap: it puts the point in hand there and takes the next one in hand. Where all stand, a tap near to another
   * point than the one in hand takes that in hand instead. Returns the name that was put, or "".
   */
  tap(place, scale) {
    const other = this.isWhole && this.placed.find((one) => distance(one, place) * scale <= SAME_PX);
    if (other && other.name !== this.#chosen) {
      this.#chosen = other.name;
      return "";
    }
    const put = this.#chosen;
    this.put(place, scale);
    this.#chosen = this.#next() ?? put;
    return put;
  }

  clear() {
    this.#places.clear();
    this.#chosen = this.#names[0] ?? "";
  }
}
