// The wall: tells the time, turns its pages where not everybody fits, and asks the server every few seconds. It has what
// is to come on it, so that without a network it goes on by the plan, and says since when it has heard nothing.
// Without this file the page still shows where everybody is, and the browser loads it anew every 20 seconds.

const ASK_MS = 5000;
const TURN_MS = 10_000;
const LONGEST_MS = 15_000;

/** The last of the turns (`{ begins }`, ISO or none for the first one) that has begun. */
export function turnAt(turns, now) {
  return turns.reduce((chosen, turn, at) => (!turn.begins || Date.parse(turn.begins) <= now ? at : chosen), 0);
}

/** '4:05' until a moment; '0:00' from then on. Whole seconds, rounded up: it says 0:00 when the time has come. */
export function leftWords(until, now) {
  const seconds = Math.max(0, Math.ceil((Date.parse(until) - now) / 1000));
  return `${Math.floor(seconds / 60)}:${String(seconds % 60).padStart(2, "0")}`;
}

/** '18:24' in a time zone. */
export function clockWords(now, zone) {
  const how = { hour: "2-digit", minute: "2-digit", hourCycle: "h23", timeZone: zone };
  return new Intl.DateTimeFormat("en-GB", how).format(new Date(now));
}

/** How many pages what is `wide` makes in a frame that is `frame` wide, with `gap` between pages. */
export const pagesIn = (wide, frame, gap) => Math.max(1, Math.ceil((wide + gap - 1) / (frame + gap)));

class Wall {
  #offset = 0; // the server's clock minus this one
  #etag = null;
  #heardAt = null;
  #page = 0;
  #isHeld = false;

  start() {
    document.documentElement.dataset.live = "";
    this.#take(document);
    setInterval(() => this.#tick(), 250);
    setInterval(() => this.#turnPage(), TURN_MS);
    setInterval(() => this.#ask(), ASK_MS);
    addEventListener("online", () => this.#ask());
    addEventListener("resize", () => this.#lay(0));
    addEventListener("keydown", ({ key }) => key === " " && (this.#isHeld = !this.#isHeld));
    void this.#ask();
  }

  get #root() {
    return document.getElementById("wall");
  }

  get #now() {
    return Date.now() + this.#offset;
  }

  #take(from) {
    const wall = from.getElementById("wall");
    this.#offset = Date.parse(wall.dataset.now) - Date.now();
    this.#heardAt = this.#now;
    if (from !== document) this.#root.replaceWith(document.adoptNode(wall));
    this.#tick();
    this.#lay(this.#page);
  }

  #tick() {
    const root = this.#root;
    const turns = [...root.querySelectorAll(".wall-turn")];
    const shown = turnAt(turns.map(({ dataset }) => dataset), this.#now);
    const wasHidden = turns[shown].hidden;
    turns.forEach((turn, at) => (turn.hidden = at !== shown));
    write(root.querySelector("[data-clock]"), clockWords(this.#now, root.dataset.zone));
    const left = turns[shown].querySelector("[data-left]");
    if (left) write(left, leftWords(turns[shown].dataset.until, this.#now));
    const gone = [...turns[shown].querySelectorAll("[data-gone]:not([hidden])")];
    const over = gone.filter(({ dataset }) => Date.parse(dataset.gone) <= this.#now);
    for (const line of over) line.hidden = true;
    if (wasHidden || over.length > 0) this.#lay(wasHidden ? 0 : this.#page);
  }

  /** Show a page of what stands in columns, and which one of how many it is. */
  #lay(page) {
    const turn = this.#root.querySelector(".wall-turn:not([hidden])");
    const columns = turn?.querySelector(".wall-stations");
    if (!columns) return;
    const gap = Number.parseFloat(getComputedStyle(columns).columnGap) || 0;
    const pages = pagesIn(columns.scrollWidth, columns.clientWidth, gap);
    this.#page = page % pages;
    columns.scrollLeft = this.#page * (columns.clientWidth + gap);
    const told = turn.querySelector("[data-page]");
    told.hidden = pages === 1;
    write(told, `${this.#page + 1} of ${pages}`);
  }

  #turnPage() {
    if (!this.#isHeld) this.#lay(this.#page + 1);
  }

  async #ask() {
    try {
      const headers = { "Asks-By-Itself": "1", ...(this.#etag && { "If-None-Match": this.#etag }) };
      const how = { headers, cache: "no-store", redirect: "manual", signal: AbortSignal.timeout(LONGEST_MS) };
      const answer = await fetch(location.href, how);
      if (answer.status === 200) await this.#took(answer);
      else if (answer.status !== 304) return this.#lost("Sign in again");
      this.#heardAt = this.#now;
      this.#lost("");
    } catch {
      this.#lost("No network");
    }
  }

  async #took(answer) {
    const page = new DOMParser().parseFromString(await answer.text(), "text/html");
    this.#etag = answer.headers.get("ETag");
    if (page.getElementById("wall")) this.#take(page);
  }

  #lost(why) {
    const line = document.getElementById("lost");
    line.hidden = !why;
    write(line, why && `${why}: as of ${clockWords(this.#heardAt, this.#root.dataset.zone)}`);
  }
}

function write(node, words) {
  if (node.textContent !== words) node.textContent = words;
}

if (globalThis.document?.getElementById("wall")) new Wall().start();
