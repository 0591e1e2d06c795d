// The floor board: state, places, and one loop that brings what is shown up to date. What a coach enters is kept on the
// device first; everything else follows from that.

import { Api } from "./api.js";
import { Clocks } from "./clocks.js";
import { Courier } from "./courier.js";
import { claim, confirm, holdersOf } from "./holders.js";
import { newId } from "./ids.js";
import { keepFocus } from "./focus.js";
import { install } from "./install.js";
import { Listener } from "./listener.js";
import { athletesOf } from "./model.js";
import { entryOf } from "./outbox.js";
import { placeBefore, routeOf } from "./routes.js";
import { openScreen } from "./screens.js";
import { openStore } from "./store.js";
import { head } from "./head.js";
import { DeviceTimes } from "./times.js";
import { lostTiming, noteTiming } from "./timing_note.js";
import { listen } from "./touches.js";

const UNFETCHED = "This part of the board is not on this tablet yet: it needs the network once.";

class App {
  times = new DeviceTimes();
  state = {
    tablet: null,
    holder: null,
    holders: {},
    today: null,
    board: null,
    entries: [],
    news: {},
    unkept: {}, // by athlete: an act that the device could not keep
    online: true,
    heardAt: null,
    offsetMs: null, // the server's clock minus this one, once it was heard
    plain: false,
    isShut: false, // the server does not know this tablet any more
    isDurable: true,
    hasNews: false, // a newer version stands ready
  };
  clocks = new Clocks({ tick: () => this.screen?.tick?.(this), changed: () => this.noteTiming() });
  hanging = new Map(); // other clocks that run, a group's or a partner's: ids of athletes
  screen = null;
  params = {};
  cameFrom = "#/"; // the last place that was not about who holds the tablet
  update = async () => {}; // take over a newer version
  #root;
  #isDue = false;
  #shownAt = ""; // the hash of what is shown

  async start(root) {
    this.#root = root;
    const lost = lostTiming(sessionStorage); // before any clock of this page takes the note away
    this.store = await openStore();
    this.state.isDurable = this.store.isDurable;
    this.api = new Api({ key: () => this.state.tablet?.key, coach: () => this.state.holder, times: this.times });
    await this.#read();
    this.courier = new Courier({
      store: this.store,
      times: this.times,
      api: this.api,
      confirmed: () => this.confirmed(),
      onAnswer: (answer, entries) => this.listener.answered(answer, entries),
      onState: (how) => this.listener.courierSays(how),
    });
    this.listener = new Listener(this);
    this.store.onChange(() => this.#read().then(() => this.changed()));
    keepFocus(root);
    listen({
      touch: (node, moment) => this.#touch(node, moment),
      tap: (node, moment) => this.#tap(node, moment),
    });
    document.addEventListener("click", ({ target }) => target.closest?.("a[href^='#']") && head.hush()); // left by hand
    addEventListener("hashchange", ({ oldURL }) => {
      this.cameFrom = placeBefore(new URL(oldURL).hash) ?? this.cameFrom;
      void this.#open();
    });
    await this.#open();
    this.courier.start();
    this.listener.start();
    holdersOf(this).start();
    void this.#install(lost);
    if (lost) this.say(lost, "warning");
  }

  /** Whether a clock runs that would be gone with the page. */
  get isTiming() {
    return this.clocks.running.length + this.hanging.size > 0;
  }

  /** A clock was started, or is over: what would be lost with the page is noted. */
  noteTiming() {
    const timed = new Set([...this.clocks.running, ...[...this.hanging.values()].flat()]);
    const people = athletesOf(this.state).filter(({ id }) => timed.has(id));
    noteTiming(sessionStorage, people.map(({ number, name }) => number || name));
  }

  /** `said` is what an alarm says already. */
  async #install(said) {
    const isBusy = () => this.state.entries.length > 0 || this.isTiming;
    const installed = await install({ onNews: () => this.changed({ hasNews: true }), isBusy });
    this.update = installed.update;
    this.changed({ plain: installed.plain });
    if (installed.sentence) this.say([said, installed.sentence].filter(Boolean).join(" "), "warning");
  }

  /** Read what the device keeps; another tab may have written it. */
  async #read() {
    const [tablet, holders, holder, today, entries] = await Promise.all([
      ...["tablet", "holders", "holder", "today"].map((key) => this.store.kept(key)),
      this.store.entries(),
    ]);
    Object.assign(this.state, { tablet: tablet ?? null, holders: holders ?? {}, holder: holder ?? null, entries });
    this.state.today = today ?? null;
  }

  async readEntries() {
    this.changed({ entries: await this.store.entries() });
  }

  /** Coaches whose hand-over the server has confirmed: only in their names is anything sent. */
  confirmed() {
    const holders = Object.entries(this.state.holders);
    return new Set(holders.filter(([, holder]) => holder.confirmed).map(([coach]) => coach));
  }

  /**
   * Keep an act on the device; resolves with its id when that is done. Rejects with a sentence, after having said it,
   * where the device could not: then nothing was kept.
   */
  async act({ id = newId(), kind, body, moment = this.times.now(), after = [], label }) {
    const [kept] = await this.acts([{ id, kind, body, moment, after, label }]);
    return kept;
  }

  /** Keep several, all or none. */
  async acts(all) {
    const coach = this.state.holder;
    const entries = all.map(({ id = newId(), kind, body, moment = this.times.now(), after = [], label }) =>
      entryOf({ id, kind, coach, stamp: this.times.stamp(moment), body, after, label }),
    );
    try {
      await this.store.put(...entries);
    } catch (error) {
      this.say(error.message, "error");
      throw error;
    }
    this.changed({ entries: [...this.state.entries, ...entries] });
    this.courier.kick();
    return entries.map((entry) => entry.id);
  }

  /** Somebody takes the tablet over by a code; see holders.js. */
  claim(coachId, name, code) {
    return claim(this, coachId, name, code);
  }

  confirm(coachId, code) {
    return confirm(this, coachId, code);
  }

  go(hash) {
    if (location.hash === hash) void this.#open();
    else location.hash = hash;
  }

  /** Say a sentence once: an error stands where everybody sees it, at `field` too, until the next touch of something. */
  say(sentence, kind = "info", field = null) {
    head.say(sentence, kind, field);
  }

  /** Something of the state is another: bring what is shown up to date, once however often this is called. */
  changed(news = {}) {
    Object.assign(this.state, news);
    if (this.#isDue) return;
    this.#isDue = true;
    queueMicrotask(() => {
      this.#isDue = false;
      this.#show();
    });
  }

  #show() {
    head.update(this);
    this.screen?.update(this, this.#root, this.params);
  }

  #touch(node, moment) {
    return this.screen?.touch?.(this, node, moment);
  }

  #tap(node, moment) {
    head.hush(); // not when the finger goes down: what is under it must not move
    if (node.dataset.do === "update-app") void this.update();
    else this.screen?.tap?.(this, node, moment);
  }

  /** Where to go: a tablet that is not let in, or that nobody holds, shows nobody. */
  #place() {
    const route = routeOf(location.hash);
    if (["enrol", "waiting"].includes(route.name)) return route;
    if (!this.state.tablet) return { name: "enrol", params: {} };
    if (!this.state.holder && route.name !== "leave") return { name: "coach", params: {} };
    return route;
  }

  /** A screen that could not be fetched: what is shown stays, and so does its address, so that it can be asked again. */
  #stay() {
    if (this.screen) history.replaceState(null, "", this.#shownAt || "#/");
    this.say(UNFETCHED, "error");
  }

  async #open() {
    const { name, params } = this.#place();
    const asked = location.hash;
    const screen = await openScreen(name).catch(() => null);
    if (location.hash !== asked) return; // another place meanwhile, which opens by itself
    if (!screen) return this.#stay();
    this.#shownAt = asked;
    if (params.session) await this.listener.openBoard(params.session);
    this.params = params;
    if (screen !== this.screen) {
      this.screen?.close?.(this);
      this.screen = screen;
      this.#root.replaceChildren();
      screen.open(this, this.#root, params);
    }
    this.#show();
    if (params.session) void this.listener.look();
  }
}

const app = new App();
await app.start(document.getElementById("main"));
document.documentElement.dataset.ready = ""; // everything answers from now on
