// What this device keeps, in IndexedDB: the outbox, and beside it a few values that may be fetched again. `put`
// resolves when the result is on the disk and not before. An outbox outlives every version of this app: upgrades add.

import { MemoryStore } from "./memory_store.js";
import { boardsToForget, isCopy, mayLease, settledEntries } from "./store_rules.js";

const NAME = "floor";
const VERSION = 2; // 1 had the outbox alone
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
  #idb;
  #name;
  #opened = null;
  #channel = globalThis.BroadcastChannel ? new BroadcastChannel(CHANNEL) : null;

  constructor(idb, name) {
    this.#idb = idb;
    this.#name = name;
  }

  /** The value kept under `key`, or undefined. */
  async kept(key) {
    return this.#in(["kept"], "readonly", (stores) => done(stores.kept.get(key)));
  }

  /** Keep `value` under `key`. Of boards only the newest few stay (by their `at`). */
  async keep(key, value) {
    await this.#write(["kept"], isCopy(key) ? "relaxed" : "strict", async ({ kept }) => {
      kept.put(value, key);
      if (key.startsWith("board:")) for (const old of boardsToForget(await boards(kept))) kept.delete(old);
    });
    this.#tell({ kept: [key] });
  }

  /** Keep nothing under these keys any more. */
  async forget(...keys) {
    await this.#write(["kept"], "strict", ({ kept }) => keys.forEach((key) => kept.delete(key)));
    this.#tell({ kept: keys });
  }

  /** The keys of everything kept beside the outbox. */
  async keys() {
    return this.#in(["kept"], "readonly", (stores) => done(stores.kept.getAllKeys()));
  }

  /** All entries of the outbox, in the order of making. */
  async entries() {
    return this.#in(["entries"], "readonly", (stores) => done(stores.entries.getAll()));
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
    await this.#write(["entries"], "strict", async (stores) => {
      for (const entry of entries) await putInPlace(stores.entries, entry);
    });
  }

  /** Results come before copies of what the server has. */
  async #makeRoom() {
    const copies = (await this.keys()).filter(isCopy);
    await this.#write(["kept"], "strict", ({ kept }) => copies.forEach((key) => kept.delete(key)));
  }

  /**
   * What an answer changed: entries `gone` (ids) leave, `changed` ones are put in place of those that are still here.
   * Where `sent` is given, an entry that is not any more what was sent is left alone.
   */
  async settle({ gone = [], changed = [], sent = null }) {
    await this.#write(["entries"], "strict", async (stores) => {
      const todo = settledEntries(await done(stores.entries.getAll()), { gone, changed, sent });
      for (const seq of todo.gone) stores.entries.delete(seq);
      for (const entry of todo.changed) stores.entries.put(entry);
    });
    this.#tell({ entries: [...gone, ...changed.map((entry) => entry.id)] });
  }

  /**
   * Take the right to send, for browsers without locks, or have it for longer: true when nobody else has it. It ends
   * after `ms`.
   */
  async lease(owner, ms, now = Date.now()) {
    return this.#write(["kept"], "strict", async ({ kept }) => {
      if (!mayLease(await done(kept.get("lease")), owner, ms, now)) return false;
      kept.put({ owner, until: now + ms }, "lease");
      return true;
    });
  }

  /** Give the right to send back, so that nobody waits for its end. */
  async release(owner) {
    await this.#write(["kept"], "relaxed", async ({ kept }) => {
      if ((await done(kept.get("lease")))?.owner === owner) kept.delete("lease");
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
    (await this.#opened)?.close();
    this.#opened = null;
    this.#channel?.close();
    this.#channel = null;
  }

  #tell(change) {
    this.#channel?.postMessage(change);
  }

  async #write(names, durability, work) {
    try {
      return await this.#in(names, "readwrite", work, { durability });
    } catch (error) {
      throw new NotKept(error);
    }
  }

  /** Run `work` in one transaction; resolves with what it returned once the transaction is complete. */
  async #in(names, mode, work, options = {}) {
    const database = await this.#database();
    const transaction = database.transaction(names, mode, options);
    const complete = completion(transaction);
    const stores = Object.fromEntries(names.map((name) => [name, transaction.objectStore(name)]));
    const working = (async () => work(stores))().catch((error) => giveUp(transaction, error));
    const [worked, completed] = await Promise.allSettled([working, complete]);
    if (transaction.error) throw transaction.error; // of several reasons the one that the browser gives
    if (worked.status === "rejected") throw worked.reason;
    if (completed.status === "rejected") throw completed.reason;
    return worked.value;
  }

  async #database() {
    this.#opened ??= opened(this.#idb, this.#name, () => (this.#opened = null));
    try {
      return await this.#opened;
    } catch (error) {
      this.#opened = null;
      throw error;
    }
  }
}

function giveUp(transaction, error) {
  try {
    transaction.abort();
  } catch {
    // It is over already, and `completion` says how.
  }
  throw error;
}

/** The database, with what is missing added to an older one; a newer one is taken as it is. */
async function opened(idb, name, onClosed) {
  const database = await openAt(idb, name, VERSION).catch((error) => {
    if (error?.name !== "VersionError") throw error;
    return openAt(idb, name);
  });
  const letGo = () => {
    database.close();
    onClosed();
  };
  database.onversionchange = letGo; // a newer version of this app must not wait for an older tab
  database.onclose = onClosed;
  return database;
}

function openAt(idb, name, version) {
  const request = idb.open(name, version);
  request.onupgradeneeded = () => addMissing(request.result, request.transaction);
  return done(request);
}

function addMissing(database, transaction) {
  const names = database.objectStoreNames;
  const entries = names.contains("entries")
    ? transaction.objectStore("entries")
    : database.createObjectStore("entries", { keyPath: "seq", autoIncrement: true });
  if (!entries.indexNames.contains("id")) entries.createIndex("id", "id", { unique: true });
  if (!names.contains("kept")) database.createObjectStore("kept");
}

async function putInPlace(entries, entry) {
  const { seq: _, ...bare } = entry;
  const seq = await done(entries.index("id").getKey(entry.id));
  entries.put(seq === undefined ? bare : { ...bare, seq });
}

async function boards(kept) {
  const range = IDBKeyRange.bound("board:", "board:\uffff");
  const [keys, values] = await Promise.all([done(kept.getAllKeys(range)), done(kept.getAll(range))]);
  return keys.map((key, place) => ({ key, at: values[place]?.at ?? "" }));
}

const done = (request) =>
  new Promise((resolve, reject) => {
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error);
  });

const completion = (transaction) =>
  new Promise((resolve, reject) => {
    transaction.oncomplete = () => resolve();
    transaction.onabort = () => reject(transaction.error ?? new Error("The transaction was given up."));
  });
