// One athlete, one step, one try: the clock, the keys, the words. All of it is there without a network.

import { clone, show, slot } from "./dom.js";
import { logged } from "./logged_box.js";
import { showChoices } from "./panel_choices.js";
import { contextOf, leave, stayAt } from "./panel_context.js";
import { makeForm, readForm, writeForm } from "./panel_form.js";
import { begin, showHead } from "./panel_head.js";
import { tap, touch } from "./panel_taps.js";
import { showClock, showTry } from "./panel_try.js";
import { classPlace } from "./routes.js";
import { holdStill, keepRoom } from "./steady.js";

let now = null; // the context of what the panel shows
let formFor = ""; // athlete and step that the form was made for

export const panel = {
  name: "panel",

  open(app, root) {
    root.append(clone("screen-panel"));
    formFor = "";
    now = null;
    root.querySelector("form").addEventListener("input", () => onInput());
    root.querySelector("form").addEventListener("submit", (event) => event.preventDefault());
  },

  update(app, root, params, board) {
    if (now?.athlete !== params.athlete) comeTo(params);
    const context = contextOf(app, root, params, board);
    show(slot(root, "unknown"), !context);
    show(slot(root, "known"), Boolean(context));
    if (!context) return;
    const before = now;
    now = context;
    if (isAsBefore(before)) holdStill(pressed(root), () => paint(before));
    else paint(before);
    if (before?.athlete !== now.athlete) begin(root);
  },

  tick() {
    if (now?.step) showClock(now);
  },

  touch(app, node, moment) {
    return now ? touch(now, node, moment) : false;
  },

  tap(app, node, moment) {
    if (now) tap(now, node, moment);
  },
};

/** What a finger is likely to be on its way to: the clock, or the count. */
const pressed = (root) => [...root.querySelectorAll(".clock")].find((node) => node.checkVisibility());

/** Somebody's panel opens: at the step in hand, or where the address says so at that of a try, this once. */
function comeTo({ session, athlete, step }) {
  leave();
  if (!step) return;
  stayAt(athlete, step);
  history.replaceState(null, "", classPlace(session, "athlete", athlete));
}

const isAsBefore = (before) => before?.athlete === now.athlete && before.step?.id === now.step?.id;

/** All above the clock gets no lower while its athlete and step stay; what a hand unfolds is folded again. */
function keepRooms(root, isSame) {
  for (const part of root.querySelectorAll(".step-name, .says, .next-row")) {
    if (!isSame) part.style.minHeight = "";
    else if (!part.querySelector("details[open]")) keepRoom(part);
  }
}

function paint(before) {
  keepRooms(now.root, isAsBefore(before));
  bringForm(before);
  showHead(now);
  logged.update(now);
  showTry(now);
  showChoices(now);
}

/** The form is made anew for another step or athlete alone, and written where the draft is not what it was. */
function bringForm(before) {
  const { app, root, athlete, step, draft } = now;
  const made = `${athlete} ${step?.id ?? ""}`;
  const isMade = !step || formFor === made;
  if (!isMade) makeForm(root, step, app.state.today.words);
  if (!isMade) formFor = made;
  if (!isMade || before?.athlete !== athlete || before.draft !== draft) writeForm(root, draft);
}

function onInput() {
  const draft = readForm(now.root, now.draft);
  now.setDraft(draft);
  now.draft = draft; // the fields say it already
  now.app.changed();
}
