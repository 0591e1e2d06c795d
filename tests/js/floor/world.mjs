// A simulated world for the outbox: time, a network, a server; devices are in devices.mjs. What anybody waits for is
// a step that this world takes when it likes, in any order; who is dead takes no further step.
import { load } from "../load.mjs";

const { newId } = await load("floor/ids.js");

export const START = Date.parse("2026-03-02T17:00:00Z");
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
  hasty = []; // acts that came before what they are about, which a device never sends
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
    if (code === "early") this.hasty.push(act);
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
  if (act.offset_ms !== null && Math.abs(act.offset_ms - offsetNow) <= 2000) return device + act.offset_ms;
  if (act.life !== envelope.life) return device + (act.offset_ms ?? offsetNow);
  return Math.abs(wall - mono) <= 2000 ? received - wall : received - mono;
}

// ---- The network ------------------------------------------------------------------------------------------------

const jsonOf = (status, data) => ({ ...answerOf(status, "application/json"), json: async () => data });
const pageOf = (status) => ({ ...answerOf(status, "text/html; charset=utf-8"), json: never });
const answerOf = (status, type) => ({ status, type: "basic", headers: headersOf(type) });
const headersOf = (type) => ({ get: (name) => (name === "Content-Type" ? type : null) });

const SIGN_IN = { status: 0, type: "opaqueredirect", headers: headersOf(""), json: never };

export class Network {
  fate = "fine"; // what befalls requests now; "mixed" is any of them
  misdeeds = []; // of tabs with locks: two that send at once, one that sends in the name of nobody who is confirmed
  #world;
  #asking = new Set(); // tabs that wait for an answer

  constructor(world) {
    this.#world = world;
  }

  static fates = ["gone", "lost", "answer lost", "slow", "twice", "sign in", "hot spot", "odd", "fails", "fails after"];

  /** What `fetch` is for a tab: it rejects on no network, and when the page stops waiting for an answer. */
  fetchOf(tab) {
    return (_address, { body }) =>
      new Promise((resolve, reject) => {
        if (tab.isDead) return reject(new Error("the tab is dead"));
        if (tab.device.hasLocks) this.#note(tab, JSON.parse(body).acts);
        this.#asking.add(tab);
        const told = (fn, value) => {
          this.#asking.delete(tab);
          void this.#world.step(tab).then(() => fn(value));
        };
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

  #note(tab, acts) {
    const isOther = (other) => other !== tab && !other.isDead && other.device === tab.device;
    if ([...this.#asking].some(isOther)) this.misdeeds.push("two tabs send at once");
    const unheld = acts.filter(({ coach }) => !tab.device.confirmed.has(coach));
    this.misdeeds.push(...unheld.map(({ id }) => `sent without a confirmed coach: ${id}`));
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
