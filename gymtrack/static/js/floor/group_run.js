// A group clock that runs: it goes on whichever screen is shown, keeps the screen awake, and once it has ended puts what
// everybody has into the outbox. A touch that was felt before the end may be handled after it, so it waits a moment.

import { GroupClock } from "./group_clock.js";
import { tryOf } from "./tries.js";

export const GRACE_MS = 250;
const TICK_MS = 100;

export class GroupRun {
  #app;
  #show;
  #timer;
  #awake;
  #onHidden = () => document.hidden && this.clock.doubt("hidden");

  /** Begins at once. `tiles`: who hangs. `show()` after each change, for whoever is looking. */
  constructor(app, { session, targetTenths, tiles, moment, show }) {
    this.#app = app;
    this.#show = show;
    this.session = session;
    this.tiles = tiles;
    this.rows = []; // what everybody has: { tile, result, id: of the try once it is kept }
    this.hasLanded = false;
    this.clock = new GroupClock(targetTenths, tiles.map(({ id }) => id));
    this.clock.start(moment);
    app.hanging.set(this, tiles.map(({ id }) => id));
    app.noteTiming();
    this.#onHidden();
    document.addEventListener("visibilitychange", this.#onHidden);
    this.#awake = navigator.wakeLock?.request("screen").catch(() => null);
    this.#timer = setInterval(() => this.#tick(), TICK_MS);
  }

  get state() {
    return this.clock.stateAt(performance.now());
  }

  #tick() {
    const looked = this.#app.times.now();
    if (this.clock.stateAt(looked.at) === "ended") this.#end(looked);
    this.#show();
  }

  #end(looked) {
    clearInterval(this.#timer);
    document.removeEventListener("visibilitychange", this.#onHidden);
    void this.#awake?.then((lock) => lock?.release());
    setTimeout(() => void this.#land(looked), GRACE_MS);
  }

  async #land(looked) {
    const of = new Map(this.tiles.map((tile) => [tile.id, tile]));
    this.rows = this.clock.results(looked).map((result) => ({ tile: of.get(result.athlete), result, id: null }));
    this.hasLanded = true;
    this.#show();
    for (const row of this.rows) await this.keep(row);
    this.#app.hanging.delete(this);
    this.#app.noteTiming();
    this.#app.changed();
  }

  /** Put what one of them has into the outbox; where that fails the row stays without an id, to be tried again. */
  async keep(row) {
    if (row.id || row.isOnItsWay) return;
    row.isOnItsWay = true;
    const { tenths, moment, doubt } = row.result;
    const what = { source: "timed_only", hold_tenths: tenths, doubt, moment };
    try {
      row.id = await this.#app.act(tryOf(this.#app.state, this.session, row.tile, what));
    } catch {
      row.id = null; // the app says why
    }
    row.isOnItsWay = false;
    this.#show();
  }
}
