// A simulated world for the outbox: devices with tabs and a disk, a network, a server. What runs on the devices is the
// page's own code: Courier, the senders, Api, DeviceTimes, the outbox and the rules of the store. All that they wait for
// is a step that this world takes when it likes, in any order; a tab that is killed takes no further step.
import { load } from "../load.mjs";

const { Api } = await load("floor/api.js");
const { Courier } = await load("floor/courier.js");
const { DeviceTimes } = await load("floor/times.js");
const { entryOf } = await load("floor/outbox.js");
const { newId } = await load("floor/ids.js");
const { senderOf } = await load("floor/sender.js");
const { mayLease, settledEntries } = await load("floor/store_rules.js");

const START = Date.parse("2026-03-02T17:00:00Z");
const never = () => new Promise(() => {});
const drained = () => new Promise((resolve) => setImmediate(resolve));

/** A seeded generator of numbers from 0 to 1 (mulberry32). */
export function randomOf(seed) {
  let state = seed >>> 0;
  return () => {
    state = (state + 0x6d2b79f5) >>> 0;
    let mixed = Math.imul(state ^ (state >>> 15), 1 | state);
    mixed = (mixed + Math.imul(mixed ^ (mixed >>> 7), 61 | mixed)) ^ mixed;
    return ((mixed ^ (mixed >>> 14)) >>> 0) / 2 ** 32;
  };
}

export class World {
  now = START; // true time, which nobody in here knows
  #steps = [];
  #timers = [];

  constructor(seed) {
    this.random = randomOf(seed);
    this.server = new Server(this);
    this.network = new Network(this);
    this.devices = [];
  }

  chance = (share) => this.random() < share;
  between = (low, high) => low + this.random() * (high - low);
  pick = (list) => list[Math.floor(this.random() * list.length)];

  /** Something that `owner` waits for: `effect` happens when the world gets to it, and never once the owner is dead. */
  step(owner, effect = () => {}) {
    if (owner.isDead) return never();
    return new Promise((resolve, reject) => this.#steps.push({ owner, effect, resolve, reject }));
  }

  after(owner, ms, fn) {
    const timer = { owner, at: this.now + ms, fn };
    this.#timers.push(timer);
    return timer;
  }

  cancel(timer) {
    this.#timers = this.#timers.filter((other) => other !== timer);
  }

  /** Let one thing happen, whichever; time goes on. */
  async tick() {
    this.now += this.between(0, 40);
    if (this.#steps.length && !this.chance(0.02)) this.#takeStep();
    else this.#passTime();
    for (const timer of this.#timers.filter((due) => due.at <= this.now)) this.#ring(timer);
    await drained();
  }

  #takeStep() {
    const [step] = this.#steps.splice(Math.floor(this.random() * this.#steps.length), 1);
    if (step.owner.isDead) return;
    try {
      step.resolve(step.effect());
    } catch (error) {
      step.reject(error);
    }
  }

  #passTime() {
    const next = Math.min(...this.#timers.map((timer) => timer.at), this.now + 5000);
    this.now = Math.max(this.now, this.chance(0.5) ? next : this.now + this.between(0, 1000));
  }

  #ring(timer) {
    this.cancel(timer);
    if (!timer.owner.isDead) timer.fn();
  }
}

// ---- The server -------------------------------------------------------------------------------------------------

const NO_ANSWER = Symbol("no answer");

class Server {
  acts = new Map(); // by id: { digest, receipt, act, sent, received, sentLife }
  rows = new Map(); // attempts by id: { id, hold, happened, voidedBy }
  holding = new Set(); // coaches whose hand-over stands
  rightless = new Set();
  knowsTablets = true;
  chokes = true; // on an act that makes it fail
  #world;
  #life = { isDead: false, onDeath: new Set() };

  constructor(world) {
    this.#world = world;
  }

  /** The service is killed and started again: what was not committed is gone, whoever waits gets nothing. */
  restart() {
    this.#life.isDead = true;
    this.#life.onDeath.forEach((told) => told());
    this.#life = { isDead: false, onDeath: new Set() };
  }

  /** Answer a request, or NO_ANSWER when the service dies on the way. Each act is a transaction of its own. */
  async handle(body, sent) {
    const life = this.#life;
    const died = new Promise((resolve) => life.onDeath.add(() => resolve(NO_ANSWER)));
    return Promise.race([died, this.#answer(life, JSON.parse(body), { sent, received: this.#world.now })]);
  }

  async #answer(life, { acts, ...envelope }, when) {
    await this.#world.step(life);
    if (!this.knowsTablets) return { status: 401, data: { code: "tablet" } };
    if (this.chokes && acts.some((act) => act.body.chokes)) return { status: 400, data: { detail: "Not read." } };
    const receipts = [];
    for (const act of acts) receipts.push(await this.#world.step(life, () => this.#take(act, envelope, when)));
    await this.#world.step(life);
    return { status: 200, data: { at: new Date(this.#world.now).toISOString(), receipts } };
  }

  #take(act, envelope, when) {
    const digest = JSON.stringify(act);
    const seen = this.acts.get(act.id);
    if (seen) return seen.digest === digest ? seen.receipt : refusal(act, "taken");
    const code = this.#objection(act);
    if (code) return refusal(act, code);
    const happened = happenedAt(act, envelope, when.received);
    const receipt = { id: act.id, status: "stored", happened_at: happened };
    this.acts.set(act.id, { digest, receipt, act, ...when, sentLife: envelope.life });
    this.#apply(act, happened);
    return receipt;
  }

  #objection(act) {
    if (!this.holding.has(act.coach)) return "hand_over";
    if (act.kind !== "attempt" && !this.rows.has(act.body.attempt)) return "early";
    if (this.rightless.has(act.coach)) return "right";
    return act.body.seconds < 0 ? "mistakes" : "";
  }

  #apply(act, happened) {
    if (act.kind !== "attempt") this.rows.get(act.body.attempt).voidedBy = act.id;
    const row = { id: act.id, hold: act.body.hold, kind: act.kind, happened, voidedBy: "" };
    if (act.kind !== "void") this.rows.set(act.id, row);
  }
}

const refusal = (act, code) => ({ id: act.id, status: "refused", code, reason: `Not stored: ${code}.`, mistakes: [] });

/** The moment of an act as the server makes it from what the device tells of its two clocks. */
function happenedAt(act, envelope, received) {
  const device = Date.parse(act.device_at);
  const wall = Date.parse(envelope.sent_at) - device;
  const mono = envelope.mono_ms - act.mono_ms;
  const offsetNow = received - Date.parse(envelope.sent_at);
  const isSameLife = act.life === envelope.life;
  if (isSameLife && Math.abs(wall - mono) <= 2000) return received - wall;
  if (!isSameLife) return device + (act.offset_ms ?? offsetNow);
  const slept = act.offset_ms !== null && Math.abs(act.offset_ms - offsetNow) <= 2000;
  return slept ? device + offsetNow : received - mono;
}

// ---- The network ------------------------------------------------------------------------------------------------

const jsonOf = (status, data) => ({ status, type: "basic", headers: headersOf("application/json"), json: async () => data });
const pageOf = (status) => ({ status, type: "basic", headers: headersOf("text/html; charset=utf-8"), json: never });
const headersOf = (type) => ({ get: (name) => (name === "Content-Type" ? type : null) });

const SIGN_IN = { status: 0, type: "opaqueredirect", headers: headersOf(""), json: never };

export class Network {
  fate = "fine"; // what befalls requests now; "mixed" is any of them
  #world;

  constructor(world) {
    this.#world = world;
  }

  static fates = ["gone", "lost", "answer lost", "slow", "twice", "sign in", "hot spot", "odd", "fails", "fails after"];

  /** What `fetch` is for a tab: rejects as a fetch does, on no network and when the page stops waiting for an answer. */
  fetchOf(tab) {
    return (_address, { body }) =>
      new Promise((resolve, reject) => {
        if (tab.isDead) return reject(new Error("the tab is dead"));
        const told = (fn, value) => void this.#world.step(tab).then(() => fn(value));
        const stop = this.#world.after(tab, 15_000, () => told(reject, new Error("timeout")));
        tab.requests.add(() => reject(new Error("the tab is dead")));
        void this.#carry(body, this.#world.now).then((answer) => {
          if (answer === null) return; // the page waits until it waits no longer
          this.#world.cancel(stop);
          if (answer === NO_ANSWER) told(reject, new TypeError("network"));
          else told(resolve, answer);
        });
      });
  }

  async #carry(body, sent) {
    const fate = this.fate === "mixed" ? this.#world.pick(["fine", ...Network.fates]) : this.fate;
    if (fate === "gone") return NO_ANSWER;
    if (fate === "lost") return null;
    if (fate === "sign in") return SIGN_IN;
    if (fate === "hot spot") return pageOf(200);
    if (fate === "odd") return jsonOf(200, this.#oddOf(body));
    if (fate === "fails") return this.#world.pick([pageOf(500), pageOf(502), jsonOf(500, {}), jsonOf(429, {})]);
    await this.#delay(fate === "slow" ? 9000 : 120);
    if (fate === "twice") void this.#again(body, sent);
    const answer = await this.#world.server.handle(body, sent);
    if (answer === NO_ANSWER) return NO_ANSWER;
    if (fate === "fails after") return pageOf(504);
    if (fate === "answer lost") return null;
    await this.#delay(fate === "slow" ? 9000 : 120);
    return jsonOf(answer.status, answer.data);
  }

  /** JSON of something else: receipts that name nothing that was sent, or name it without saying what became of it. */
  #oddOf(body) {
    const unsaid = JSON.parse(body).acts.map(({ id }) => ({ id }));
    const foreign = [{ id: newId(), status: "stored" }];
    return this.#world.pick([{}, [], { receipts: null }, { receipts: foreign }, { receipts: unsaid }]);
  }

  async #again(body, sent) {
    await this.#delay(12_000);
    await this.#world.server.handle(body, sent);
  }

  #delay(most) {
    const wire = { isDead: false };
    return new Promise((resolve) => this.#world.after(wire, this.#world.between(1, most), resolve));
  }
}

// ---- Devices ----------------------------------------------------------------------------------------------------

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
  hasHeard = false; // the server's time, in this life
  requests = new Set(); // how to end what it still waits for once it is dead

  constructor(device) {
    this.device = device;
    const clocks = () => ({ now: device.mono, wall: device.wall });
    this.times = new DeviceTimes({ clocks });
    this.store = this.#store();
    const fetch = device.world.network.fetchOf(this);
    const api = new Api({ key: () => "key", times: this.times, fetch, now: () => device.wall });
    this.courier = new Courier({ ...this.#carried(api), confirmed: () => device.confirmed });
    this.courier.kick();
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
    this.hasHeard = true;
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
    const { wall, mono, world } = this.device;
    const id = newId();
    const stamp = this.times.stamp({ at: mono, wall });
    const entry = entryOf({ id, kind, coach, stamp, body, after });
    const truth = { at: world.now, offset: world.now - wall, hasHeard: this.hasHeard };
    const kept = this.store.put(entry).then(() => this.courier.kick());
    return { entry, truth, kept };
  }
}
