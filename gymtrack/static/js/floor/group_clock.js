// One clock for a bar group. A count-in, then everybody hangs towards one target; whoever comes down before its end is
// tapped; at the end all others have the target. Nothing here asks a clock: every moment comes from a touch or from the
// page's timer, as `{ at, wall }` of ../hold_clock.js, and only its own stamp counts, however late a handler runs.

import { SLEPT_MS, cutToTenths } from "../hold_clock.js";

export const COUNT_IN_MS = 3000;
export const LATE_MS = 2000; // a page that was awake looks at its clock well within this
export const LEAST_TENTHS = 20; // a shorter one is no hold
export const MOST_TENTHS = 6000;

const shifted = (moment, ms) => ({ at: moment.at + ms, wall: moment.wall + ms });

/** How far the two clocks of the device came apart between two moments: one of them stood still in a sleep. */
const haveParted = (one, other) => Math.abs(other.wall - one.wall - (other.at - one.at)) > SLEPT_MS;

/** Tenths of what was typed as seconds ("7", "7.5", "7,5"), or null where that is no target. */
export function targetOf(typed) {
  const found = /^\s*(\d{1,3})(?:[.,](\d))?\s*$/.exec(typed);
  const tenths = found ? Number(found[1]) * 10 + Number(found[2] ?? 0) : 0;
  return tenths >= LEAST_TENTHS && tenths <= MOST_TENTHS ? tenths : null;
}

export class GroupClock {
  #target;
  #group;
  #begin = null; // when time begins to count: the end of the count-in
  #broke = new Map(); // by athlete: the moment of coming down
  #sat = new Set(); // tapped in the count-in: not hanging at all
  #closed = null; // the moment at which the coach ended it for all
  #doubt = "";

  /** `targetTenths` for each of `athletes` (ids). */
  constructor(targetTenths, athletes) {
    this.#target = targetTenths;
    this.#group = [...athletes];
  }

  get targetTenths() {
    return this.#target;
  }

  get athletes() {
    return [...this.#group];
  }

  /** The monotonic moment of its end; null before the start. */
  get endsAt() {
    return this.#begin && this.#begin.at + this.#target * 100;
  }

  stateAt(at) {
    if (!this.#begin) return "idle";
    if (at < this.#begin.at) return this.#closed ? "ended" : "count-in";
    return this.#isOver(at) ? "ended" : "running";
  }

  #isOver(at) {
    return Boolean(this.#closed) || at >= this.endsAt || this.#hanging().length === 0;
  }

  #hanging() {
    return this.#group.filter((id) => !this.#broke.has(id) && !this.#sat.has(id));
  }

  /** Begin the count-in. */
  start(moment) {
    if (!this.#begin) this.#begin = shifted(moment, COUNT_IN_MS);
  }

  /** What a count-in shows: 3, 2, 1; 0 at any other time. */
  countAt(at) {
    return this.stateAt(at) === "count-in" ? Math.ceil((this.#begin.at - at) / 1000) : 0;
  }

  /** Tenths since the count-in, never above the target. */
  tenthsAt(at) {
    const now = Math.min(at, this.#closed?.at ?? at);
    return this.#begin ? Math.min(cutToTenths(now - this.#begin.at), this.#target) : 0;
  }

  /**
   * Somebody came down. In the count-in: is not hanging, and a second touch says otherwise. Returns whether it counts:
   * one that was felt before the end does, even where the page learns of it after the end.
   */
  touch(id, moment) {
    if (!this.#begin || !this.#group.includes(id)) return false;
    if (moment.at < this.#begin.at) return this.#sit(id);
    return this.#comeDown(id, moment);
  }

  #sit(id) {
    if (this.#closed) return false;
    if (!this.#sat.delete(id)) this.#sat.add(id);
    return true;
  }

  #comeDown(id, moment) {
    const isLate = this.#tenthsOf(moment) >= this.#target || (this.#closed && moment.at >= this.#closed.at);
    if (isLate || this.#sat.has(id) || this.#broke.has(id)) return false;
    this.#broke.set(id, moment);
    return true;
  }

  /** The wrong one was tapped: that one still hangs. Only while it runs, for nobody can know it afterwards. */
  takeBack(id, at) {
    return !this.#closed && at < this.endsAt && this.#broke.delete(id);
  }

  /** How somebody stands: `{ isOut, downTenths }`; `downTenths` is null for who still hangs. */
  standOf(id) {
    const down = this.#broke.get(id);
    return { isOut: this.#sat.has(id), downTenths: down ? this.#tenthsOf(down) : null };
  }

  /** The last who was tapped, or null. */
  get lastDown() {
    return [...this.#broke.keys()].at(-1) ?? null;
  }

  /** The coach ends it for all: whoever hangs has the time so far. In the count-in nobody has anything. */
  stop(moment) {
    if (this.#begin && moment.at < this.endsAt) this.#closed ??= moment;
  }

  /** Say why lengths cannot be trusted; the first reason stays. */
  doubt(reason) {
    this.#doubt ||= reason;
  }

  /**
   * What everybody has, once it has ended: `[{ athlete, tenths, moment, isDown, doubt }]` in the order of the group,
   * without whoever did not hang. `looked` is the moment at which the page found it ended.
   */
  results(looked) {
    const end = this.#closed ?? this.#endAsSeenFrom(looked);
    const isLate = !this.#closed && looked.at - this.endsAt > LATE_MS && this.#hanging().length > 0;
    return this.#group.flatMap((id) => this.#resultOf(id, end, isLate));
  }

  #endAsSeenFrom(looked) {
    return shifted(looked, this.endsAt - looked.at);
  }

  #resultOf(id, end, isLate) {
    const down = this.#broke.get(id);
    const moment = down ?? end;
    const tenths = Math.min(this.#tenthsOf(moment), this.#target);
    if (this.#sat.has(id) || tenths < 1) return [];
    const hasSlept = haveParted(this.#begin, moment) || (isLate && !down);
    return [{ athlete: id, tenths, moment, isDown: Boolean(down), doubt: this.#doubt || (hasSlept ? "slept" : "") }];
  }

  #tenthsOf(moment) {
    return cutToTenths(moment.at - this.#begin.at);
  }
}
