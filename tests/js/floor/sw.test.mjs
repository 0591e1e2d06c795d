import assert from "node:assert/strict";
import { readFile } from "node:fs/promises";
import test from "node:test";
import vm from "node:vm";

const template = await readFile(new URL("../../../templates/skills/floor/sw.js", import.meta.url), "utf8");
const ORIGIN = "https://gym.example";
const FILES = ["/floor/", "/floor/manifest.webmanifest", "/static/js/floor/app.js"];

/** The service worker of a version, over what the browser keeps; `net(request)` is the network. */
function worker(version, disk, net, files = FILES) {
  const listeners = {};
  const seen = { asked: [], skipped: 0, claimed: 0 };
  class FakeRequest {
    constructor(address, options = {}) {
      Object.assign(this, { url: new URL(address, ORIGIN).href, method: "GET", ...options });
    }
  }
  const fetch = async (request) => {
    seen.asked.push(request);
    return net(request);
  };
  const open = async (name) => {
    if (!disk.has(name)) disk.set(name, new Map());
    const cache = disk.get(name);
    return {
      addAll: async (requests) => {
        const answers = await Promise.all(requests.map(fetch));
        if (answers.some((answer) => !answer.ok)) throw new TypeError("not ok");
        requests.forEach((request, place) => cache.set(new URL(request.url).pathname, answers[place]));
      },
      match: async (address) => cache.get(address),
    };
  };
  const caches = { open, keys: async () => [...disk.keys()], delete: async (name) => disk.delete(name) };
  const self = {
    addEventListener: (name, fn) => (listeners[name] = fn),
    location: { origin: ORIGIN },
    skipWaiting: async () => (seen.skipped += 1),
    clients: { claim: async () => (seen.claimed += 1) },
  };
  const source = template.replaceAll("{{ version }}", version).replaceAll("{{ files|safe }}", JSON.stringify(files));
  vm.runInNewContext(source, { self, caches, fetch, Request: FakeRequest, URL });
  const fire = async (name, event = {}) => {
    const waits = [];
    const wait = (promise) => waits.push(promise);
    listeners[name]({ waitUntil: wait, respondWith: wait, ...event });
    return (await Promise.all(waits))[0];
  };
  const get = (address, more = {}) => fire("fetch", { request: new FakeRequest(address, more) });
  return { ...seen, seen, fire, get };
}

const pathOf = (request) => new URL(request.url).pathname;
const online = (version) => async (request) => ({ ok: true, from: "network", version, path: pathOf(request) });
const offline = async () => {
  throw new TypeError("no network");
};

test("it keeps the listed files and nothing else, asked afresh, without cookies, following no redirect", async () => {
  const disk = new Map();
  const sw = worker("v1", disk, online("v1"));
  await sw.fire("install");
  await sw.get("/floor/");
  const others = ["/api/v1/floor/today/", "/sessions/1/", "/floor/other/", "/static/js/board.js"];
  for (const address of others) await sw.get(address);
  assert.deepEqual([...disk.keys()], ["floor-shell-v1"]);
  assert.deepEqual([...disk.get("floor-shell-v1").keys()], FILES);
  for (const { cache, credentials, redirect } of sw.seen.asked)
    assert.deepEqual([cache, credentials, redirect], ["no-cache", "omit", "error"]);
});

test("a shell that is not whole is none: the older one stays", async () => {
  const disk = new Map([["floor-shell-v0", new Map()]]);
  const sw = worker("v1", disk, async (request) => ({ ok: !request.url.endsWith("app.js") }));
  await assert.rejects(sw.fire("install"));
  assert.deepEqual([...disk.get("floor-shell-v1").keys()], []);
  assert.ok(disk.has("floor-shell-v0"));
});

test("without a network the shell opens, at any place of it", async () => {
  const disk = new Map();
  await worker("v1", disk, online("v1")).fire("install");
  const sw = worker("v1", disk, offline);
  for (const address of ["/floor/", "/floor/?from=home", "/static/js/floor/app.js"])
    assert.equal((await sw.get(address)).version, "v1");
  assert.equal((await sw.get("/floor/?from=home")).path, "/floor/");
});

test("the API, other pages, other hosts and anything but a GET pass by", async () => {
  const disk = new Map();
  const sw = worker("v1", disk, online("v1"));
  await sw.fire("install");
  const elsewhere = "https://other.example/floor/";
  for (const address of ["/api/v1/floor/acts/", "/", "/floor/x/", "/static/js/floor/app.js?v=2", elsewhere])
    assert.equal(await sw.get(address), undefined);
  assert.equal(await sw.get("/floor/", { method: "POST" }), undefined);
});

test("what the browser threw away is fetched again, and not kept", async () => {
  const disk = new Map();
  const sw = worker("v1", disk, online("now"));
  assert.equal((await sw.get("/floor/")).from, "network");
  assert.equal(disk.get("floor-shell-v1").size, 0);
});

test("a new version waits until a page asks it to take over; then older shells go and no other cache", async () => {
  const disk = new Map([["photos", new Map()]]);
  await worker("v1", disk, online("v1")).fire("install");
  const sw = worker("v2", disk, online("v2"));
  await sw.fire("install");
  assert.equal(sw.seen.skipped, 0);
  await sw.fire("message", { data: null });
  await sw.fire("message", { data: { type: "hello" } });
  assert.equal(sw.seen.skipped, 0);
  await sw.fire("message", { data: { type: "take over" } });
  assert.equal(sw.seen.skipped, 1);
  await sw.fire("activate");
  assert.deepEqual([...disk.keys()], ["photos", "floor-shell-v2"]);
});

test("it never touches what a coach entered", () => {
  assert.doesNotMatch(template, /indexedDB\s*[.(]|deleteDatabase|storage\./);
});
