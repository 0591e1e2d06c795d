// Carries the outbox to the server: one batch at a time, until nothing is due. What an answer does to the outbox is
// decided in outbox.js; here is only when to try, and how long to wait after a failure.

import { BATCH, actOf, due, fitting, isTooLarge, settled, tooLarge, troubled } from "./outbox.js";
import { senderOf } from "./sender.js";

export const LEAST_WAIT_MS = 1000;
export const MOST_WAIT_MS = 30_000; // and how often an idle page looks: another tab may have died with things unsent
export const NOT_YET_WAIT_MS = 10_000; // before what was answered "not yet" is asked again
const TOO_LARGE = 413; // also what stands before the server may say so, of less than the server itself would take

const browserTimers = {
  set: (fn, ms) => setTimeout(fn, ms),
  clear: (timer) => clearTimeout(timer),
  random: () => Math.random(),
};

/** The server answered, and did not take what was sent. */
class NotTaken extends Error {
  constructor(status, sentence) {
    super(sentence);
    this.status = status;
  }
}

/** Whether a status is about what was sent, and not about something on the way or about who sent it. */
const isAboutTheActs = (status) => status >= 400 && ![401, 403, 408, 429, 502, 503, 504].includes(status);

/** A listener that fails must not end the sending. */
function tell(listener, ...given) {
  try {
    listener(...given);
  } catch (error) {
    (globalThis.reportError ?? console.error)(error);
  }
}

export class Courier {
  #store;
  #times;
  #api;
  #confirmed;
  #onAnswer;
  #onState;
  #sender;
  #timers;
  #timer = null;
  #isRunning = false;
  #isWanted = false;
  #failures = 0;
  #limit = BATCH; // acts at once: fewer after trouble, so that one bad act does not hold up the others

  /**
   * `confirmed()`: the Set of coaches whose hand-over stands. `onAnswer(answer, entries)` after the outbox was settled
   * by an answer to these entries. `onState({ state, status, sentence })`: "sending", "idle", "away" (no answer),
   * "shut" (the server does not know this tablet any more) or "trouble" (it could not take what was sent).
   */
  constructor({ store, times, api, confirmed, onAnswer = () => {}, onState = () => {}, ...more }) {
    this.#store = store;
    this.#times = times;
    this.#api = api;
    this.#confirmed = confirmed;
    this.#onAnswer = onAnswer;
    this.#onState = onState;
    this.#sender = more.sender ?? senderOf(store);
    this.#timers = more.timers ?? browserTimers;
  }

  /** Send what waits from now on, whenever the network may be back. */
  start() {
    globalThis.addEventListener?.("online", () => this.kick());
    globalThis.document?.addEventListener("visibilitychange", () => document.hidden || this.kick());
    this.kick();
  }

  /** There may be something to send: look now, whatever the last failure said. Never throws. */
  kick() {
    this.#isWanted = true;
    if (!this.#isRunning) void this.#run();
  }

  async #run() {
    this.#isRunning = true;
    this.#timers.clear(this.#timer);
    let waitMs = MOST_WAIT_MS;
    while (this.#isWanted) {
      this.#isWanted = false;
      waitMs = await this.#pass();
    }
    this.#isRunning = false;
    this.#timer = this.#timers.set(() => this.kick(), waitMs);
  }

  /** Send until nothing is due; returns how long to wait before the next look. */
  async #pass() {
    try {
      return await this.#sender.alone((still) => this.#sendAll(still));
    } catch (error) {
      return this.#failed(error);
    }
  }

  async #sendAll(still) {
    const asked = new Set(); // in this pass: "not yet" is not asked again at once
    for (;;) {
      const entries = await this.#store.entries();
      const batch = fitting(due(entries, { confirmed: this.#confirmed(), limit: this.#limit, except: asked }));
      if (!batch.length) return this.#rest(entries.some((entry) => asked.has(entry.id) && entry.state !== "refused"));
      if (!(await still())) return MOST_WAIT_MS;
      if (isTooLarge(batch[0])) await this.#setAside(batch);
      else await this.#send(batch);
      for (const entry of batch) asked.add(entry.id);
    }
  }

  /** Nothing is sent of an entry that is larger than a request can be, and the others go on. */
  async #setAside([entry]) {
    await this.#store.settle({ changed: [tooLarge(entry)], sent: [entry] });
  }

  async #send(batch) {
    this.#say("sending");
    try {
      await this.#settle(batch, await this.#ask(batch));
    } catch (error) {
      if (isAboutTheActs(error.status)) await this.#narrow(batch, error);
      throw error;
    }
    this.#failures = 0;
    this.#limit = Math.min(BATCH, this.#limit * 2);
  }

  async #ask(batch) {
    const { status, data } = await this.#api.post("acts/", { ...this.#times.envelope(), acts: batch.map(actOf) });
    if (status !== 200) throw new NotTaken(status, data?.detail ?? data?.title ?? "");
    return data;
  }

  async #settle(batch, answer) {
    const what = settled(batch, answer);
    if (what.gone.length + what.changed.length === 0) throw new NotTaken(0, "The answer named nothing that was sent.");
    await this.#store.settle({ ...what, sent: batch });
    tell(this.#onAnswer, answer, batch);
  }

  /** The server cannot take this batch: send fewer, until the one that is to blame stands alone and goes to the end. */
  async #narrow(batch, { status, message }) {
    this.#limit = Math.max(1, Math.floor(batch.length / 2));
    if (batch.length > 1) return;
    if (status === TOO_LARGE) return this.#setAside(batch);
    const reason = message || `The server could not take this one (${status}). It is tried again.`;
    return this.#store.settle({ changed: [troubled(batch[0], reason)], sent: batch });
  }

  #rest(hasNotYet) {
    this.#say("idle");
    return hasNotYet ? NOT_YET_WAIT_MS : MOST_WAIT_MS;
  }

  #failed({ status = 0, message }) {
    const state = status === 401 ? "shut" : isAboutTheActs(status) ? "trouble" : "away";
    this.#say(state, status, message);
    const waitMs = Math.min(MOST_WAIT_MS, LEAST_WAIT_MS * 2 ** this.#failures);
    this.#failures = Math.min(this.#failures + 1, 10);
    return waitMs * (0.5 + this.#timers.random() / 2);
  }

  #say(state, status = 0, sentence = "") {
    tell(this.#onState, { state, status, sentence });
  }
}
