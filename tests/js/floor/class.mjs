// A class in the simulated world: coaches on two tablets log holds, take some back and enter some again, while things
// go wrong. In the end somebody puts right what can be put right. Whatever is claimed to be kept is remembered, with
// the true time of it.
import { load } from "../load.mjs";
import { Device } from "./devices.mjs";
import { Network, World } from "./world.mjs";

const { actOf, dependents, mended, retried } = await load("floor/outbox.js");

const HOURS = 3_600_000;
const TICKS_PER_HOLD = 12;
const MOST_TICKS = 200_000;

export class Class {
  claimed = new Map(); // by id: { entry, device, truth }: the page said that it is kept
  lost = 0; // holds that no page claimed, and that were entered again
  misdeeds = []; // entries that left an outbox without being stored
  taken = new Map(); // how often each fault came
  #pending = new Set(); // { tab, device, entry, truth, redo }: put, and not yet claimed
  #left; // holds that are still to come
  #owed = 0; // corrections that are still to come
  #corrections = new Map(); // by id of what is corrected: the kind
  #faults;
  #nobody = { isDead: false };

  constructor(seed, { holds = 500, faults = 50 } = {}) {
    this.world = new World(seed);
    this.holds = Array.from({ length: holds }, (_, number) => number);
    this.#left = [...this.holds];
    this.#faults = Array.from({ length: faults }, () => Math.floor(this.world.random() * holds));
    this.world.onGone = (entry) => this.#checkGone(entry);
    this.devices = ["one", "two"].map((coach) => this.#device(coach));
    this.choking = this.world.pick(this.holds);
  }

  #device(coach) {
    const device = new Device(this.world, { hasLocks: this.world.chance(0.5) });
    Object.assign(device, { coach });
    this.world.server.holding.add(coach);
    device.confirmed.add(coach);
    device.open();
    return device;
  }

  /** What leaves the outbox is at the server, as it was on the device. */
  #checkGone(entry) {
    const digest = this.world.server.acts.get(entry.id)?.digest;
    if (digest !== JSON.stringify(actOf(entry))) this.misdeeds.push(entry);
  }

  async run() {
    while (!this.#isDone()) {
      if (this.#left.length && this.world.chance(1 / TICKS_PER_HOLD)) this.#logHold();
      while (this.#faults.some((at) => at <= this.holds.length - this.#left.length)) this.#nextFault();
      if (this.world.chance(0.01)) this.#lookAfter();
      await this.world.tick();
    }
  }

  #isDone() {
    return this.#left.length + this.#pending.size + this.#owed === 0;
  }

  // ---- People ---------------------------------------------------------------------------------------------------

  #logHold() {
    const device = this.world.pick(this.devices);
    if (!device.tabs.length) return;
    const hold = this.#left.shift();
    const seconds = this.world.chance(0.02) ? -1 : 5;
    const body = { hold, seconds, ...(hold === this.choking && { chokes: true }) };
    this.#act(device, { kind: "attempt", body }, () => this.#left.push(hold));
  }

  #act(device, what, redo) {
    const tab = this.world.pick(device.tabs);
    const { entry, truth, kept } = tab.act({ coach: device.coach, ...what });
    const pending = { tab, device, entry, truth, redo };
    this.#pending.add(pending);
    kept.then(
      () => this.#claim(pending),
      () => this.#giveUp(pending),
    );
  }

  #claim({ device, entry, truth, ...pending }) {
    this.#forget(entry);
    this.claimed.set(entry.id, { entry, device, truth });
    if (entry.body.seconds < 0 && this.world.chance(0.5)) return;
    if (entry.kind !== "void" && this.world.chance(0.2)) this.#correct(device, entry, pending);
  }

  /** Take back or enter again, at once or later; by then another tab may have stored the first. */
  #correct(device, { id, body }) {
    const kind = this.world.pick(["void", "mend"]);
    const act = { kind, body: { attempt: id, hold: body.hold }, after: [id] };
    const again = () => {
      this.#owed += 1;
      this.world.after(this.#nobody, this.world.between(0, 20_000), go);
    };
    const go = () => {
      this.#owed -= 1;
      if (device.tabs.length) this.#act(device, act, again);
      else again();
    };
    this.#corrections.set(id, kind);
    again();
  }

  #forget(entry) {
    for (const pending of this.#pending) if (pending.entry.id === entry.id) this.#pending.delete(pending);
  }

  #giveUp(pending) {
    this.#pending.delete(pending);
    this.lost += 1;
    pending.redo();
  }

  /** The page died before it could say so: whoever opens it again sees what is kept, and enters what is not. */
  #kill(device, tab) {
    device.kill(tab);
    for (const pending of [...this.#pending].filter((one) => one.tab === tab)) {
      const { id } = pending.entry;
      const isThere = device.entries.some((entry) => entry.id === id) || this.world.server.acts.has(id);
      if (isThere) this.#claim(pending);
      else this.#giveUp(pending);
    }
  }

  /** What people do now and then: open the page again, give their code again. */
  #lookAfter() {
    const device = this.world.pick(this.devices);
    if (!device.tabs.length) device.open();
    if (this.world.chance(0.3)) this.#giveCode(device);
  }

  #giveCode(device) {
    this.world.server.holding.add(device.coach);
    device.confirmed.add(device.coach);
    for (const tab of device.tabs) tab.courier.kick();
  }

  // ---- Faults ---------------------------------------------------------------------------------------------------

  #nextFault() {
    this.#faults.splice(this.#faults.indexOf(Math.min(...this.#faults)), 1);
    const name = this.world.pick(Object.keys(this.#kinds));
    this.taken.set(name, (this.taken.get(name) ?? 0) + 1);
    this.#kinds[name](this.world.pick(this.devices));
  }

  #lasting(begin, end) {
    begin();
    this.world.after(this.#nobody, this.world.between(1000, 40_000), end);
  }

  #kinds = {
    ...Object.fromEntries([...Network.fates, "mixed"].map((fate) => [fate, () => this.#network(fate)])),
    restart: () => this.world.server.restart(),
    revoked: () => this.#flag(this.world.server, "knowsTablets", false),
    full: (device) => this.#flag(device, "isFull", true),
    "code ran out": ({ coach }) => this.world.server.holding.delete(coach),
    "no right": ({ coach }) => this.#withoutRight(coach),
    "tab killed": (device) => device.tabs.length && this.#kill(device, this.world.pick(device.tabs)),
    "device killed": (device) => device.tabs.forEach((tab) => this.#kill(device, tab)),
    "second tab": (device) => device.tabs.length < 3 && device.open(),
    "clock set": (device) => device.setClock(this.world.between(-9, 9) * HOURS),
    slept: (device) => device.sleep(this.world.between(5000, 300_000)),
  };

  #network(fate) {
    const { network } = this.world;
    this.#lasting(
      () => (network.fate = fate),
      () => (network.fate = "fine"),
    );
  }

  #withoutRight(coach) {
    const { rightless } = this.world.server;
    this.#lasting(
      () => rightless.add(coach),
      () => rightless.delete(coach),
    );
  }

  #flag(on, name, value) {
    this.#lasting(
      () => (on[name] = value),
      () => (on[name] = !value),
    );
  }

  // ---- The end --------------------------------------------------------------------------------------------------

  /** Everything works again but for one act that the server cannot read; wait until nothing moves. */
  async settleDown() {
    Object.assign(this.world.network, { fate: "fine" });
    Object.assign(this.world.server, { knowsTablets: true });
    this.world.server.rightless.clear();
    for (const device of this.devices) this.#recover(device);
    await this.#until(() => this.devices.every((device) => this.#rests(device)));
  }

  #recover(device) {
    device.isFull = false;
    if (!device.tabs.length) device.open();
    this.#giveCode(device);
  }

  #rests({ entries }) {
    const still = entries.filter((entry) => entry.state === "refused" || (entry.body.chokes && entry.refusal));
    const behind = new Set(still.flatMap((entry) => [entry.id, ...dependents(entries, entry.id)]));
    return this.#isDone() && entries.every((entry) => behind.has(entry.id));
  }

  /** People go through what was refused, and the server learns to read the one that it could not. */
  async putRight() {
    this.world.server.chokes = false;
    await this.#until(() => {
      for (const device of this.devices) this.#mendAll(device);
      return this.devices.every((device) => device.entries.length === 0 && this.#isDone());
    });
  }

  #mendAll(device) {
    const refused = device.entries.filter(({ state }) => state === "refused");
    const right = ({ refusal, ...entry }) =>
      refusal.code === "mistakes" ? mended({ ...entry, refusal }, { seconds: 5 }, "") : retried({ ...entry, refusal });
    device.write(refused.map(right));
    if (refused.length) this.#giveCode(device);
  }

  async #until(isSo) {
    for (let ticks = 0; !isSo(); ticks += 1) {
      const left = () => JSON.stringify(this.devices.map((device) => device.entries.slice(0, 3)));
      if (ticks > MOST_TICKS) throw new Error(`still waiting: ${left()}`);
      await this.world.tick();
    }
  }

  close() {
    for (const device of this.devices) for (const tab of [...device.tabs]) device.kill(tab);
  }

  correctionOf = (id) => this.#corrections.get(id) ?? "";
}
