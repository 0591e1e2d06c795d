// One IndexedDB database of this device: opened when it is first needed, upgraded by adding and never by taking away.

const VERSION = 2; // 1 had the outbox alone

export const done = (request) =>
  new Promise((resolve, reject) => {
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error);
  });

const completion = (transaction) =>
  new Promise((resolve, reject) => {
    transaction.oncomplete = () => resolve();
    transaction.onabort = () => reject(transaction.error ?? new Error("The transaction was given up."));
  });

export class Database {
  #idb;
  #name;
  #opened = null;

  constructor(idb, name) {
    this.#idb = idb;
    this.#name = name;
  }

  /**
   * Run `work(objectStore)` in one transaction over the object store `name`; resolves with what it returned, once the
   * transaction is complete. `options` are IndexedDB's, such as `{ durability: "strict" }`.
   */
  async run(name, mode, work, options = {}) {
    const transaction = (await this.#database()).transaction(name, mode, options);
    const complete = completion(transaction);
    const working = (async () => work(transaction.objectStore(name)))().catch((error) => giveUp(transaction, error));
    const [worked, completed] = await Promise.allSettled([working, complete]);
    if (transaction.error) throw transaction.error; // of several reasons the one that the browser gives
    if (worked.status === "rejected") throw worked.reason;
    if (completed.status === "rejected") throw completed.reason;
    return worked.value;
  }

  /** Let go of it; the next use opens it again. */
  async close() {
    (await this.#opened)?.close();
    this.#opened = null;
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
  // Not unique, for an upgrade must not fail on what is there; `put` sees to it.
  if (!entries.indexNames.contains("id")) entries.createIndex("id", "id");
  if (!names.contains("kept")) database.createObjectStore("kept");
}
