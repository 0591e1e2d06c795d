// A hold's length, taken at the moment of the touch and not when a handler runs. Times are milliseconds of one
// monotonic clock (event.timeStamp, performance.now()); lengths are whole tenths of a second, cut and never rounded up.

export const GUARD_MS = 300; // a second touch so soon after the last one is a double touch
export const SLEPT_MS = 100; // the two clocks of a device that did not sleep agree to less than the tenth that is shown

// Browsers give times in fractions that binary numbers cannot hold: whole microseconds first, so that 5 s stay 5 s.
export function cutToTenths(milliseconds) {
  return Math.max(0, Math.floor(Math.round(milliseconds * 1000) / 100_000));
}

export function tell(tenths) {
  return `${Math.floor(tenths / 10)}.${tenths % 10}`;
}

/** Both clocks at one instant: where the device was busy between two readings they are read again. */
export function readClocks() {
  for (let tries = 0; ; tries += 1) {
    const before = performance.now();
    const wall = Date.now();
    const now = performance.now();
    if (now - before < 2 || tries === 20) return { now, wall };
  }
}

/** The moment of a touch on the monotonic clock and on the wall's: both are read late, when a handler gets to run. */
export function momentOf(stamp, { now, wall } = readClocks()) {
  return { at: stamp, wall: wall - (now - stamp) };
}

export class TouchGuard {
  #last = -Infinity;

  /** Whether a touch counts; one within the guard of the last that counted does not. */
  accepts(at) {
    if (at - this.#last < GUARD_MS) return false;
    this.#last = at;
    return true;
  }
}

export class HoldClock {
  #start = null;
  #doubt = "";

  get isRunning() {
    return this.#start !== null;
  }

  start(moment) {
    this.#start = moment;
    this.#doubt = "";
  }

  /** Say why the length cannot be trusted; the first reason stays. */
  doubt(reason) {
    if (this.isRunning) this.#doubt ||= reason;
  }

  /** Tenths so far; 0 when it does not run. */
  tenthsAt(at) {
    return this.isRunning ? cutToTenths(at - this.#start.at) : 0;
  }

  /** Stop, and return the tenths, with the reason where they are doubtful: a monotonic clock may stand still in sleep. */
  stop(moment) {
    const tenths = this.tenthsAt(moment.at);
    const apart = this.isRunning ? moment.wall - this.#start.wall - (moment.at - this.#start.at) : 0;
    if (Math.abs(apart) > SLEPT_MS) this.doubt("slept");
    const doubt = this.#doubt;
    this.#start = null;
    return { tenths, doubt };
  }
}
