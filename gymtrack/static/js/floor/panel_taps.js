// What a touch or a tap on the panel does: it changes the try as it stands, or is an act of panel_acts.js.

import { freshDraft, isBegun, isTouched } from "./draft.js";
import { shownRow } from "./logged_box.js";
import { helpOf } from "./model.js";
import { again, checkBar, chooseStep, mend, move, note, stopClock, store, takeBack } from "./panel_acts.js";
import { goOn, leave, stayAt } from "./panel_context.js";
import { begin } from "./panel_head.js";
import { stepName } from "./words.js";

const NOTHING_YET = "Take the time, tap a key, or type it first.";
const NOTHING_HURT =
  "Nothing was logged for this athlete in this class yet. Log the try that hurt, or pause a load under “Unwell, torn skin, caution”.";
const STOP_FIRST = "Stop the clock first, or discard its time: it belongs to the step that it was started at.";

/** The clock starts and stops when the finger comes down, and so does a fault that ends a hold. */
export function touch(context, node, moment) {
  const what = node.dataset.do;
  const isRunning = context.app.clocks.isRunning(context.athlete);
  if (what === "clock") return touchClock(context, moment, isRunning);
  if (!isRunning || !["fault", "clean"].includes(what)) return false;
  void stopClock(context, moment, what === "fault" ? [node.dataset.code] : []);
  return true;
}

function touchClock(context, moment, isRunning) {
  if (isRunning) void stopClock(context, moment);
  else context.app.clocks.start(context.athlete, context.step.id, moment);
  context.app.changed();
  return true;
}

export function tap(context, node, moment) {
  void TAPS[node.dataset.do]?.(context, node, moment);
}

function draw(context, changes) {
  context.setDraft({ ...context.draft, ...changes });
  context.app.changed();
}

/** Keep the try as it stands with `more`, where there is something to keep. */
function keepBegun(context, moment, more) {
  if (isBegun(context.draft, context.step)) return store(context, moment, more);
  return context.app.say(NOTHING_YET, "warning");
}

function tapSeconds(context, node) {
  const tenths = Number(node.dataset.seconds) * 10;
  draw(context, { tenths, reps: context.draft.reps ?? 1, source: "counted" });
}

function drop(context) {
  context.app.clocks.drop(context.athlete);
  draw(context, { tenths: null, reps: null, source: "judged" });
}

/** Another step: nothing of it while a clock runs at this one. */
function unlessTiming(change) {
  return (context, node, moment) => {
    if (context.app.clocks.isRunning(context.athlete)) return context.app.say(STOP_FIRST, "warning");
    return change(context, node, moment);
  };
}

function tapStep(context, node, moment) {
  goOn(context.athlete);
  begin(context.root); // with the cautions of the step that comes
  return chooseStep(context, node.dataset.step, moment);
}

/** On with the step in hand, which is another one since the last try. */
function tapGoOn(context) {
  const { app, draft, step } = context;
  if (isTouched(draft)) app.say(`What was begun at ${stepName(step)} was let go; nothing of it was kept.`, "warning");
  goOn(context.athlete);
  context.app.changed();
  begin(context.root);
}

/** The tile that is open is tapped: it comes anew, with the step in hand. What was begun stays. */
function comeAnew(context) {
  if (!context.next || context.app.clocks.isRunning(context.athlete)) return;
  leave();
  context.app.changed();
  begin(context.root);
}

/** Back to the step of the last try, to say what was seen of it. */
function lookBack(context) {
  context.setDraft(undefined); // nothing was begun in it
  stayAt(context.athlete, shownRow(context).step);
  context.app.changed();
}

function tryClosed(context) {
  leave();
  const step = context.root.querySelector("#closed-step").value;
  const help = helpOf(context.tile, step, context.rows);
  context.setDraft({ ...freshDraft(step, help), isClosedTry: true });
  context.app.changed();
  begin(context.root);
}

/** Where it hurts, and on which side: tapped a second time it is not said. */
function tapWhere(context, { dataset: { part, word } }) {
  draw(context, { [part]: context.draft[part] === word ? "" : word });
}

/** The last try of this class that stands, at whatever step. */
function lastTry(context) {
  const row = shownRow(context);
  return row && !row.is_void && row.status !== "refused" ? row : null;
}

/** Pain: the try that was just entered, else the last one of this class, with where it was and what comes next. */
async function tapPain(context, node, moment) {
  const { draft, step, app, root } = context;
  const last = lastTry(context);
  const { choice } = node.dataset;
  const where = [draft.side, draft.place].filter(Boolean).join(" ");
  const said = where ? `Pain: ${where}. ${choice}` : choice;
  if (isBegun(draft, step))
    await store(context, moment, { pain: true, note: [draft.note, said].filter(Boolean).join(". ") });
  else if (last) {
    draw(context, { place: "", side: "" });
    await mend(context, last, { pain: true, note: said }, moment);
  } else return app.say(NOTHING_HURT, "warning");
  root.querySelector("details.more").open = false;
  root.querySelector("details.choices-box").open = !choice.startsWith("Stop");
  return undefined;
}

function tapHalt(context, { dataset: { load, until, reason } }, moment) {
  const words = `no ${load.replace("_", "-")} ${until === "day" ? "today" : "until it is lifted"}`;
  return note(context, "caution", { loads: [load], until, reason }, words, moment);
}

/** One more fault, or checkpoint that was not shown, at the try that was kept last; tapped once more it was not so. */
function mendWith(name) {
  return (context, node, moment) => {
    const { code } = node.dataset;
    const others = context.last[name].filter((one) => one !== code);
    const seen = others.length < context.last[name].length ? others : [...others, code].sort();
    return mend(context, context.last, { [name]: seen }, moment);
  };
}

const TAPS = {
  clean: (context, node, moment) => keepBegun(context, moment),
  ticked: (context, node, moment) => keepBegun(context, moment),
  fault: (context, node, moment) => keepBegun(context, moment, { faults: [node.dataset.code] }),
  seconds: tapSeconds,
  reps: (context, node) => draw(context, { reps: Number(node.dataset.reps) }),
  rep: (context) => draw(context, { reps: (context.draft.reps ?? 0) + 1 }),
  drop,
  again: (context) => again(context),
  where: tapWhere,
  pain: tapPain,
  halt: tapHalt,
  skin: (context, node, moment) => note(context, "skin", {}, "torn skin", moment),
  step: unlessTiming(tapStep),
  "closed-step": unlessTiming(tryClosed),
  "go-on": unlessTiming(tapGoOn),
  anew: comeAnew,
  "look-back": unlessTiming(lookBack),
  bar: (context, node, moment) => checkBar(context, moment),
  "mend-fault": mendWith("faults"),
  "mend-missed": mendWith("missed"),
  "mend-clean": (context, node, moment) => mend(context, context.last, { faults: [], missed: [] }, moment),
  "mend-judged": (context, node, moment) => mend(context, shownRow(context), { source: "judged" }, moment),
  void: (context, node, moment) => takeBack(context, shownRow(context), node.dataset.why, moment),
  move: (context, node, moment) => move(context, shownRow(context), node.dataset.athlete, moment),
};
