import assert from "node:assert/strict";
import test from "node:test";

import { load } from "../load.mjs";

const { Api, Unreachable } = await load("floor/api.js");

const JSON_TYPE = { "Content-Type": "application/json" };
const json = (status, data, more = {}) =>
  new Response(status === 304 ? null : JSON.stringify(data), { status, headers: { ...JSON_TYPE, ...more } });

/** An api whose fetch answers with `answer` and notes what it was asked. */
function asking(answer, more = {}) {
  const asked = [];
  const fetch = async (address, how) => {
    asked.push([address, how]);
    return typeof answer === "function" ? answer(how) : answer;
  };
  return { asked, api: new Api({ key: () => "abc", coach: () => "c1", fetch, ...more }) };
}

test("it asks with the tablet's key and the coach, without cookies, and follows no redirect", async () => {
  const { asked, api } = asking(json(200, { at: "2026-03-02T17:00:00Z" }, { ETag: '"7"' }));
  const got = await api.get("today/", { etag: '"6"' });
  assert.deepEqual(got, { status: 200, data: { at: "2026-03-02T17:00:00Z" }, etag: '"7"' });
  const [address, how] = asked[0];
  assert.equal(address, "/api/v1/floor/today/");
  assert.deepEqual([how.method, how.redirect, how.credentials, how.cache], ["GET", "manual", "omit", "no-store"]);
  assert.equal(how.headers.Authorization, "Tablet abc");
  assert.equal(how.headers.Coach, "c1");
  assert.equal(how.headers["If-None-Match"], '"6"');
});

test("a post is JSON, and has no key before the tablet is let in", async () => {
  const { asked, api } = asking(json(200, {}), { key: () => null, coach: () => null });
  await api.post("enrol/", { code: "ABCD" });
  const [, how] = asked[0];
  assert.equal(how.body, '{"code":"ABCD"}');
  assert.equal(how.headers["Content-Type"], "application/json");
  assert.equal("Authorization" in how.headers || "Coach" in how.headers, false);
});

test("an unchanged answer has no data, and a refusal is an answer", async () => {
  const same = await asking(json(304, null, { ETag: '"7"' })).api.get("today/");
  assert.deepEqual(same, { status: 304, data: null, etag: '"7"' });
  const problem = json(403, { code: "hand_over" }, { "Content-Type": "application/problem+json" });
  assert.deepEqual(await asking(problem).api.get("today/"), { status: 403, data: { code: "hand_over" }, etag: null });
});

test("a redirect, a page and no network are no answers", async () => {
  const html = (status) => new Response("<p>Sign in", { status, headers: { "Content-Type": "text/html" } });
  const cases = [
    [{ status: 0, type: "opaqueredirect", headers: new Headers() }, 0],
    [html(302), 0],
    [html(200), 200],
    [html(500), 500],
    [new Response(""), 200],
    [new Response("{", { headers: { "Content-Type": "application/json" } }), 0],
    [() => Promise.reject(new TypeError("Failed to fetch")), 0],
  ];
  for (const [answer, status] of cases) {
    const isNone = (error) => error instanceof Unreachable && error.status === status;
    await assert.rejects(asking(answer).api.post("acts/", {}), isNone);
  }
});

test("it waits for an answer no longer than it says", async () => {
  const silent = ({ signal }) =>
    new Promise((_, reject) => signal.addEventListener("abort", () => reject(new DOMException("", "AbortError"))));
  await assert.rejects(asking(silent, { timeoutMs: 20 }).api.get("hello/"), /No answer in time/);
});

test("every answer with the server's time is told to the device's times", async () => {
  const heard = [];
  let wall = 1000;
  const times = { heard: (...told) => heard.push(told) };
  const { api } = asking(json(403, { at: "2026-03-02T17:00:00Z" }), { times, now: () => (wall += 50) });
  await api.get("today/");
  assert.deepEqual(heard, [["2026-03-02T17:00:00Z", 1050, 1100]]);
});
