// Hands the tablet over, and gets the server to confirm it. Codes stay in this page's memory, and only until the server
// has answered. What an answer or its absence does is decided in holder_book.js; who holds the tablet stands in the
// state of the app.

import { EMPTY, asking, confirmed, lapsed, refused, took } from "./holder_book.js";
import { newId } from "./ids.js";

export const PATIENCE_MS = 4000; // a coach does not wait longer at the pad: then it is claimed
export const RETRY_MS = 5000;

const wait = (ms) => new Promise((resolve) => setTimeout(() => resolve({ status: "away" }), ms));

export class Holders {
  #app;
  #now;
  #patienceMs;
  #codes = new Map(); // by coach: never on the disk
  #timer = null;
  #isRetrying = false;

  /** `app`: `state` with `holder` and `holders`, `changed(news)`, `store`, `api`. */
  constructor(app, { now = Date.now, patienceMs = PATIENCE_MS } = {}) {
    this.#app = app;
    this.#now = now;
    this.#patienceMs = patienceMs;
  }

  get book() {
    const { holder, holders } = this.#app.state;
    return { holder, holders };
  }

  /** `[{ coach, name, asks }]`: whose code is to be typed. */
  asking() {
    return asking(this.book, this.#codes);
  }

  /** Ask again for what waits to be confirmed, from now on. */
  start() {
    if (this.#timer) return;
    this.#timer = setInterval(() => void this.retry(), RETRY_MS);
    globalThis.addEventListener?.("online", () => void this.retry());
  }

  /** Who holds the tablet counts from this instant; whether the device keeps it is another matter. */
  async #set(book) {
    const before = this.book;
    if (book.holder === before.holder && book.holders === before.holders) return;
    this.#app.changed(book);
    await this.#app.store.keep("holders", book.holders);
    await this.#app.store.keep("holder", book.holder);
  }

  /**
   * A coach takes over. Resolves with `{ status, sentence }`: "confirmed"; "claimed" where nobody answered in time; or
   * "refused", and then the tablet stays in the hands that it was in.
   */
  async claim(coach, name, code) {
    const before = this.book.holders[coach];
    const isOpen = before && !before.until; // what was logged since the first claim goes by the same hand-over
    const row = {
      name,
      hand_over: isOpen ? before.hand_over : newId(this.#now()),
      claimed_at: isOpen ? before.claimed_at : this.#iso(),
    };
    return this.#hand(coach, code, row, () => this.#set(took(this.book, coach, row)));
  }

  /** The code of a coach who is asked for it, whoever holds the tablet now. Resolves as `claim` does. */
  async confirm(coach, code) {
    if (this.book.holders[coach]?.until) await this.lapsed(coach); // said elsewhere: that one is over for good
    const row = this.book.holders[coach];
    if (!row) return { status: "refused", sentence: "This coach does not hold the tablet." };
    return this.#hand(coach, code, row, () => this.#set(refused(this.book, coach, row.hand_over, "")));
  }

  async #hand(coach, code, row, accept) {
    const asked = this.#ask(coach, row, code);
    const first = await Promise.race([asked, wait(this.#patienceMs)]);
    if (first.status === "refused") return first;
    this.start();
    await accept();
    if (first.status === "confirmed") await this.#hear(coach, row, first);
    else {
      this.#codes.set(coach, code);
      void asked.then((late) => this.#hear(coach, row, late));
    }
    return { status: first.status === "confirmed" ? "confirmed" : "claimed", sentence: "" };
  }

  async #ask(coach, row, code) {
    try {
      await this.#finishLeaving();
      const body = { id: row.hand_over, coach, code, claimed_at: row.claimed_at, sent_at: this.#iso() };
      const { status, data } = await this.#app.api.post("hand-over/", body);
      if (status === 200) return { status: "confirmed", answer: data };
      if (status >= 500 || status === 429) return { status: "away" };
      return { status: "refused", sentence: data?.detail ?? "The server did not take this code." };
    } catch {
      return { status: "away" };
    }
  }

  async #hear(coach, row, { status, answer, sentence }) {
    if (status === "away") return;
    this.#codes.delete(coach);
    const book = status === "confirmed" ? confirmed(this.book, answer) : null;
    await this.#set(book ?? refused(this.book, coach, row.hand_over, sentence));
    if (!book) return;
    this.#app.courier?.kick();
    void this.#app.listener?.look();
  }

  /** Ask the server once more about every claim whose code is still known. */
  async retry() {
    if (this.#isRetrying) return;
    this.#isRetrying = true;
    try {
      await this.#finishLeaving();
      for (const [coach, code] of this.#codes) {
        const row = this.book.holders[coach];
        if (row && !row.confirmed) await this.#hear(coach, row, await this.#ask(coach, row, code));
        else this.#codes.delete(coach);
      }
    } catch {
      // No answer: the next time.
    } finally {
      this.#isRetrying = false;
    }
  }

  /** This coach's hand-over is not in force any more. */
  async lapsed(coach) {
    await this.#set(lapsed(this.book, coach, { hand_over: newId(this.#now()), claimed_at: this.#iso() }));
  }

  /** Sign out: nobody holds it. What the server must hear of is told now, or as soon as it answers. */
  async leave() {
    this.#codes.clear();
    await this.#app.store.keep("leaving", true);
    await this.#app.store.forget("holders", "holder");
    this.#app.changed(EMPTY);
    await Promise.race([this.#finishLeaving().catch(() => null), wait(this.#patienceMs)]);
  }

  // Before any new hand-over: it would be ended with the old ones.
  async #finishLeaving() {
    if (!(await this.#app.store.kept("leaving"))) return;
    const { status } = await this.#app.api.post("leave/", {});
    if (status !== 200) throw new Error("The server did not hear that the tablet was left.");
    await this.#app.store.forget("leaving");
  }

  #iso() {
    return new Date(this.#now()).toISOString();
  }
}

const all = new WeakMap();

/** The hand-overs of an app: one for as long as its page lives. */
export function holdersOf(app) {
  if (!all.has(app)) all.set(app, new Holders(app));
  return all.get(app);
}

export const claim = (app, coach, name, code) => holdersOf(app).claim(coach, name, code);
export const confirm = (app, coach, code) => holdersOf(app).confirm(coach, code);
