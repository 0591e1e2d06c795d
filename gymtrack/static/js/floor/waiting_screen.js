// What is not at the server yet, and why: put right, sent again, kept as a file, or taken back with a reason.

import { clone, element, fill, keyed, show, slot, write } from "./dom.js";
import { coachName, enterAgain, goingAlong, isUnconfirmed, mayEnterAgain, reasonFor } from "./enter_again.js";
import { newId } from "./ids.js";
import { athleteOf, athletesOf, rowsOf, sessionsOf } from "./model.js";
import { counts, dependents, exportText, mended, renamed, retried, withdrawn } from "./outbox.js";
import { MENDABLE, changesOf, textOf, whyHere } from "./waiting_words.js";
import { clockTime, stepName } from "./words.js";

const KEPT_BACK = 100; // withdrawn entries that the device remembers, with their reasons
const LABELS = { athlete: "Athlete", step: "Step", session: "Class", seconds: "Seconds", reps: "Reps" };
const MORE_LABELS = { closed_reason: "Reason for trying a closed step", reason: "Reason", name: "Name", bar: "Bar", note: "Note" };

let open = null; // id of the entry whose form is open
let text = ""; // the export as text, once it was asked for
let hasTaken = false; // something was taken back here: that is in the copies too

const entryIn = (app, id) => app.state.entries.find((entry) => entry.id === id);

function optionsOf(app, field) {
  const { today } = app.state;
  if (field === "athlete") return athletesOf(app.state).map(({ id, number, name }) => [id, `${number} ${name}`.trim()]);
  if (field === "step") return (today?.steps ?? []).map((step) => [step.id, stepName(step)]);
  if (field === "session") return sessionsOf(app.state).filter((one) => !one.ended_at).map(({ id, name }) => [id, name]);
  if (field === "reason") return today?.words.void_reasons ?? null;
  return null;
}

// ---- Forms ----------------------------------------------------------------------------------------------------

function fieldOf(app, entry, name) {
  const value = textOf(entry.body, name);
  const id = `mend-${entry.id}-${name}`;
  const options = optionsOf(app, name);
  const choice = ([code, words]) => element("option", { value: code, textContent: words, selected: code === value });
  const input = options
    ? element("select", { id, name }, ...withValue(options, value).map(choice))
    : element("input", { id, name, value, autocomplete: "off", inputMode: { seconds: "decimal", reps: "numeric" }[name] ?? "text" });
  return element("div", { className: "field" }, element("label", { htmlFor: id, textContent: LABELS[name] ?? MORE_LABELS[name] }), input);
}

const withValue = (options, value) => (options.some(([code]) => code === value) ? options : [[value, value ? "as it was" : "–"], ...options]);

function openForm(app, node, entry) {
  const place = slot(node, "fields");
  if (place.dataset.of === entry.id) return;
  place.dataset.of = entry.id;
  const names = (MENDABLE[entry.kind] ?? []).filter((name) => name in entry.body || ["seconds", "closed_reason"].includes(name));
  place.replaceChildren(...names.map((name) => fieldOf(app, entry, name)));
}

function typedIn(node) {
  const fields = slot(node, "fields").querySelectorAll("[name]");
  return Object.fromEntries([...fields].map(({ name, value }) => [name, value]));
}

const nodeOf = (id) => document.querySelector(`[data-key="${CSS.escape(id)}"]`);

function mistake(node, sentence) {
  fill(node, { mistake: sentence });
}

// ---- Acts on the outbox ---------------------------------------------------------------------------------------

async function mend(app, id) {
  const entry = entryIn(app, id);
  const { changes, mistake: sentence } = changesOf(entry, typedIn(nodeOf(id)));
  if (sentence) return mistake(nodeOf(id), sentence);
  const fresh = mended(entry, changes, newId());
  const others = fresh.id === id ? [] : renamed(app.state.entries, id, fresh.id);
  await app.store.put(fresh, ...others);
  if (fresh.id !== id) await app.store.settle({ gone: [id] });
  await done(app, "Put right: it is sent again.");
}

async function again(app, id) {
  await app.store.put(retried(entryIn(app, id)));
  await done(app, "It is sent again.");
}

async function overtake(app, id) {
  const sentence = await enterAgain(app, entryIn(app, id), newId);
  await done(app, sentence);
  void app.listener.look();
}

/** Nothing goes silently: what is taken back stays on this tablet with its reason, in what is exported. */
async function takeBack(app, id, moment) {
  const reason = nodeOf(id).querySelector("[name=why]").value.trim();
  if (!reason) return mistake(nodeOf(id), "Say why it is taken back.");
  const { entries } = app.state;
  const going = withdrawn(entries, id);
  const kept = (await app.store.kept("withdrawn")) ?? [];
  const news = entries.filter((entry) => going.gone.includes(entry.id));
  const at = new Date(moment.wall).toISOString();
  await app.store.keep("withdrawn", [...kept, ...news.map((entry) => ({ reason, at, entry }))].slice(-KEPT_BACK));
  await app.store.settle(going);
  hasTaken = true;
  await done(app, news.length > 1 ? `${news.length} entries were taken back.` : "It was taken back.");
}

async function done(app, sentence) {
  open = null;
  await app.readEntries();
  app.courier.kick();
  app.say(sentence);
}

async function exported(app) {
  const kept = (await app.store.kept("withdrawn")) ?? [];
  const taken = kept.map(({ entry, reason, at }) => ({ ...entry, state: "withdrawn", withdrawn: { reason, at } }));
  return exportText([...app.state.entries, ...taken], new Date().toISOString());
}

async function saveFile(app) {
  const address = URL.createObjectURL(new Blob([await exported(app)], { type: "application/json" }));
  const link = element("a", { href: address, download: `floor-outbox-${new Date().toISOString().slice(0, 16).replace(":", "")}.json` });
  link.click();
  setTimeout(() => URL.revokeObjectURL(address), 60_000);
}

async function showText(app) {
  text = await exported(app);
  app.changed();
  const area = document.getElementById("export-text");
  area.value = text;
  show(slot(document, "export"), true);
  area.focus();
  area.select();
}

async function copy(app) {
  const area = document.getElementById("export-text");
  area.select();
  const isDone = await (navigator.clipboard?.writeText(area.value).then(() => true) ?? Promise.resolve(false)).catch(() => false);
  app.say(isDone ? "Copied." : "The text is selected: copy it with the device's own command.");
}

async function lookForTaken(app) {
  hasTaken = Boolean((await app.store.kept("withdrawn"))?.length);
  app.changed();
}

// ---- What is shown --------------------------------------------------------------------------------------------

function paint(app, node, entry) {
  const why = whyHere(entry, app.state);
  const zone = app.state.today?.gym.time_zone;
  const isOpen = open === entry.id;
  const coach = app.state.holders[entry.coach]?.name;
  const before = entry.was && `entered again: ${coachName(entry.was.coach, app.state)} held the tablet unconfirmed`;
  // With nobody holding the tablet no name is shown: whoever picks it up sees numbers.
  const who = app.state.holder && athletesOf(app.state).find(({ id }) => id === athleteOf(entry, rowsOf(app.state)));
  const more = dependents(app.state.entries, entry.id).length;
  fill(node, {
    number: who?.number || entry.label?.number,
    name: who?.name,
    words: entry.label?.words || entry.kind,
    about: [clockTime(entry.device_at, zone), coach && `by ${coach}`, before].filter(Boolean).join(" "),
    reason: why.words,
    more: more ? `${more} more ${more === 1 ? "goes" : "go"} with it.` : "",
  });
  node.toggleAttribute("data-refused", why.isRefused);
  node.toggleAttribute("data-unconfirmed", isUnconfirmed(entry, app.state));
  show(slot(node, "open"), why.mayGo);
  slot(node, "open").setAttribute("aria-expanded", String(isOpen));
  show(slot(node, "form"), isOpen && why.mayGo);
  show(slot(node, "mend"), why.isRefused);
  for (const button of node.querySelectorAll("[data-do]")) button.dataset.entry = entry.id;
  if (isOpen && why.isRefused) openForm(app, node, entry);
  paintOvertaking(app, node, entry);
}

/** What waits for a code that never comes may be entered again, and says so. */
function paintOvertaking(app, node, entry) {
  const mayBe = mayEnterAgain(entry, app.state);
  show(slot(node, "over"), mayBe);
  if (!mayBe) return;
  const along = goingAlong(app.state.entries, entry).length - 1;
  fill(node, { "over-words": reasonFor(entry, app.state), "over-more": along ? `${along} more with it.` : "" });
}

/** What goes by itself stands last; the rest asks for somebody. */
function partOf(entry, state) {
  if (entry.state === "refused") return "refused";
  return isUnconfirmed(entry, state) ? "unconfirmed" : "waiting";
}

export const screen = {
  name: "waiting",

  open(app, root) {
    [open, text] = [null, ""];
    void lookForTaken(app);
    root.replaceChildren(clone("screen-waiting"));
    root.querySelector("h1").focus({ preventScroll: true });
  },

  update(app, root) {
    const { entries } = app.state;
    const { waiting, refused, stuck } = counts(entries);
    const parts = [waiting && `${waiting} waiting`, refused && `${refused} refused`, stuck && `${stuck} behind a refused one`];
    write(slot(root, "count"), parts.filter(Boolean).join(", ") || "Everything is stored: nothing waits on this tablet.");
    show(slot(root, "tools"), entries.length > 0 || hasTaken || Boolean(text));
    for (const name of ["refused", "unconfirmed", "waiting"]) {
      const some = entries.filter((entry) => partOf(entry, app.state) === name);
      show(slot(root, `${name}-part`), some.length > 0);
      keyed(slot(root, name), some, {
        keyOf: ({ id }) => id,
        make: (entry) => labelled(clone("waiting-entry"), entry.id),
        update: (node, entry) => paint(app, node, entry),
      });
    }
  },

  tap(app, node, moment) {
    const { do: what, entry } = node.dataset;
    const acts = {
      "entry-open": () => {
        open = open === entry ? null : entry;
        app.changed();
      },
      "entry-mend": () => mend(app, entry),
      "entry-again": () => again(app, entry),
      "entry-over": () => overtake(app, entry),
      "entry-back": () => takeBack(app, entry, moment),
      "export-file": () => saveFile(app),
      "export-show": () => showText(app),
      "export-copy": () => copy(app),
      "send-now": () => app.courier.kick(),
    };
    Promise.resolve(acts[what]?.()).catch((error) => app.say(error.message, "error"));
  },
};

/** Ids of its own for what stands in a row many times over. */
function labelled(node, id) {
  const input = node.querySelector("[name=why]");
  input.id = `why-${id}`;
  node.querySelector("[data-for=why]").htmlFor = input.id;
  return node;
}
