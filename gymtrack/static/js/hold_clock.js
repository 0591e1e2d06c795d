// A hold's length, taken at the moment of the touch and not when a handler runs. Times are milliseconds of one
// monotonic clock (event.timeStamp, performance.now()); lengths are whole tenths of a second, cut and never rounded up.

export const GUARD_MS = 300; // a second touch so soon after the last one is a double touch

// Browsers give times in fractions that binary numbers cannot hold: whole microseconds first, so that 5 s stay 5 s.
export function cutToTenths(milliseconds) {
  return Math.max(0, Math.floor(Math.round(milliseconds * 1000) / 100_000));
}

export function tell(tenths) {
  return `${Math.floor(tenths / 10)}.${tenths % 10}`;
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
  #startedAt = null;

  get isRunning() {
    return this.#startedAt !== null;
  }

  start(at) {
    this.#startedAt = at;
  }

  /** Tenths so far; 0 when it does not run. */
  tenthsAt(at) {
    return this.isRunning ? cutToTenths(at - this.#startedAt) : 0;
  }

  /** Stop and return the tenths. */
  stop(at) {
    const tenths = this.tenthsAt(at);
    this.#startedAt = null;
    return tenths;
  }
}
