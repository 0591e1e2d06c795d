// What the panel's taps do: each is one act, kept on the device before anything says so.

import { bodyOf, nextDraft } from "./draft.js";
import { needs, resultOf } from "./model.js";
import { stayAt } from "./panel_context.js";
import { attemptWords, cuesOf, stepName } from "./words.js";

const stepOf = ({ app }, row) => app.state.today.steps.find(({ id }) => id === row.step);

const labelOf = ({ tile }, words) => ({ number: tile.number, words });

/** Keep an act about an athlete; what the device could not keep stays in the page, to be tried again. */
async function keep(context, act) {
  const { app, athlete } = context;
  try {
    const id = await app.act(act);
    const { [athlete]: _, ...unkept } = app.state.unkept;
    app.changed({ unkept });
    return id;
  } catch (error) {
    app.changed({ unkept: { ...app.state.unkept, [athlete]: { ...act, sentence: error.message } } });
    return null;
  }
}

/** Try again to keep what the device could not. */
export async function again(context) {
  const { sentence: _, ...act } = context.app.state.unkept[context.athlete] ?? {};
  if (act.kind) await keep(context, act);
}

/** Keep the try as it stands, with what the last tap says of it. */
export async function store(context, moment, more = {}) {
  const { app, athlete, session, draft, step } = context;
  const body = bodyOf({ session: session.id, athlete, draft, step, more });
  if (context.isClosed && !body.closed_reason.trim()) return askWhy(context, "Say why this step is tried before it is open.");
  return keepAttempt(context, { body, step, moment });
}

async function keepAttempt(context, { body, step, moment }) {
  const { app, athlete, draft, tile } = context;
  const words = attemptWords(body, step, app.state.today.words);
  const after = needs(app.state.entries, { session: body.session, athlete, isLowBar: step.low_bar });
  context.setDraft(context.isClosed ? undefined : nextDraft(draft));
  stayAt(athlete, step.id); // whatever the answer brings: what was seen besides is said of this one
  context.root.querySelector("details.more").open = false;
  const kept = await keep(context, { kind: "attempt", body, moment, after, label: labelOf(context, words) });
  if (kept) app.say(`${tile.number} ${tile.name}. Kept: ${words}. ${cuesOf(body, step).join(". ")}`);
  return kept;
}

/** The clock stops: a clean judged hold, or one with that fault, of the step that it was started at. */
export async function stopClock(context, moment, faults = []) {
  const { app, athlete, session, draft } = context;
  const { tenths, doubt, step: started } = app.clocks.stop(athlete, moment);
  const step = app.state.today.steps.find(({ id }) => id === started) ?? context.step;
  if (tenths < 1) return app.say("Shorter than a tenth of a second: nothing was kept.", "warning");
  const source = draft.source === "counted" ? "judged" : draft.source;
  if (context.isClosed && started === draft.step && !draft.closedReason.trim())
    return wantReason(context, { tenths, doubt, source, faults });
  const body = bodyOf({ session: session.id, athlete, draft, step, more: { tenths, doubt, faults, source } });
  return keepAttempt(context, { body, step, moment });
}

/** A closed step is never tried without a reason: the time waits in the form for it. */
function wantReason(context, { faults, ...news }) {
  const { app, draft, setDraft } = context;
  setDraft({ ...draft, ...news, faults: [...draft.faults, ...faults] });
  app.changed();
  askWhy(context, "Say why this step is tried before it is open, then tap how it was.");
}

function askWhy({ app, root }, sentence) {
  app.say(sentence, "warning", root.querySelector("#closed-reason"));
}

/** What was seen besides: the try is entered again. */
export async function mend(context, row, changes, moment) {
  const { app } = context;
  stayAt(row.athlete, row.step);
  const body = { attempt: row.id, ...resultOf(row, changes) };
  const words = attemptWords(body, stepOf(context, row), app.state.today.words);
  const after = needs(app.state.entries, { attempt: row.id });
  const kept = await keep(context, { kind: "mend", body, moment, after, label: labelOf(context, words) });
  if (kept) app.say(`Kept: ${words}. ${cuesOf(body, stepOf(context, row)).join(". ")}`);
}

/** Take the try back; it stays in the history with the reason. */
export async function takeBack(context, row, why, moment) {
  const { app, root } = context;
  const typed = root.querySelector("#undo-words").value.trim();
  const reason = why === "other" ? typed : app.state.today.words.void_reasons.find(([code]) => code === why)?.[1];
  if (!reason)
    return app.say("Say in a few words why it is taken back.", "warning", root.querySelector("#undo-words"));
  const after = needs(app.state.entries, { attempt: row.id });
  stayAt(row.athlete, row.step);
  const kept = await keep(context, {
    kind: "void",
    body: { attempt: row.id, reason },
    moment,
    after,
    label: labelOf(context, `taken back: ${row.words}`),
  });
  root.querySelector("#undo-words").value = "";
  if (kept) app.say(`Taken back: ${row.words}. It stays in the history with the reason.`);
  return kept;
}

/** It was somebody else's: entered again for the right one, at the same step. */
export async function move(context, row, athlete, moment) {
  const { app, root, tiles } = context;
  const step = stepOf(context, row);
  const other = tiles.find(({ id }) => id === athlete);
  const isOpen = other.isUnknown || other.open.some((one) => one.step === row.step);
  const reason = root.querySelector("#move-reason").value.trim();
  root.querySelector("[data-slot=move-reason]").hidden = isOpen;
  if (!isOpen && !step.may_sign_off)
    return app.say(`${stepName(step)} is not open to ${other.number} ${other.name}: nothing was changed.`, "warning");
  if (!isOpen && !reason)
    return app.say(
      `${stepName(step)} is not open to ${other.number} ${other.name}: say why below, then tap again. It is never counted.`,
      "warning",
      root.querySelector("#move-reason"),
    );
  stayAt(row.athlete, row.step);
  const after = needs(app.state.entries, { attempt: row.id, athlete });
  const body = { attempt: row.id, athlete, step: row.step, closed_reason: isOpen ? "" : reason };
  const kept = await keep(context, {
    kind: "move",
    body,
    moment,
    after,
    label: { number: other.number, words: row.words },
  });
  root.querySelector("#move-reason").value = "";
  if (kept) app.say(`Entered for ${other.number} ${other.name}: ${row.words}.`);
  return kept;
}

/** Another step in hand, for the rest of the class. */
export async function chooseStep(context, step, moment) {
  const { app, athlete, session } = context;
  stayAt(athlete, step);
  const words = stepName(app.state.today.steps.find(({ id }) => id === step));
  const after = needs(app.state.entries, { session: session.id, athlete });
  await keep(context, {
    kind: "step",
    body: { session: session.id, athlete, step },
    moment,
    after,
    label: labelOf(context, words),
  });
}

/** What is about more than one try: a caution, or torn skin, which pauses nothing. */
export async function note(context, kind, more, words, moment) {
  const { app, athlete, session } = context;
  const after = needs(app.state.entries, { session: session.id, athlete });
  const body = { session: session.id, athlete, ...more };
  const kept = await keep(context, { kind, body, moment, after, label: labelOf(context, words) });
  if (kept) app.say(`Kept: ${words}.`);
}

/** A low bar is looked over by name before anybody uses it today. */
export async function checkBar(context, moment) {
  const { app, root, session } = context;
  const bar = root.querySelector("#bar-name").value.trim();
  const lines = [...root.querySelectorAll("[name=bar-line]:checked")].map(({ value }) => value);
  const unticked = root.querySelector("[name=bar-line]:not(:checked)");
  if (unticked)
    return app.say("Look the bar over and tick every line: the bar stays shut until all is so.", "warning", unticked);
  if (!bar) return app.say("Name the bar, as it is called in your gym.", "warning", root.querySelector("#bar-name"));
  const after = needs(app.state.entries, { session: session.id });
  return keep(context, {
    kind: "bar",
    body: { session: session.id, bar, lines },
    moment,
    after,
    label: { number: "", words: `checked: ${bar}` },
  });
}
