// What a device knows of time: its two clocks, and how far its wall clock is from the server's. Each act carries all of
// it, and the server makes the moment of it: a clock that is wrong by hours moves nothing, and no hold's length either.

import { readClocks } from "../hold_clock.js";
import { newId } from "./ids.js";

const LONGEST_MS = 20_000; // no request is on its way for longer: see TIMEOUT_MS of api.js

const whole = (ms) => Math.round(ms);
const iso = (ms) => new Date(whole(ms)).toISOString();

export class DeviceTimes {
  #readClocks;
  #offset = null; // { ms, within }: server minus device, and how wrong that may be: half the way there and back

  /** `clocks` reads both clocks at one instant, as readClocks() of ../hold_clock.js does. */
  constructor({ clocks = readClocks, life = newId() } = {}) {
    this.#readClocks = clocks;
    this.life = life;
  }

  /** Server minus device in whole milliseconds, as heard in this life of the page; null before the first answer. */
  get offsetMs() {
    return this.#offset && whole(this.#offset.ms);
  }

  /** An answer told the server's time; `sentMs` and `gotMs` are the wall clock at either end of its way. */
  heard(serverAtIso, sentMs, gotMs) {
    const within = (gotMs - sentMs) / 2;
    const ms = Date.parse(serverAtIso) - (sentMs + gotMs) / 2;
    const wasSet = within < 0 || within > LONGEST_MS / 2; // on the way
    if (Number.isNaN(ms) || wasSet) return;
    if (this.#isBetter(ms, within)) this.#offset = { ms, within };
  }

  /** Whether a reading is as sharp as the one known, or contradicts it: then the clock was set, or drifted. */
  #isBetter(ms, within) {
    const known = this.#offset;
    return !known || within <= known.within || Math.abs(ms - known.ms) > within + known.within;
  }

  /** What an act carries of a touch; `moment` is `{ at, wall }` as momentOf() of ../hold_clock.js gives it. */
  stamp(moment) {
    return { device_at: iso(moment.wall), offset_ms: this.offsetMs, life: this.life, mono_ms: whole(moment.at) };
  }

  /** What goes with acts when they are sent: both clocks at that instant. */
  envelope() {
    const { now, wall } = this.#readClocks();
    return { sent_at: iso(wall), life: this.life, mono_ms: whole(now) };
  }

  /** The moment of now, for what no touch makes. */
  now() {
    const { now, wall } = this.#readClocks();
    return { at: now, wall };
  }
}
