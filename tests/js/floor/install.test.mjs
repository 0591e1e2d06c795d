import assert from "node:assert/strict";
import test from "node:test";

import { load } from "../load.mjs";

const { install, isPlain } = await load("floor/install.js");

/** A browser that lets `register` answer; `isSecure` is whether the address is https or this machine. */
function browser(t, { isSecure = true, register = async () => new EventTarget() } = {}) {
  const before = Object.getOwnPropertyDescriptor(globalThis, "navigator");
  const serviceWorker = Object.assign(new EventTarget(), { register, controller: {} });
  Object.defineProperty(globalThis, "navigator", { value: { serviceWorker }, configurable: true });
  globalThis.isSecureContext = isSecure;
  t.after(() => {
    delete globalThis.isSecureContext;
    if (before) Object.defineProperty(globalThis, "navigator", before);
    else delete globalThis.navigator;
  });
}

test("over plain http nothing can be installed, and it says so", async (t) => {
  browser(t, { isSecure: false, register: assert.fail });
  assert.equal(isPlain(), true);
  assert.equal((await install()).plain, true);
});

test("it is registered for the board alone, and asked for afresh each time", async (t) => {
  const asked = [];
  browser(t, { register: async (...given) => asked.push(given) && new EventTarget() });
  assert.equal((await install()).plain, false);
  assert.deepEqual(asked, [["/sw.js", { scope: "/floor/", updateViaCache: "none" }]]);
});

test("where the browser refuses, the page goes on and tells in a sentence what is lost", async (t) => {
  browser(t, { register: () => Promise.reject(new Error("no")) });
  const { plain, sentence, update } = await install();
  assert.equal(plain, false);
  assert.equal(sentence, "The board could not be kept on this tablet: it opens with a network only.");
  await update();
});

test("a newer version that stands ready is news, once it takes the place of another", async (t) => {
  const registration = Object.assign(new EventTarget(), { waiting: { postMessage: () => {} } });
  browser(t, { register: async () => registration });
  let news = 0;
  await install({ onNews: () => (news += 1) });
  assert.equal(news, 1);
  navigator.serviceWorker.controller = null;
  await install({ onNews: () => (news += 1) });
  assert.equal(news, 1);
});
