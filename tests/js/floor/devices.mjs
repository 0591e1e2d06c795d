// Devices of the simulated world, with a disk, two clocks and tabs. What runs in the tabs is the page's own code: the
// Courier, the senders, Api, DeviceTimes, the outbox and the rules of the store.
import { load } from "../load.mjs";
import { START } from "./world.mjs";

const { Api } = await load("floor/api.js");
const { Courier } = await load("floor/courier.js");
const { DeviceTimes } = await load("floor/times.js");
const { entryOf } = await load("floor/outbox.js");
const { newId } = await load("floor/ids.js");
const { senderOf } = await load("floor/sender.js");
const { mayLease, settledEntries } = await load("floor/store_rules.js");

export class Device {
  entries = []; // on the disk
  confirmed = new Set();
  isFull = false;
  tabs = [];
  sets = []; // true moments at which its clock was set
  sleeps = []; // true moments at which it slept
  #seq = 0;
  #ahead; // of its wall clock before true time
  #stood = 0; // how long its monotonic clock stood still
  #lease = null;
  #locked = null; // the tab that has the lock
  #queue = [];

  constructor(world, { hasLocks }) {
    this.world = world;
    this.hasLocks = hasLocks;
    this.#ahead = world.pick([0, 0, 7_200_000, -10_800_000]);
    world.devices.push(this);
  }

  get wall() {
    return this.world.now + this.#ahead;
  }

  get mono() {
    return this.world.now - START - this.#stood;
  }

  setClock(by) {
    this.#ahead += by;
    this.sets.push(this.world.now);
  }

  /** The device sleeps: time goes on and its monotonic clock does not. */
  sleep(ms) {
    this.world.now += ms;
    this.#stood += ms;
    this.sleeps.push(this.world.now);
  }

  open() {
    const tab = new Tab(this);
    this.tabs.push(tab);
    return tab;
  }

  kill(tab) {
    tab.isDead = true;
    this.tabs = this.tabs.filter((other) => other !== tab);
    this.#queue = this.#queue.filter((other) => other.tab !== tab);
    if (this.#locked === tab) this.#pass();
    for (const give of tab.requests) give();
  }

  coachOf(id) {
    return this.entries.find((entry) => entry.id === id)?.coach;
  }

  // What a tab's store does to the disk, each in one transaction.
  write(entries) {
    if (this.isFull) throw new Error("full");
    for (const entry of entries) {
      const place = this.entries.findIndex((other) => other.id === entry.id);
      if (place < 0) this.entries.push({ ...entry, seq: (this.#seq += 1) });
      else this.entries[place] = { ...entry, seq: this.entries[place].seq };
    }
  }

  settle(what) {
    if (this.isFull && this.world.chance(0.5)) throw new Error("full");
    const { gone, changed } = settledEntries(this.entries, what);
    const news = new Map(changed.map((entry) => [entry.seq, entry]));
    for (const entry of this.entries.filter(({ seq }) => gone.includes(seq))) this.world.onGone?.(entry);
    this.entries = this.entries.filter(({ seq }) => !gone.includes(seq)).map((entry) => news.get(entry.seq) ?? entry);
  }

  lease(owner, ms) {
    if (!mayLease(this.#lease, owner, ms, this.wall)) return false;
    this.#lease = { owner, until: this.wall + ms };
    return true;
  }

  release(owner) {
    if (this.#lease?.owner === owner) this.#lease = null;
  }

  /** navigator.locks of a tab: whoever is dead holds nothing. */
  locksOf(tab) {
    const request = (_name, _options, work) =>
      new Promise((resolve, reject) => {
        if (tab.isDead) return reject(new Error("the tab is dead"));
        tab.requests.add(() => reject(new Error("the tab is dead")));
        this.#queue.push({ tab, begin: () => void this.#hold(tab, work).then(resolve, reject) });
        if (!this.#locked) this.#pass();
      });
    return { request };
  }

  async #hold(tab, work) {
    try {
      return await work();
    } finally {
      if (this.#locked === tab) this.#pass();
    }
  }

  #pass() {
    const next = this.#queue.shift();
    this.#locked = next?.tab ?? null;
    if (next) void this.world.step(next.tab).then(next.begin);
  }
}

const plain = (value) => JSON.parse(JSON.stringify(value));

class Tab {
  isDead = false;
  heardAt = null; // the server's time, in this life, awake and with no clock set while it was on its way
  requests = new Set(); // how to end what it still waits for once it is dead
  #openedAt;

  constructor(device) {
    this.device = device;
    this.#openedAt = device.mono;
    const clocks = () => ({ now: this.mono, wall: device.wall });
    this.times = new DeviceTimes({ clocks });
    this.store = this.#store();
    const fetch = device.world.network.fetchOf(this);
    const api = new Api({ key: () => "key", times: this.times, fetch, now: () => device.wall });
    this.courier = new Courier({ ...this.#carried(api), confirmed: () => device.confirmed });
    this.courier.kick();
  }

  /** The monotonic clock of this page, which begins with it. */
  get mono() {
    return this.device.mono - this.#openedAt;
  }

  #carried(api) {
    const { world } = this.device;
    const set = (fn, ms) => world.after(this, ms, fn);
    const timers = { set, clear: (timer) => world.cancel(timer), random: world.random };
    const sender = senderOf(this.store, { locks: this.device.hasLocks ? this.device.locksOf(this) : null });
    const onAnswer = (answer) => this.#onAnswer(answer);
    return { store: this.store, times: this.times, api, sender, timers, onAnswer };
  }

  #onAnswer({ receipts }) {
    const { sets, sleeps, world } = this.device;
    if (![...sets, ...sleeps].some((moment) => moment > world.now - 40_000)) this.heardAt = world.now;
    const lost = receipts.filter((receipt) => receipt.code === "hand_over");
    for (const { id } of lost) this.device.confirmed.delete(this.device.coachOf(id));
  }

  /** The disk, one step for the transaction and one until the page knows of it. */
  #store() {
    const { device } = this;
    const told = async (effect) => {
      const outcome = await device.world.step(this, effect);
      await device.world.step(this);
      return outcome;
    };
    return {
      entries: () => told(() => plain(device.entries)),
      put: (...entries) => told(() => device.write(plain(entries))),
      settle: (what) => told(() => device.settle(plain(what))),
      lease: (owner, ms) => told(() => device.lease(owner, ms)),
      release: (owner) => told(() => device.release(owner)),
    };
  }

  /** A coach does something; resolves when the page may say that it is kept. Returns the entry at once as well. */
  act({ kind, coach, body, after = [] }) {
    const { wall, world } = this.device;
    const id = newId();
    const stamp = this.times.stamp({ at: this.mono, wall });
    const entry = entryOf({ id, kind, coach, stamp, body, after });
    const truth = { at: world.now, offset: world.now - wall, heardAt: this.heardAt };
    const kept = this.store.put(entry).then(() => this.courier.kick());
    return { entry, truth, kept };
  }
}
