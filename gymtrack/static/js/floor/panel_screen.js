// One athlete, one step, one try: the clock, the keys, the words. All of it is there without a network.

import { clone, element, fill, keyed, press, show, slot, write } from "./dom.js";
import { tell } from "../hold_clock.js";
import { freshDraft, isBegun } from "./draft.js";
import { barCheckOf, helpOf, rowsOf, stepsById } from "./model.js";
import { logged, shownRow } from "./logged_box.js";
import { again, chooseStep, checkBar, mend, move, stopClock, store, takeBack } from "./panel_acts.js";
import { makeForm, readForm, writeForm } from "./panel_form.js";
import { classPlace } from "./routes.js";
import { clockTime, stepName, withWords } from "./words.js";

const drafts = new Map(); // by athlete: nothing that was typed is lost by looking at somebody else
let now = null; // what the panel shows: { app, root, athlete, tile, step, session, draft, last, isClosed }
let formFor = ""; // athlete and step that the form was made for

/** The step of a draft: the one in hand, or a closed one that is tried once. */
function draftOf(tile, rows) {
  const kept = drafts.get(tile.id);
  if (kept && (kept.step === tile.step || kept.isClosedTry)) return kept;
  const draft = freshDraft(tile.step, helpOf(tile, tile.step, rows));
  drafts.set(tile.id, draft);
  return draft;
}

function contextOf(app, root, params, { session, tiles }) {
  const tile = tiles.find(({ id }) => id === params.athlete);
  if (!tile) return null;
  const rows = rowsOf(app.state);
  const draft = draftOf(tile, rows);
  const step = stepsById(app.state.today).get(draft.step) ?? null;
  const last = rows.find((row) => row.athlete === tile.id && !row.is_void && row.step === draft.step) ?? null;
  const setDraft = (next) => drafts.set(tile.id, next);
  const isClosed = Boolean(draft.isClosedTry);
  return { app, root, athlete: tile.id, tile, tiles, rows, step, session, draft, setDraft, last, isClosed };
}

// ---- What is shown --------------------------------------------------------------------------------------------

function showCautions({ root, step, tile, last }) {
  const box = slot(root, "cautions");
  const isRisky = Boolean(step && (step.inverted || step.over_bar || step.low_bar));
  show(box, isRisky);
  if (isRisky && box.dataset.for !== formFor) {
    box.dataset.for = formFor;
    box.open = !last;
    slot(root, "caution-list").replaceChildren(...step.cautions.map((text) => element("li", { textContent: text })));
    fill(root, { "getting-down": step.getting_down && `Getting down. ${step.getting_down}` });
  }
  const own = [
    ...tile.cautions.map((text) => `Athlete's caution: ${text}.`),
    ...tile.no_consent.map((text) => `Consent: ${text}.`),
  ];
  keyed(slot(root, "own-cautions"), own, {
    keyOf: (text) => text,
    make: (text) =>
      element(
        "div",
        { className: "caution", role: "note" },
        clone("caution-mark"),
        element("p", { textContent: text }),
      ),
  });
}

function sayingOf({ tile, step, isClosed, draft }) {
  if (isClosed) return "This step is not open: one try, kept with your reason and never counted.";
  const about = draft.step === tile.step ? tile.missing : tile.open.find((one) => one.step === draft.step)?.missing;
  return about ? `Still: ${about}` : step ? "" : "Choose a step below.";
}

function showForm(context) {
  const { app, root, step, session, tile, draft, athlete } = context;
  const isRunning = app.clocks.isRunning(athlete);
  const check = barCheckOf(app.state);
  const isPaused = Boolean(step && tile.paused.has(step.id));
  const isUnchecked = Boolean(step?.low_bar && !check);
  const mayLog = Boolean(step && !session?.ended_at && ((!isPaused && !isUnchecked) || isRunning));
  show(slot(root, "ended"), Boolean(session?.ended_at));
  show(slot(root, "paused"), isPaused && !session?.ended_at);
  show(slot(root, "bar"), isUnchecked && !isPaused && !session?.ended_at);
  show(root.querySelector("form"), mayLog);
  fill(root, {
    checked:
      step?.low_bar && check
        ? `Bar checked today: ${check.bar}, ${clockTime(check.at, app.state.today?.gym.time_zone)}, ${check.by}`
        : "",
  });
  if (!step) return;
  write(slot(root, "with"), withWords(draft, step, app.state.today.words));
  show(slot(root, "closed-reason"), context.isClosed);
  for (const button of root.querySelectorAll("[data-seconds]"))
    press(button, draft.tenths === Number(button.dataset.seconds) * 10);
  for (const button of root.querySelectorAll("[data-reps]")) press(button, draft.reps === Number(button.dataset.reps));
  write(slot(root, "count-figure"), String(draft.reps ?? 0));
  showWords(context, isRunning);
  showClock(context);
}

/** One row of words at a time: those of the kept try until the next one has begun. */
function showWords({ root, draft, step, last, app, athlete }, isRunning) {
  const isNext = isRunning || isBegun(draft, step) || !last || last.status === "refused";
  show(slot(root, "verdicts"), isNext);
  show(slot(root, "mend"), !isNext);
  show(slot(root, "drop"), isRunning || isBegun(draft, step));
  const unkept = app.state.unkept[athlete];
  const typed = step.is_hold && draft.tenths !== null ? `${tell(draft.tenths)} s` : "";
  const words = unkept
    ? "This was not kept: "
    : isBegun(draft, step) && !isRunning
      ? `${typed} not kept yet. Tap how it was.`
      : "";
  fill(root, { unkept: unkept ? `${words}${unkept.label.words}. ${unkept.sentence}` : words.trim() });
  show(slot(root, "again"), Boolean(unkept));
}

function showClock({ app, root, athlete, draft }) {
  const isRunning = app.clocks.isRunning(athlete);
  const button = root.querySelector(".clock[data-do=clock]");
  button.toggleAttribute("data-running", isRunning);
  write(slot(root, "clock-word"), isRunning ? "Stop" : "Start");
  const tenths = isRunning ? app.clocks.tenthsAt(athlete, performance.now()) : (draft.tenths ?? 0);
  write(slot(root, "clock-time"), tell(tenths));
}

function showChoices({ root, tile, app, step }) {
  const steps = stepsById(app.state.today);
  const words = app.state.today?.words.states ?? {};
  const known = tile.isUnknown ? [...steps.values()].map(({ id }) => ({ step: id, state: "" })) : tile.open;
  keyed(
    slot(root, "open-steps"),
    known.filter((one) => steps.has(one.step)),
    {
      keyOf: (one) => one.step,
      make: (one) =>
        element(
          "li",
          {},
          element(
            "button",
            { type: "button", className: "row", dataset: { do: "step", step: one.step } },
            element("span", { className: "row-name", textContent: stepName(steps.get(one.step)) }),
            element("span", { className: "row-state", dataset: { slot: "state", keepsRoom: "" } }),
          ),
        ),
      update: (node, one) => {
        fill(node, { state: tile.paused.has(one.step) ? words.paused : (words[one.state] ?? one.state) });
        if (one.step === step?.id) node.firstElementChild.setAttribute("aria-current", "true");
        else node.firstElementChild.removeAttribute("aria-current");
      },
    },
  );
  const open = new Set(known.map((one) => one.step));
  const closed = [...steps.values()].filter(({ id }) => !open.has(id) && !tile.paused.has(id));
  show(slot(root, "closed"), Boolean(app.state.today?.coach.may_sign_off) && closed.length > 0);
  keyed(root.querySelector("#closed-step"), closed, {
    keyOf: ({ id }) => id,
    make: (one) => element("option", { value: one.id, textContent: stepName(one) }),
  });
}

function showBar({ root, app }) {
  const { words, bars } = app.state.today ?? {};
  if (!words) return;
  keyed(slot(root, "bar-lines"), words.bar_lines, {
    keyOf: ([code]) => code,
    make: ([code, text]) =>
      element("label", {}, element("input", { type: "checkbox", name: "bar-line", value: code }), ` ${text}`),
  });
  keyed(root.querySelector("#bars"), bars, { keyOf: (bar) => bar, make: (bar) => element("option", { value: bar }) });
}

function showHead({ root, tile, step, params, isClosed, app, draft }) {
  fill(root, {
    number: tile.number || "new",
    name: tile.name,
    step: stepName(step),
    back: tile.back && `${tile.back[0].toUpperCase()}${tile.back.slice(1)}.`,
  });
  const state = isClosed
    ? "closed"
    : step && tile.paused.has(step.id)
      ? "paused"
      : draft.step === tile.step
        ? tile.state
        : "";
  write(slot(root, "state"), app.state.today?.words.states[state] ?? "");
  root.querySelector("[data-shape]").className = `state state-${state}`;
  root.querySelector("use").setAttribute("href", `#shape-${state || "none"}`);
  for (const link of root.querySelectorAll("[data-back]")) link.href = classPlace(params.session);
}

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
    const context = contextOf(app, root, params, board);
    show(slot(root, "unknown"), !context);
    show(slot(root, "known"), Boolean(context));
    if (!context) return;
    const isOther = now?.athlete !== context.athlete;
    const before = now?.draft;
    now = { ...context, params };
    const made = `${context.athlete} ${context.step?.id ?? ""}`;
    const isMade = !context.step || formFor === made;
    if (!isMade) makeForm(root, context.step, app.state.today.words);
    if (!isMade) formFor = made;
    if (!isMade || isOther || before !== context.draft) writeForm(root, context.draft);
    showHead(now);
    showCautions(now);
    fill(root, { missing: sayingOf(now) });
    logged.update(now);
    showForm(now);
    showChoices(now);
    showBar(now);
    if (isOther) begin(root);
  },

  tick() {
    if (now?.step) showClock(now);
  },

  touch(app, node, moment) {
    const what = node.dataset.do;
    const isRunning = app.clocks.isRunning(now?.athlete);
    if (what === "clock") return touchClock(moment, isRunning);
    if (!isRunning || !["fault", "clean"].includes(what)) return false;
    void stopClock(now, moment, what === "fault" ? [node.dataset.code] : []);
    return true;
  },

  tap(app, node, moment) {
    void TAPS[node.dataset.do]?.(now, node, moment);
  },
};

/** A panel begins at its top, folded, and a screen reader hears whose it is. */
function begin(root) {
  for (const part of root.querySelectorAll("details:not(.caution-box)")) part.open = false;
  root.scrollTo(0, 0);
  root.querySelector("#panel-title").focus({ preventScroll: true });
}

function touchClock(moment, isRunning) {
  if (isRunning) void stopClock(now, moment);
  else now.app.clocks.start(now.athlete, now.step.id, moment);
  now.app.changed();
  return true;
}

function onInput() {
  const draft = readForm(now.root, now.draft);
  now.setDraft(draft);
  now.draft = draft; // the fields say it already
  now.app.changed();
}

function draw(context, changes) {
  context.setDraft({ ...context.draft, ...changes });
  context.app.changed();
}

function tapFault(context, node, moment) {
  const { code } = node.dataset;
  if (isBegun(context.draft, context.step)) return store(context, moment, { faults: [code] });
  return context.app.say(NOTHING_YET, "warning");
}

const NOTHING_YET = "Take the time, tap a key, or type it first.";

function tryClosed(context) {
  const step = context.root.querySelector("#closed-step").value;
  const help = helpOf(context.tile, step, context.rows);
  context.setDraft({ ...freshDraft(step, help), isClosedTry: true });
  context.app.changed();
  begin(context.root);
}

/** Pain: the try that was just entered, else the last one of this class, with what comes next. */
async function tapPain(context, node, moment) {
  const { draft, step, last, app, root } = context;
  const { choice } = node.dataset;
  if (isBegun(draft, step))
    await store(context, moment, { pain: true, note: [draft.note, choice].filter(Boolean).join(". ") });
  else if (last) await mend(context, last, { pain: true }, moment);
  else return app.say(NOTHING_YET, "warning");
  root.querySelector("details.more").open = false;
  root.querySelector("details.choices-box").open = !choice.startsWith("Stop");
  return undefined;
}

const TAPS = {
  clean: (context, node, moment) =>
    isBegun(context.draft, context.step) ? store(context, moment) : context.app.say(NOTHING_YET, "warning"),
  ticked: (context, node, moment) => TAPS.clean(context, node, moment),
  fault: tapFault,
  seconds: (context, node) =>
    draw(context, { tenths: Number(node.dataset.seconds) * 10, reps: context.draft.reps ?? 1, source: "counted" }),
  reps: (context, node) => draw(context, { reps: Number(node.dataset.reps) }),
  rep: (context) => draw(context, { reps: (context.draft.reps ?? 0) + 1 }),
  drop: (context) => {
    context.app.clocks.drop(context.athlete);
    draw(context, { tenths: null, reps: null, source: "judged" });
  },
  again: (context) => again(context),
  pain: tapPain,
  step: (context, node, moment) => {
    drafts.delete(context.athlete);
    begin(context.root); // with the cautions of the step that comes
    return chooseStep(context, node.dataset.step, moment);
  },
  "closed-step": tryClosed,
  bar: (context, node, moment) => checkBar(context, moment),
  "mend-fault": (context, node, moment) =>
    mend(context, context.last, { faults: [...context.last.faults, node.dataset.code].sort() }, moment),
  "mend-missed": (context, node, moment) =>
    mend(context, context.last, { missed: [...context.last.missed, node.dataset.code].sort() }, moment),
  "mend-clean": (context, node, moment) => mend(context, context.last, { faults: [], missed: [] }, moment),
  "mend-judged": (context, node, moment) => mend(context, shownRow(context), { source: "judged" }, moment),
  void: (context, node, moment) => takeBack(context, shownRow(context), node.dataset.why, moment),
  move: (context, node, moment) => move(context, shownRow(context), node.dataset.athlete, moment),
};
