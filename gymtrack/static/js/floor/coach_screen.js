// Who holds the tablet: choose a name, type the code. Nothing of anybody's place or outbox is lost by it.

import { CoachNames } from "./coach_names.js";
import { clone, element, fill, keyed, show, slot, write } from "./dom.js";
import { holdersOf } from "./holders.js";
import { placeBefore } from "./routes.js";

const DIGITS = 6;

let chosen = null; // { id, name, isOnlyAsked }: only asked for a code, or taking over
let isAsking = false;
let names = null; // asked for while the screen is open

const input = () => document.getElementById("coach-code");

function wordsOf(app, coach, asking) {
  const row = app.state.holders[coach.id];
  if (asking.has(coach.id)) return "code needed";
  const how = row ? (row.confirmed ? "confirmed" : "claimed, not confirmed yet") : "";
  if (app.state.holder === coach.id) return `holds it, ${how}`;
  return row ? how : coach.has_code ? "" : "no code set yet";
}

function choose(app, coach) {
  chosen = coach;
  input().value = "";
  say("");
  app.changed();
  queueMicrotask(() => document.getElementById("pad-title")?.focus()); // once it is shown
}

function say(sentence) {
  const place = document.getElementById("pad-mistake");
  write(place, sentence);
  show(place, Boolean(sentence));
}

function type(app, digit) {
  if (isAsking) return;
  const field = input();
  field.value = digit === "back" ? field.value.slice(0, -1) : (field.value + digit).slice(0, DIGITS);
  onTyped(app);
}

function onTyped(app) {
  const field = input();
  field.value = field.value.replace(/\D/g, "").slice(0, DIGITS);
  write(document.getElementById("pad-count"), `${field.value.length} of ${DIGITS} digits`);
  if (field.value.length === DIGITS) void send(app);
}

async function send(app) {
  const code = input().value;
  if (isAsking || !chosen) return;
  if (code.length < DIGITS) return say(`A code has ${DIGITS} digits.`);
  isAsking = true;
  write(document.getElementById("pad-count"), "Asking the server …");
  const { id, name, isOnlyAsked } = chosen;
  const answer = isOnlyAsked || id === app.state.holder ? await app.confirm(id, code) : await app.claim(id, name, code);
  isAsking = false;
  finish(app, answer);
}

function finish(app, { status, sentence }) {
  if (input()) input().value = "";
  if (status === "refused") {
    write(document.getElementById("pad-count"), `0 of ${DIGITS} digits`);
    return say(sentence);
  }
  const holder = app.state.holders[app.state.holder]?.name ?? "";
  const claimed = "The code is checked as soon as the server answers; until then everything waits on this tablet.";
  app.say(status === "confirmed" ? `${holder} holds this tablet.` : `${holder} holds this tablet. ${claimed}`);
  chosen = null;
  return app.go(placeBefore(location.hash) ?? app.cameFrom);
}

/** Coaches who logged here and whose code has yet to be taken: it may be typed without taking the tablet over. */
function paintAsked(root, rows) {
  show(slot(root, "asked"), rows.length > 0 && !chosen);
  keyed(slot(root, "asked-rows"), rows, {
    keyOf: ({ coach }) => coach,
    make: ({ coach }) =>
      element("li", {}, element("button", { type: "button", className: "row", dataset: { do: "only-asked", coach } },
        element("span", { className: "row-name" }, element("bdi", { dataset: { slot: "name" } })),
        element("span", { className: "row-state", textContent: "type the code" }))),
    update: (node, { name }) => fill(node, { name }),
  });
}

export const screen = {
  name: "coach",

  open(app, root) {
    root.replaceChildren(clone("screen-coach"));
    chosen = null;
    const form = root.querySelector("form");
    form.addEventListener("submit", (event) => {
      event.preventDefault();
      void send(app);
    });
    input().addEventListener("input", () => onTyped(app));
    holdersOf(app).start();
    names = new CoachNames(app);
    void names.open();
    root.querySelector("h1").focus({ preventScroll: true });
  },

  close() {
    names.close();
  },

  update(app, root) {
    const asking = new Map(holdersOf(app).asking().map((row) => [row.coach, row]));
    const coaches = app.state.coaches ?? [];
    show(slot(root, "choose"), !chosen);
    show(slot(root, "pad"), Boolean(chosen));
    show(slot(root, "nobody"), app.state.coaches?.length === 0);
    paintAsked(root, [...asking.values()].filter(({ coach }) => coach !== app.state.holder));
    fill(root, { tablet: app.state.tablet?.name ?? "", asks: chosen ? (asking.get(chosen.id)?.asks ?? "") : "" });
    show(slot(root, "back"), Boolean(app.state.holder));
    slot(root, "back").href = app.cameFrom;
    show(slot(root, "leave"), Boolean(app.state.holder));
    if (chosen) write(slot(root, "who"), `Code of ${chosen.name}`);
    keyed(slot(root, "coaches"), coaches, {
      keyOf: ({ id }) => id,
      make: (coach) =>
        element("li", {}, element("button", { type: "button", className: "row", dataset: { do: "choose-coach", coach: coach.id } },
          element("span", { className: "row-name" }, element("bdi", { dataset: { slot: "name" } })),
          element("span", { className: "row-state", dataset: { slot: "state" } }))),
      update: (node, coach) => {
        fill(node, { name: coach.name, state: wordsOf(app, coach, asking) });
        node.firstElementChild.disabled = !coach.has_code;
      },
    });
  },

  tap(app, node) {
    const { do: what, coach, digit } = node.dataset;
    if (what === "choose-coach") choose(app, app.state.coaches.find(({ id }) => id === coach));
    if (what === "only-asked") choose(app, { id: coach, name: app.state.holders[coach].name, isOnlyAsked: true });
    if (what === "digit") type(app, digit);
    if (what === "other-coach") {
      chosen = null;
      app.changed();
    }
  },
};
