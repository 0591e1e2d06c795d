import assert from "node:assert/strict";
import test from "node:test";

import { load } from "./load.mjs";

const { leadsToSignIn, sentenceFor } = await load("shell.js");
const base = "http://gym.example/today/";

test("a part that was answered by the sign-in page leads there", () => {
  assert.equal(leadsToSignIn("http://gym.example/account/sign-in/?next=/today/", "/account/sign-in/", base), true);
});

test("a part that was answered by any other page does not", () => {
  assert.equal(leadsToSignIn("http://gym.example/today/", "/account/sign-in/", base), false);
});

test("an answer without an address, or a site without a sign-in page, does not", () => {
  assert.equal(leadsToSignIn("", "/account/sign-in/", base), false);
  assert.equal(leadsToSignIn("http://gym.example/", "", base), false);
});

test("no answer is told apart from a refusal, a lost page, haste and a fault", () => {
  const sentences = [0, 403, 404, 429, 500].map(sentenceFor);
  assert.equal(new Set(sentences).size, 5);
  assert.match(sentences[0], /did not answer\. Nothing was stored/);
});

test("every other fault has the sentence of a fault", () => {
  assert.equal(sentenceFor(503), sentenceFor(500));
});
