// The clocks that run: one an athlete, several at once, each on with its own step while the coach looks at others. The
// screen stays awake while one of them runs.

import { HoldClock } from "../hold_clock.js";

export class Clocks {
  #clocks = new Map(); // by athlete: { clock, step }
  #awake = null; // the promise of a wake lock
  #timer = null;
  #tick;
  #changed;

  /** `tick()` is called ten times a second while one runs, `changed()` after one was started or is over. */
  constructor({ tick, changed = () => {} }) {
    this.#tick = tick;
    this.#changed = changed;
    document.addEventListener("visibilitychange", () => this.#onVisibility());
  }

  isRunning(athlete) {
    return Boolean(this.#clocks.get(athlete)?.clock.isRunning);
  }

  /** The step that a clock which runs was started at, else null. */
  stepOf(athlete) {
    return this.isRunning(athlete) ? this.#clocks.get(athlete).step : null;
  }

  get running() {
    return [...this.#clocks.keys()].filter((athlete) => this.isRunning(athlete));
  }

  tenthsAt(athlete, at) {
    return this.#clocks.get(athlete)?.clock.tenthsAt(at) ?? 0;
  }

  start(athlete, step, moment) {
    const clock = new HoldClock();
    clock.start(moment);
    if (document.hidden) clock.doubt("hidden");
    this.#clocks.set(athlete, { clock, step });
    this.#care();
  }

  /** Stop one; returns `{ tenths, doubt, step }`. */
  stop(athlete, moment) {
    const { clock, step } = this.#clocks.get(athlete);
    const stopped = clock.stop(moment);
    this.#clocks.delete(athlete);
    this.#care();
    return { ...stopped, step };
  }

  /** Let one go: it was started by mistake. */
  drop(athlete) {
    this.#clocks.delete(athlete);
    this.#care();
  }

  #care() {
    const isAny = this.running.length > 0;
    if (isAny) this.#timer ??= setInterval(this.#tick, 100);
    else this.#timer = clearInterval(this.#timer) ?? null;
    this.keepAwake(isAny);
    this.#changed();
  }

  keepAwake(isAny) {
    if (isAny) {
      this.#awake ??= navigator.wakeLock?.request("screen").catch(() => null) ?? null;
    } else {
      void this.#awake?.then((lock) => lock?.release());
      this.#awake = null;
    }
  }

  #onVisibility() {
    this.#awake = null; // the browser lets go of it by itself
    if (document.hidden) for (const { clock } of this.#clocks.values()) clock.doubt("hidden");
    else this.#care();
  }
}
