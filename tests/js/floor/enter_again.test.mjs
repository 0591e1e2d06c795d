import assert from "node:assert/strict";
import test from "node:test";

import { load } from "../load.mjs";

const { enterAgain, enteredAgain, goingAlong, isUnconfirmed, mayEnterAgain, reasonFor } = await load("floor/enter_again.js");
const { MemoryStore } = await load("floor/memory_store.js");
const { actOf, due, entryOf, exportText } = await load("floor/outbox.js");

const STAMP = { device_at: "2026-03-02T17:00:00.000Z", offset_ms: 7, life: "life", mono_ms: 5 };
const AT = "2026-03-02T17:30:00Z";
const HOLDERS = { ada: { name: "Ada", confirmed: false }, ben: { name: "Ben", confirmed: true } };
const REASON = "Entered again by Ben; logged on the tablet while Ada held it unconfirmed.";

const entry = (id, kind, body = {}, { after = [], coach = "ada" } = {}) =>
  entryOf({ id, kind, coach, stamp: STAMP, body, after, label: { number: "1", words: id } });
const ids = (entries) => entries.map(({ id }) => id);

/** Ada begins a class and looks a bar over; a guest and Mia try something, and Mia's try is mended, then taken back. */
const CLASS = [
  entry("class", "start", { name: "Monday", focus: null }),
  entry("bar", "bar", { session: "class", bar: "low" }, { after: ["class"] }),
  entry("guest", "guest", { session: "class", name: "Gil Grown", is_minor: true }, { after: ["class"] }),
  entry("mia", "attempt", { session: "class", athlete: "m", note: "Slow." }, { after: ["class", "bar"] }),
  entry("gil", "attempt", { session: "class", athlete: "guest", note: "" }, { after: ["class", "guest"] }),
  entry("mend", "mend", { attempt: "mia" }, { after: ["mia"] }),
  entry("void", "void", { attempt: "mend", reason: "Twice." }, { after: ["mend"], coach: "ben" }),
];
const mia = CLASS[3];

/** A tablet in Ben's hands whose server answers what `receipt(act)` says, or not at all. */
async function tablet(receipt, more = {}) {
  const store = new MemoryStore();
  await store.put(...CLASS);
  const seen = { posted: [] };
  const post = async (_path, { acts }) => {
    seen.posted.push(acts);
    if (!receipt) throw new Error("away");
    return { status: 200, data: { at: AT, receipts: acts.map((act) => ({ id: act.id, ...receipt(act) })) } };
  };
  const state = { holder: "ben", holders: HOLDERS, entries: await store.entries(), ...more };
  let made = 0;
  const newId = () => `new${(made += 1)}`;
  const app = { state, store, api: { post }, times: { envelope: () => ({}) } };
  return { ...seen, app, store, state, go: (one = mia) => enterAgain(app, one, newId) };
}

const unheld = () => ({ status: "refused", code: "hand_over", reason: "No." });

test("only a try of somebody whose code never came, and only by who holds the tablet confirmed", () => {
  const state = { holder: "ben", holders: HOLDERS };
  assert.equal(mayEnterAgain(mia, state), true);
  assert.equal(mayEnterAgain(CLASS[0], state), false);
  assert.equal(mayEnterAgain({ ...mia, coach: "ben" }, state), false);
  assert.equal(mayEnterAgain(mia, { ...state, holder: "ada" }), false);
  const both = { ...HOLDERS, ben: { name: "Ben", confirmed: false } };
  assert.equal(mayEnterAgain(mia, { holder: "ben", holders: both }), false);
  const heard = { ...HOLDERS, ada: { name: "Ada", confirmed: true } };
  assert.equal(mayEnterAgain(mia, { holder: "ben", holders: heard }), false);
  assert.equal(mayEnterAgain(mia, { holder: "ben", holders: { ben: HOLDERS.ben } }), true); // Ada has left the tablet
});

test("a caution too, with the reason in its own words, so that it does not stay on the tablet for ever", async () => {
  const halt = entry("halt", "caution", { session: "class", athlete: "m", loads: ["hanging"], until: "lifted", reason: "" }, { after: ["class"] });
  assert.equal(isUnconfirmed(halt, { holders: HOLDERS }), true);
  assert.equal(isUnconfirmed({ ...halt, coach: "ben" }, { holders: HOLDERS }), false);
  assert.equal(isUnconfirmed({ ...halt, coach: "gone" }, { holders: HOLDERS }), true);
  assert.equal(isUnconfirmed({ ...halt, state: "refused" }, { holders: HOLDERS }), false);
  assert.equal(mayEnterAgain(halt, { holder: "ben", holders: HOLDERS }), true);
  const { app, store } = await tablet(unheld);
  await store.put(halt, { ...halt, id: "said", body: { ...halt.body, reason: "Dizzy." } });
  app.state.entries = await store.entries();
  let made = 0;
  for (const id of ["halt", "said"]) {
    const one = (await store.entries()).find((each) => each.id === id);
    app.state.entries = await store.entries();
    assert.equal(await enterAgain(app, one, () => `made${(made += 1)}`), "Entered again in the name of Ben.");
  }
  const cautions = (await store.entries()).filter(({ kind }) => kind === "caution");
  assert.deepEqual(cautions.map(({ coach, body }) => [coach, body.reason]), [
    ["ben", REASON],
    ["ben", `Dizzy. (${REASON})`],
  ]);
  assert.deepEqual(cautions.map(({ device_at, mono_ms }) => [device_at, mono_ms]), Array(2).fill([STAMP.device_at, 5]));
});

test("what the try needs goes with it, and what its coach did to it; no bar that was looked over, no other try", () => {
  assert.deepEqual(ids(goingAlong(CLASS, mia)), ["class", "mia", "mend"]);
  assert.deepEqual(ids(goingAlong(CLASS, CLASS[4])), ["class", "guest", "gil"]);
});

test("it is a new act in the name of who enters it, with the time of the touch and the reason", async () => {
  const { go, store } = await tablet(unheld);
  assert.equal(await go(), "Entered again in the name of Ben.");
  const entries = await store.entries();
  const label = (one) => [one.id, one.coach, one.after];
  assert.deepEqual(entries.map(label), [
    ["new1", "ben", []],
    ["bar", "ada", ["new1"]],
    ["guest", "ada", ["new1"]],
    ["new2", "ben", ["new1"]],
    ["gil", "ada", ["new1", "guest"]],
    ["new3", "ben", ["new2"]],
    ["void", "ben", ["new3"]],
  ]);
  const again = entries[3];
  assert.deepEqual(again.body, { session: "new1", athlete: "m", note: `Slow. ${REASON}` });
  assert.deepEqual([again.device_at, again.life, again.mono_ms, again.offset_ms], [STAMP.device_at, "life", 5, 7]);
  assert.deepEqual([entries[5].body.attempt, entries[6].body.attempt, entries[4].body.session], ["new2", "new3", "new1"]);
  assert.deepEqual(ids(due(entries, { confirmed: new Set(["ben"]) })), ["new1"]);
});

test("the old entry stays in the new one until that is stored, is told, and is never sent", async () => {
  const { go, store } = await tablet(unheld);
  await go();
  const again = (await store.entries())[3];
  assert.deepEqual(actOf(again.was), actOf(mia));
  assert.equal(JSON.stringify(actOf(again)).includes("ada"), false);
  const told = JSON.parse(exportText(await store.entries())).entries[3];
  assert.deepEqual([told.was.id, told.was.coach], ["mia", "ada"]);
});

test("a minor's whole name stands in no export, also where the guest was entered again", async () => {
  const { go, store } = await tablet(unheld);
  await go(CLASS[4]);
  const text = exportText(await store.entries());
  assert.deepEqual([text.includes("Grown"), text.includes("G. G.")], [false, true]);
});

test("without the server's word that it has none of it, nothing changes", async () => {
  const trouble = () => ({ status: "refused", code: "trouble", reason: "Later." });
  for (const receipt of [null, trouble, () => ({ status: "odd" })]) {
    const { go, store } = await tablet(receipt);
    assert.match(await go(), /^The server must say first|^Meanwhile something else/);
    const coaches = (await store.entries()).map(({ coach, was }) => [coach, was]);
    assert.deepEqual(coaches, CLASS.map(({ coach }) => [coach, undefined]));
  }
});

test("what turns out to be stored in the other's name is not entered twice", async () => {
  const { go, store } = await tablet(() => ({ status: "stored" }));
  assert.equal(await go(), "It is stored in the name of Ada.");
  assert.deepEqual(ids(await store.entries()), ["bar", "guest", "gil", "void"]);
});

test("what changed while the server was asked is left alone", async () => {
  const { go, store, state } = await tablet(() => {
    state.holder = "cy";
    return unheld();
  });
  assert.match(await go(), /^Meanwhile/);
  assert.deepEqual(ids(await store.entries()), ids(CLASS));
});

test("the reason stands with what is taken back too, where there is room", () => {
  const own = [mia, entry("gone", "void", { attempt: "mia", reason: "Twice." }, { after: ["mia"] })];
  let made = 0;
  const { replaced } = enteredAgain(own, own, { by: "ben", reason: REASON, newId: () => `n${(made += 1)}` });
  assert.equal(replaced[1][1].body.reason, `Twice. (${REASON})`);
  const nameless = { holder: "ben", holders: { ben: HOLDERS.ben }, coaches: [] };
  assert.match(reasonFor(mia, nameless), /while another coach held it unconfirmed\.$/);
});
