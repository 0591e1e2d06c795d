// The names of the coaches who may take the tablet over: as the device keeps them, and as the server has them, which is
// asked until it has answered and whenever the network is back.

export const ASK_AGAIN_MS = 5000;

const browserTimers = { set: (fn, ms) => setTimeout(fn, ms), clear: (timer) => clearTimeout(timer) };

export class CoachNames {
  #app;
  #timers;
  #timer = null;
  #isOpen = false;
  #isAsking = false;
  #back = () => void this.ask();

  /** `app`: `state` with `coaches`, `changed(news)`, `store`, `api`. */
  constructor(app, { timers = browserTimers } = {}) {
    this.#app = app;
    this.#timers = timers;
  }

  /** Learn the names, for as long as a screen shows them. */
  async open() {
    this.#isOpen = true;
    globalThis.addEventListener?.("online", this.#back);
    const kept = await this.#app.store.kept("coaches");
    if (kept) this.#app.changed({ coaches: kept });
    await this.ask();
  }

  close() {
    this.#isOpen = false;
    globalThis.removeEventListener?.("online", this.#back);
    this.#timers.clear(this.#timer);
  }

  /** Ask the server now, and again in a while where it does not answer. */
  async ask() {
    if (this.#isAsking || !this.#isOpen) return;
    this.#isAsking = true;
    this.#timers.clear(this.#timer);
    const answer = await this.#app.api.get("hello/").catch(() => null);
    this.#isAsking = false;
    if (this.#isOpen) await this.#hear(answer);
  }

  async #hear(answer) {
    if (answer?.status === 401) return this.#app.changed({ isShut: true });
    if (answer?.status !== 200) return this.#later();
    this.#app.changed({ coaches: answer.data.coaches, online: true });
    return this.#app.store.keep("coaches", answer.data.coaches).catch(() => {});
  }

  /** The device goes by what it has: a tablet without a network must be handed over too. */
  #later() {
    this.#timer = this.#timers.set(() => void this.ask(), ASK_AGAIN_MS);
    if (!this.#app.state.coaches) this.#app.changed({ coaches: [] });
  }
}
