// Asks the server how things stand: the class in hand every three seconds, the day whenever it may have changed. An
// answer that was asked for before a result was stored, and comes after, is let go.

import { boardAfter, isOlder, newsAfter, todayAfter } from "./absorb.js";
import { Unreachable } from "./api.js";
import { holdersOf } from "./holders.js";

const BOARD_MS = 3000;
const TODAY_MS = 30_000;

export class Listener {
  #app;
  #etags = {}; // by path
  #stamp = "";
  #todayAt = -Infinity;
  #todayFor = null; // who held the tablet: what a coach may do stands in the day
  #timer = null;
  #isAsking = false;
  #isWanted = false; // somebody asked meanwhile

  constructor(app) {
    this.#app = app;
  }

  start() {
    this.#timer = setInterval(() => this.look(), BOARD_MS);
    addEventListener("online", () => this.look());
    document.addEventListener("visibilitychange", () => this.look());
    this.look();
  }

  /** Ask now, or as soon as the answer that is waited for is there. */
  async look() {
    this.#isWanted = true;
    if (this.#isAsking) return;
    this.#isAsking = true;
    try {
      while (this.#isWanted) {
        this.#isWanted = false;
        await this.#ask();
      }
    } finally {
      this.#isAsking = false;
    }
  }

  async #ask() {
    if (document.hidden || !this.#mayAsk()) return;
    try {
      await this.#askToday();
      await this.#askBoard();
    } catch (error) {
      if (!(error instanceof Unreachable)) throw error;
      this.#isWanted = false; // the timer comes again
      this.#app.changed({ online: false });
    }
  }

  #mayAsk() {
    const { tablet, holder, holders, isShut } = this.#app.state;
    return Boolean(tablet && holder && holders[holder]?.confirmed && !isShut);
  }

  /** Put what the device keeps of a class into the state; `look` asks the server once the class is in hand. */
  async openBoard(session) {
    if (this.#app.state.board?.session.id === session) return;
    const kept = await this.#app.store.kept(`board:${session}`);
    if (this.#app.state.board?.session.id !== session) this.#app.changed({ board: kept ?? null });
  }

  async #askToday() {
    const isDue = performance.now() - this.#todayAt > TODAY_MS;
    const { today, holder } = this.#app.state;
    const isSame = this.#app.params.session && this.#stamp === today?.stamp; // a class in hand tells whether it may have changed
    if (today && this.#todayFor === holder && (!isDue || isSame)) return;
    const answer = await this.#get("today/");
    if (answer) [this.#todayAt, this.#todayFor] = [performance.now(), holder];
    if (answer?.status !== 200 || isOlder(answer.data.at, this.#app.state.today?.at)) return;
    this.#app.changed({ today: answer.data });
    await this.#keep("today", answer.data);
  }

  async #askBoard() {
    const { session } = this.#app.params;
    if (!session || this.#isUnsent(session)) return;
    const path = `sessions/${session}/`;
    const answer = await this.#get(path);
    const { board } = this.#app.state;
    if (answer?.status !== 200 || this.#app.params.session !== session) return;
    if (board?.session.id === session && isOlder(answer.data.at, board.at)) delete this.#etags[path];
    else await this.#takeBoard(session, answer.data);
  }

  async #takeBoard(session, board) {
    this.#stamp = board.stamp;
    this.#app.changed({ board });
    await this.#keep(`board:${session}`, board);
  }

  #isUnsent(session) {
    return this.#app.state.entries.some(({ id }) => id === session);
  }

  async #get(path) {
    const { holder, today, board } = this.#app.state;
    const has = path === "today/" ? today : board;
    const answer = await this.#app.api.get(path, { etag: has ? this.#etags[path] : null });
    if (this.#app.state.holder !== holder) return null; // it was for who held the tablet then
    if (answer.status === 200) this.#etags[path] = answer.etag;
    this.#heard(answer);
    return answer;
  }

  #heard({ status, data }) {
    this.#app.changed({ online: true, heardAt: new Date().toISOString(), offsetMs: this.#app.times.offsetMs });
    if (status === 401) this.#app.changed({ isShut: true });
    if (status === 403 && data?.code === "hand_over") this.#lostHold(this.#app.state.holder);
  }

  /** The server does not have that coach as holding this tablet (any more): the code is asked for again. */
  #lostHold(coach) {
    if (this.#app.state.holders[coach]?.confirmed) void holdersOf(this.#app).lapsed(coach);
  }

  async #keep(key, value) {
    try {
      await this.#app.store.keep(key, value);
    } catch {
      // A copy of what the server has: the next visit without a network has an older one.
    }
  }

  /** The courier has settled an answer to these entries. */
  async answered(answer, entries) {
    const left = await this.#app.store.entries();
    const { board, today, news } = this.#app.state; // as it stands now: the tablet may have been left meanwhile
    const fresh = { board: boardAfter(board, answer, entries), today: todayAfter(today, answer, entries) };
    this.#app.changed({
      ...fresh,
      news: newsAfter(news, answer),
      online: true,
      offsetMs: this.#app.times.offsetMs,
      entries: left,
    });
    this.#stamp = answer.stamp ?? "";
    for (const { id, status, code } of answer.receipts) {
      if (status === "refused" && code === "hand_over") this.#lostHold(entries.find((one) => one.id === id)?.coach);
    }
    if (fresh.board) await this.#keep(`board:${fresh.board.session.id}`, fresh.board);
    if (entries.some(({ kind }) => kind !== "attempt")) {
      this.#todayAt = -Infinity;
      this.look();
    }
  }

  /** What the courier met: it goes on by itself. */
  courierSays({ state }) {
    if (state === "away") this.#app.changed({ online: false });
    if (state === "shut") this.#app.changed({ isShut: true });
    if (state === "idle" || state === "trouble") void this.#app.readEntries();
  }
}
