// Talks to the server with the tablet's own key. Only an answer that is the server's own counts: a redirect (to a page
// to sign in) and a page of something else (a hot spot's, a proxy's) are no answers at all.

export const TIMEOUT_MS = 15_000;
const BASE = "/api/v1/floor/";

/** No answer came. `status` is what stood over a page that was not ours, or 0. */
export class Unreachable extends Error {
  constructor(sentence, status = 0) {
    super(sentence);
    this.name = "Unreachable";
    this.status = status;
  }
}

const isJson = (answer) => /^application\/(?:[\w.-]+\+)?json\b/i.test(answer.headers.get("Content-Type") ?? "");

export class Api {
  #fetch;
  #key;
  #coach;
  #times;
  #timeoutMs;
  #now;

  /**
   * `key` and `coach` are functions: the tablet's key, or null before it is let in; who holds the tablet (the id of a
   * membership), or null. `times` is told the server's time by every answer that has one.
   */
  constructor({ key = () => null, coach = () => null, times = null, ...more } = {}) {
    this.#key = key;
    this.#coach = coach;
    this.#times = times;
    this.#fetch = more.fetch ?? ((...given) => globalThis.fetch(...given));
    this.#timeoutMs = more.timeoutMs ?? TIMEOUT_MS;
    this.#now = more.now ?? Date.now;
  }

  /**
   * Get `path` below /api/v1/floor/, such as "today/". Returns `{ status, data, etag }`: `data` is null for a 304, and
   * problem details for 4xx and 5xx. Throws Unreachable.
   */
  async get(path, { etag = null } = {}) {
    return this.#ask(path, { method: "GET", headers: etag ? { "If-None-Match": etag } : {} });
  }

  /** Post `body` as JSON; answers as `get` does. */
  async post(path, body) {
    const headers = { "Content-Type": "application/json" };
    return this.#ask(path, { method: "POST", headers, body: JSON.stringify(body) });
  }

  async #ask(path, how) {
    const given = new AbortController();
    const timer = setTimeout(() => given.abort(), this.#timeoutMs);
    const sentMs = this.#now();
    try {
      const answer = await this.#fetch(BASE + path, this.#request(how, given.signal));
      return await this.#read(answer, sentMs, this.#now());
    } catch (error) {
      if (error instanceof Unreachable) throw error;
      throw new Unreachable(given.signal.aborted ? "No answer in time." : "The server cannot be reached.");
    } finally {
      clearTimeout(timer);
    }
  }

  #request({ headers, ...how }, signal) {
    const key = this.#key();
    const coach = this.#coach();
    const who = { ...(key && { Authorization: `Tablet ${key}` }), ...(coach && { Coach: coach }) };
    const all = { Accept: "application/json", ...who, ...headers };
    return { ...how, headers: all, redirect: "manual", credentials: "omit", cache: "no-store", signal };
  }

  async #read(answer, sentMs, gotMs) {
    const etag = answer.headers.get("ETag");
    if (answer.status === 304) return { status: 304, data: null, etag };
    if (answer.type === "opaqueredirect" || (answer.status >= 300 && answer.status < 400))
      throw new Unreachable("Something else answered: it wanted to lead to another page.");
    if (!isJson(answer)) throw new Unreachable("Something else answered than the floor's server.", answer.status);
    const data = await answer.json();
    if (typeof data?.at === "string") this.#times?.heard(data.at, sentMs, gotMs);
    return { status: answer.status, data, etag };
  }
}
