import assert from "node:assert/strict";
import test from "node:test";

import { load } from "../load.mjs";

const { ASK_AGAIN_MS, CoachNames } = await load("floor/coach_names.js");
const { MemoryStore } = await load("floor/memory_store.js");

const ADA = [{ id: "ada", name: "Ada", has_code: true }];
const hello = { status: 200, data: { coaches: ADA } };

/** A tablet whose server gives `answers`, one after another; null is none. `timer.fn` is what waits to be called. */
async function tablet(answers, { store = new MemoryStore() } = {}) {
  const state = { coaches: null, online: false, isShut: false };
  const asked = [];
  const get = async (path) => {
    asked.push(path);
    const answer = answers.shift();
    if (!answer) throw new Error("away");
    return answer;
  };
  const timer = { fn: null, ms: null };
  const timers = { set: (fn, ms) => Object.assign(timer, { fn, ms }), clear: () => (timer.fn = null) };
  const names = new CoachNames({ state, store, api: { get }, changed: (news) => Object.assign(state, news) }, { timers });
  return { names, state, asked, timer, store };
}

/** The network's return, as a browser tells it. */
async function online() {
  globalThis.dispatchEvent(new Event("online"));
  await new Promise(setImmediate);
}

// Node's global object is no event target, as a browser's window is.
const events = new EventTarget();
for (const name of ["addEventListener", "removeEventListener", "dispatchEvent"]) globalThis[name] = events[name].bind(events);

test("names are asked for when the screen opens, and kept for a day without a network", async () => {
  const { names, state, asked, timer, store } = await tablet([hello]);
  await names.open();
  assert.deepEqual([state.coaches, state.online, asked, timer.fn], [ADA, true, ["hello/"], null]);
  assert.deepEqual(await store.kept("coaches"), ADA);
  const away = await tablet([null], { store });
  await away.names.open();
  assert.deepEqual(away.state.coaches, ADA);
  names.close();
  away.names.close();
});

test("where nobody is known the server is asked again: when the network is back, and every few seconds", async () => {
  const { names, state, asked, timer } = await tablet([null, null, hello]);
  await names.open();
  assert.deepEqual([state.coaches, timer.ms], [[], ASK_AGAIN_MS]);
  await timer.fn();
  await new Promise(setImmediate);
  assert.deepEqual([state.coaches, asked.length], [[], 2]);
  await online();
  assert.deepEqual([state.coaches, asked.length, timer.fn], [ADA, 3, null]);
  names.close();
});

test("a screen that was closed asks nothing more, and an answer that comes late changes nothing", async () => {
  const { names, state, asked, timer } = await tablet([null, hello]);
  await names.open();
  const late = names.ask();
  names.close();
  await late;
  await online();
  assert.deepEqual([asked.length, state.coaches, timer.fn], [2, [], null]);
});

test("each opening asks anew", async () => {
  const { names, asked } = await tablet([hello, hello]);
  await names.open();
  names.close();
  await names.open();
  assert.equal(asked.length, 2);
  names.close();
});

test("a tablet that the server does not know is told so and asks no more", async () => {
  const { names, state, timer } = await tablet([{ status: 401, data: {} }]);
  await names.open();
  assert.deepEqual([state.isShut, timer.fn], [true, null]);
  names.close();
});
