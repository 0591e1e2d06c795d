// What this device keeps, in IndexedDB: the outbox, and beside it a few values that may be fetched again. `put`
// resolves when the result is on the disk and not before. An outbox outlives every version of this app: upgrades add.

import { Database, done } from "./database.js";
import { MemoryStore } from "./memory_store.js";
import { boardsToForget, isCopy, mayLease, settledEntries } from "./store_rules.js";

const NAME = "floor";
const CHANNEL = "floor-store";

const FULL = "This tablet is full: this was not kept. Free some room on it, then enter it again.";
const FAILED = "This tablet could not keep this. Enter it again.";

/** Nothing was kept, and the message says so in a sentence for the coach. */
export class NotKept extends Error {
  constructor(cause) {
    const isFull = cause?.name === "QuotaExceededError";
    super(isFull ? FULL : FAILED);
    this.name = "NotKept";
    this.isFull = isFull;
    this.cause = cause;
  }
}

/** Open what the device keeps. Where there is no IndexedDB it is kept in this page alone: `isDurable` is false. */
export async function openStore({ idb = globalThis.indexedDB, name = NAME } = {}) {
  const store = new Store(idb, name);
  try {
    await store.entries();
    return store;
  } catch {
    return new MemoryStore();
  }
}

class Store {
  isDurable = true;
  #database;
  #channel = globalThis.BroadcastChannel ? new BroadcastChannel(CHANNEL) : null;

  constructor(idb, name) {
    this.#database = new Database(idb, name);
  }

  /** The value kept under `key`, or undefined. */
  async kept(key) {
    return this.#read("kept", (values) => done(values.get(key)));
  }

  /** Keep `value` under `key`. Of boards only the newest few stay (by their `at`). */
  async keep(key, value) {
    await this.#write("kept", isCopy(key) ? "relaxed" : "strict", async (values) => {
      values.put(value, key);
      if (key.startsWith("board:")) for (const old of boardsToForget(await boards(values))) values.delete(old);
    });
    this.#tell({ kept: [key] });
  }

  /** Keep nothing under these keys any more. */
  async forget(...keys) {
    await this.#write("kept", "strict", (values) => keys.forEach((key) => values.delete(key)));
    this.#tell({ kept: keys });
  }

  /** The keys of everything kept beside the outbox. */
  async keys() {
    return this.#read("kept", (values) => done(values.getAllKeys()));
  }

  /** All entries of the outbox, in the order of making. */
  async entries() {
    return this.#read("entries", (entries) => done(entries.getAll()));
  }

  /**
   * Put entries into the outbox, all or none. Resolves when they are on the disk; rejects with NotKept, and then none
   * is. One with an id that is there already takes its place.
   */
  async put(...entries) {
    try {
      await this.#putAll(entries);
    } catch (error) {
      if (!error.isFull) throw error;
      await this.#makeRoom();
      await this.#putAll(entries);
    }
    this.#tell({ entries: entries.map((entry) => entry.id) });
  }

  async #putAll(entries) {
    await this.#write("entries", "strict", async (kept) => {
      for (const entry of entries) await putInPlace(kept, entry);
    });
  }

  /** Results come before copies of what the server has. */
  async #makeRoom() {
    const copies = (await this.keys()).filter(isCopy);
    await this.#write("kept", "strict", (values) => copies.forEach((key) => values.delete(key)));
  }

  /**
   * What an answer changed: entries `gone` (ids) leave, `changed` ones are put in place of those that are still here,
   * and so are `replaced` ones (`[[id, entry]]`), which have other ids than those. All or none. Where `sent` is given, an entry that is not any more what was sent is left alone.
   */
  async settle({ gone = [], changed = [], replaced = [], sent = null }) {
    await this.#write("entries", "strict", async (kept) => {
      const todo = settledEntries(await done(kept.getAll()), { gone, changed, replaced, sent });
      for (const seq of todo.gone) kept.delete(seq);
      for (const entry of todo.changed) kept.put(entry);
    });
    this.#tell({ entries: [...gone, ...changed.map((entry) => entry.id), ...replaced.map(([id]) => id)] });
  }

  /**
   * Take the right to send, for browsers without locks, or have it for longer: true when nobody else has it. It ends
   * after `ms`.
   */
  async lease(owner, ms, now = Date.now()) {
    return this.#write("kept", "relaxed", async (values) => {
      if (!mayLease(await done(values.get("lease")), owner, ms, now)) return false;
      values.put({ owner, until: now + ms }, "lease");
      return true;
    });
  }

  /** Give the right to send back, so that nobody waits for its end. */
  async release(owner) {
    await this.#write("kept", "relaxed", async (values) => {
      if ((await done(values.get("lease")))?.owner === owner) values.delete("lease");
    });
  }

  /** Call `fn({ entries?: [ids], kept?: [keys] })` after each change that another tab made; returns how to end it. */
  onChange(fn) {
    const heard = (event) => fn(event.data);
    this.#channel?.addEventListener("message", heard);
    return () => this.#channel?.removeEventListener("message", heard);
  }

  /** Let go of the database. */
  async close() {
    await this.#database.close();
    this.#channel?.close();
    this.#channel = null;
  }

  #tell(change) {
    this.#channel?.postMessage(change);
  }

  #read(name, work) {
    return this.#database.run(name, "readonly", work);
  }

  async #write(name, durability, work) {
    try {
      return await this.#database.run(name, "readwrite", work, { durability });
    } catch (error) {
      throw new NotKept(error);
    }
  }
}

async function putInPlace(entries, entry) {
  const { seq: _, ...bare } = entry;
  const seq = await done(entries.index("id").getKey(entry.id));
  entries.put(seq === undefined ? bare : { ...bare, seq });
}

async function boards(values) {
  const range = IDBKeyRange.bound("board:", "board:\uffff");
  const [keys, kept] = await Promise.all([done(values.getAllKeys(range)), done(values.getAll(range))]);
  return keys.map((key, place) => ({ key, at: kept[place]?.at ?? "" }));
}
