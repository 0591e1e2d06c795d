// One sender among the tabs of a device. Two at once would do no harm, for the server knows each act again; one alone
// spares it.

import { newId } from "./ids.js";

const NAME = "floor-sender";
export const LEASE_MS = 20_000; // longer than one request may take
const PATIENCE_MS = 60_000; // a tab that was put to sleep with the lock in its hand does not hold up the others

/**
 * `alone(work)` runs `work(still)` while no other tab sends; `still()` says whether that holds on. Resolves with what
 * `work` returned, or, where another tab has it and does not let go, with milliseconds to wait.
 */
export function senderOf(store, { locks = globalThis.navigator?.locks, patienceMs = PATIENCE_MS } = {}) {
  return locks ? new LockedSender(locks, patienceMs) : new LeasedSender(store);
}

class LockedSender {
  #locks;
  #patienceMs;

  constructor(locks, patienceMs) {
    this.#locks = locks;
    this.#patienceMs = patienceMs;
  }

  async alone(work) {
    const patience = new AbortController();
    const timer = setTimeout(() => patience.abort(), this.#patienceMs);
    const begin = () => {
      clearTimeout(timer);
      return work(async () => true);
    };
    try {
      return await this.#locks.request(NAME, { signal: patience.signal }, begin);
    } catch (error) {
      if (!patience.signal.aborted) throw error;
      return this.#locks.request(NAME, { steal: true }, begin);
    } finally {
      clearTimeout(timer);
    }
  }
}

class LeasedSender {
  #store;
  #owner = newId();

  constructor(store) {
    this.#store = store;
  }

  async alone(work) {
    const still = () => this.#store.lease(this.#owner, LEASE_MS);
    if (!(await still())) return LEASE_MS;
    try {
      return await work(still);
    } finally {
      await this.#store.release(this.#owner);
    }
  }
}
