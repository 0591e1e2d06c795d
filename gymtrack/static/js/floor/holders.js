// Hands the tablet over, keeps who holds it, and gets the server to confirm it. Codes stay in this page's memory, and
// only until the server has answered. What an answer or its absence does to the book is decided in holder_book.js.

import { EMPTY, asking, confirmed, confirmedOf, lapsed, lapsedBy, refused, reopened, took } from "./holder_book.js";
import { newId } from "./ids.js";

export const PATIENCE_MS = 4000; // a coach does not wait longer at the pad: then it is claimed
export const RETRY_MS = 5000;

const wait = (ms) => new Promise((resolve) => setTimeout(() => resolve({ status: "away" }), ms));

export class Holders {
  #store;
  #api;
  #now;
  #patienceMs;
  #onChange;
  #codes = new Map(); // by coach: never on the disk
  #book = EMPTY;
  #isRetrying = false;

  /** `onChange(book)` after each change. `api.post` as in api.js. */
  constructor({ store, api, onChange = () => {}, ...more }) {
    this.#store = store;
    this.#api = api;
    this.#onChange = onChange;
    this.#now = more.now ?? Date.now;
    this.#patienceMs = more.patienceMs ?? PATIENCE_MS;
  }

  get book() {
    return this.#book;
  }

  /** Ids of the coaches whose results may be sent: for the courier. */
  confirmed() {
    return confirmedOf(this.#book);
  }

  /** `[{ coach, name, asks }]`: whose code is to be typed. */
  asking() {
    return asking(this.#book);
  }

  /** Take up what is kept on this device. */
  async open() {
    await this.#read();
    await this.#set(reopened(this.#book));
    this.#store.onChange?.(({ kept = [] }) => kept.some((key) => key.startsWith("holder")) && void this.#read());
  }

  /** Ask again for what waits to be confirmed, from now on. */
  start() {
    setInterval(() => void this.retry(), RETRY_MS);
    globalThis.addEventListener?.("online", () => void this.retry());
  }

  async #read() {
    const [holder, holders] = [await this.#store.kept("holder"), await this.#store.kept("holders")];
    this.#book = { holder: holder ?? null, holders: holders ?? {} };
    this.#onChange(this.#book);
  }

  async #set(book) {
    if (book === this.#book) return;
    this.#book = book;
    this.#onChange(book);
    await this.#store.keep("holders", book.holders);
    await this.#store.keep("holder", book.holder);
  }

  /**
   * A coach takes over. Resolves with `{ status, sentence }`: "confirmed"; "claimed" where nobody answered in time; or
   * "refused", and then the tablet stays in the hands that it was in.
   */
  async claim(coach, name, code) {
    const before = this.#book.holders[coach];
    const isOpen = before && !before.confirmed; // what was logged since the first claim goes by the same hand-over
    const row = {
      name,
      hand_over: isOpen ? before.hand_over : newId(this.#now()),
      claimed_at: isOpen ? before.claimed_at : this.#iso(),
    };
    return this.#hand(coach, code, row, () => this.#set(took(this.#book, coach, row)));
  }

  /** The code of a coach who is asked for it, whoever holds the tablet now. Resolves as `claim` does. */
  async confirm(coach, code) {
    const row = this.#book.holders[coach];
    if (!row || row.confirmed) return { status: "confirmed", sentence: "" };
    return this.#hand(coach, code, row, () => this.#set(refused(this.#book, coach, row.hand_over, "")));
  }

  async #hand(coach, code, row, accept) {
    const asked = this.#ask(coach, row, code);
    const first = await Promise.race([asked, wait(this.#patienceMs)]);
    if (first.status === "refused") return first;
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
      const { status, data } = await this.#api.post("hand-over/", body);
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
    const book = status === "confirmed" ? confirmed(this.#book, answer) : null;
    await this.#set(book ?? refused(this.#book, coach, row.hand_over, sentence));
  }

  /** Ask the server once more about every claim whose code is still known. */
  async retry() {
    if (this.#isRetrying) return;
    this.#isRetrying = true;
    try {
      await this.#finishLeaving();
      for (const [coach, code] of this.#codes) {
        const row = this.#book.holders[coach];
        if (row && !row.confirmed) await this.#hear(coach, row, await this.#ask(coach, row, code));
        else this.#codes.delete(coach);
      }
    } catch {
      // No answer: the next time.
    } finally {
      this.#isRetrying = false;
    }
  }

  /** A call said that this coach's hand-over is not in force. */
  async lapsed(coach) {
    await this.#set(lapsed(this.#book, coach, { hand_over: newId(this.#now()), claimed_at: this.#iso() }));
  }

  /** What an answer of the courier says of hand-overs. */
  async heard(answer, entries) {
    for (const coach of lapsedBy(answer?.receipts, entries)) await this.lapsed(coach);
  }

  /** Sign out: nobody holds it. What the server must hear of is told now, or as soon as it answers. */
  async leave() {
    this.#codes.clear();
    await this.#store.keep("leaving", true);
    await this.#store.forget("holders", "holder");
    this.#book = EMPTY;
    this.#onChange(EMPTY);
    await Promise.race([this.#finishLeaving().catch(() => null), wait(this.#patienceMs)]);
  }

  // Before any new hand-over: it would be ended with the old ones.
  async #finishLeaving() {
    if (!(await this.#store.kept("leaving"))) return;
    const { status } = await this.#api.post("leave/", {});
    if (status !== 200) throw new Error("The server did not hear that the tablet was left.");
    await this.#store.forget("leaving");
  }

  #iso() {
    return new Date(this.#now()).toISOString();
  }
}
