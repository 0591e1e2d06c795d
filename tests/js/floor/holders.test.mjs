import assert from "node:assert/strict";
import test from "node:test";

import { load } from "../load.mjs";

const { Holders } = await load("floor/holders.js");
const { FORGOTTEN, LAPSED } = await load("floor/holder_book.js");
const { MemoryStore } = await load("floor/memory_store.js");

const AT = Date.parse("2026-03-02T18:00:00Z");

/** A server that knows codes by coach, and may be out of reach or slow. */
class Server {
  codes = { ada: "402917", ben: "918273" };
  isAway = false;
  held = null; // a promise that answers wait for
  posts = [];

  async post(path, body) {
    if (this.isAway) throw new Error("away");
    this.posts.push([path, body]);
    await this.held;
    if (path === "leave/") return { status: 200, data: { at: "" } };
    if (this.codes[body.coach] !== body.code) return { status: 403, data: { code: "wrong_code", detail: "Not the code." } };
    const answer = { hand_over: body.id, coach: body.coach, name: body.coach, until: "2026-03-03T06:00:00Z" };
    return { status: 200, data: answer };
  }
}

/** A page on a tablet; with the store of an earlier one it is that page opened anew. */
async function tablet({ store = new MemoryStore(), server = new Server() } = {}) {
  const state = { holder: (await store.kept("holder")) ?? null, holders: (await store.kept("holders")) ?? {} };
  const app = { state, store, api: server, changed: (news) => Object.assign(state, news) };
  const holders = new Holders(app, { now: () => AT, patienceMs: 20 });
  holders.start = () => {}; // the tests say when to ask again
  return { holders, store, server, app };
}

const confirmedIn = ({ book }) => Object.keys(book.holders).filter((coach) => book.holders[coach].confirmed);
const who = ({ book }) => [book.holder, Object.fromEntries(Object.entries(book.holders).map(([id, row]) => [id, row.confirmed]))];

test("a right code hands the tablet over, and it is kept", async () => {
  const { holders, store } = await tablet();
  assert.equal((await holders.claim("ada", "Ada", "402917")).status, "confirmed");
  assert.deepEqual(who(holders), ["ada", { ada: true }]);
  assert.deepEqual(confirmedIn(holders), ["ada"]);
  assert.equal(await store.kept("holder"), "ada");
  assert.equal((await store.kept("holders")).ada.until, "2026-03-03T06:00:00Z");
});

test("a wrong code changes nothing: the tablet stays in the hands that it was in", async () => {
  const { holders } = await tablet();
  await holders.claim("ada", "Ada", "402917");
  assert.deepEqual(await holders.claim("ben", "Ben", "000000"), { status: "refused", sentence: "Not the code." });
  assert.deepEqual(who(holders), ["ada", { ada: true }]);
});

test("without a network it is claimed, and confirmed as soon as the server answers", async () => {
  const { holders, server } = await tablet();
  server.isAway = true;
  assert.equal((await holders.claim("ada", "Ada", "402917")).status, "claimed");
  assert.deepEqual(who(holders), ["ada", { ada: false }]);
  assert.deepEqual([confirmedIn(holders), holders.asking()], [[], []]);
  await holders.retry();
  server.isAway = false;
  await holders.retry();
  assert.deepEqual(who(holders), ["ada", { ada: true }]);
  assert.equal(server.posts[0][1].claimed_at, "2026-03-02T18:00:00.000Z");
});

test("the code is never kept on the device", async () => {
  const { holders, store, server } = await tablet();
  server.isAway = true;
  await holders.claim("ada", "Ada", "402917");
  for (const key of await store.keys()) assert.ok(!JSON.stringify(await store.kept(key)).includes("402917"), key);
});

test("a page that is opened anew asks for the code of a claim, and goes by the same hand-over", async () => {
  const { holders, store, server } = await tablet();
  server.isAway = true;
  await holders.claim("ada", "Ada", "402917");
  const { hand_over } = holders.book.holders.ada;
  const again = (await tablet({ store, server })).holders;
  assert.deepEqual(again.asking(), [{ coach: "ada", name: "Ada", asks: FORGOTTEN }]);
  assert.equal(again.book.holder, "ada");
  server.isAway = false;
  assert.equal((await again.confirm("ada", "402917")).status, "confirmed");
  assert.equal(server.posts[0][1].id, hand_over);
  assert.deepEqual(again.asking(), []);
});

test("a claim with a wrong code asks for it and keeps on, and the coach stays the same", async () => {
  const { holders, server } = await tablet();
  server.isAway = true;
  await holders.claim("ada", "Ada", "111222");
  server.isAway = false;
  await holders.retry();
  assert.deepEqual(holders.asking(), [{ coach: "ada", name: "Ada", asks: "Not the code." }]);
  await holders.retry(); // a code that was refused is not tried again
  assert.equal(server.posts.length, 1);
  assert.deepEqual(await holders.confirm("ada", "333444"), { status: "refused", sentence: "Not the code." });
  assert.deepEqual(who(holders), ["ada", { ada: false }]);
  await holders.confirm("ada", "402917");
  assert.deepEqual(who(holders), ["ada", { ada: true }]);
});

test("the code of another coach confirms nothing", async () => {
  const { holders, server } = await tablet();
  server.isAway = true;
  await holders.claim("ada", "Ada", "918273");
  server.isAway = false;
  await holders.retry();
  assert.deepEqual(who(holders), ["ada", { ada: false }]);
});

test("a second coach takes over while the first one's claim still waits: each is confirmed by the own code", async () => {
  const { holders, server } = await tablet();
  server.isAway = true;
  await holders.claim("ada", "Ada", "402917");
  await holders.claim("ben", "Ben", "918273");
  assert.deepEqual(who(holders), ["ben", { ada: false, ben: false }]);
  server.isAway = false;
  await holders.retry();
  assert.deepEqual(who(holders), ["ben", { ada: true, ben: true }]);
  assert.deepEqual(server.posts.map(([, body]) => body.coach), ["ada", "ben"]);
});

test("a server that takes its time does not keep the coach waiting", async () => {
  const { holders, server } = await tablet();
  let release;
  server.held = new Promise((resolve) => (release = resolve));
  assert.equal((await holders.claim("ada", "Ada", "402917")).status, "claimed");
  release();
  await new Promise((resolve) => setTimeout(resolve, 5));
  assert.deepEqual(who(holders), ["ada", { ada: true }]);
});

test("a hand-over that ran out asks for the code, and a new one begins under a new id", async () => {
  const { holders, server, app } = await tablet();
  await holders.claim("ada", "Ada", "402917");
  app.state.holders = { ada: { ...app.state.holders.ada, confirmed: false } };
  assert.deepEqual(holders.asking().map(({ coach, asks }) => [coach, asks]), [["ada", LAPSED]]);
  assert.equal(holders.book.holder, "ada");
  await holders.confirm("ada", "402917");
  assert.notEqual(server.posts[0][1].id, server.posts[1][1].id);
  assert.deepEqual(confirmedIn(holders), ["ada"]);
});

test("a tablet that is left is in nobody's hands, and the server hears of it before any new hand-over", async () => {
  const { holders, store, server } = await tablet();
  await holders.claim("ada", "Ada", "402917");
  server.isAway = true;
  await holders.leave();
  assert.deepEqual(holders.book, { holder: null, holders: {} });
  assert.equal(await store.kept("holder"), undefined);
  server.isAway = false;
  await holders.claim("ben", "Ben", "918273");
  assert.deepEqual(server.posts.map(([path]) => path), ["hand-over/", "leave/", "hand-over/"]);
  assert.deepEqual(who(holders), ["ben", { ben: true }]);
});

test("an answer that comes after the tablet was left hands it to nobody", async () => {
  const { holders, server } = await tablet();
  let release;
  server.held = new Promise((resolve) => (release = resolve));
  await holders.claim("ada", "Ada", "402917");
  await holders.leave();
  release();
  await new Promise((resolve) => setTimeout(resolve, 5));
  assert.deepEqual(holders.book, { holder: null, holders: {} });
});
