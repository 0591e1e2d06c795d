// The store of a browser that keeps nothing: it lasts as long as the page, and says so.

import { boardsToForget, settledEntries } from "./store_rules.js";

const copy = (value) => (value === undefined ? value : structuredClone(value));

export class MemoryStore {
  isDurable = false;
  #kept = new Map();
  #entries = [];
  #seq = 0;

  async kept(key) {
    return copy(this.#kept.get(key));
  }

  async keep(key, value) {
    this.#kept.set(key, copy(value));
    const all = [...this.#kept].filter(([name]) => name.startsWith("board:"));
    const boards = all.map(([name, board]) => ({ key: name, at: board?.at ?? "" }));
    for (const old of boardsToForget(boards)) this.#kept.delete(old);
  }

  async forget(...keys) {
    keys.forEach((key) => this.#kept.delete(key));
  }

  async keys() {
    return [...this.#kept.keys()];
  }

  async entries() {
    return copy(this.#entries);
  }

  async put(...entries) {
    for (const entry of copy(entries)) {
      const place = this.#entries.findIndex((other) => other.id === entry.id);
      if (place < 0) this.#entries.push({ ...entry, seq: (this.#seq += 1) });
      else this.#entries[place] = { ...entry, seq: this.#entries[place].seq };
    }
  }

  async settle(what) {
    const { gone, changed } = settledEntries(this.#entries, copy(what));
    const news = new Map(changed.map((entry) => [entry.seq, entry]));
    this.#entries = this.#entries.filter(({ seq }) => !gone.includes(seq)).map((entry) => news.get(entry.seq) ?? entry);
  }

  async lease() {
    return true; // what only this page has, only this page sends
  }

  async release() {}

  onChange() {
    return () => {};
  }

  async close() {}
}
