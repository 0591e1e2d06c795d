// The head of the panel: who it is, at which step, what to be careful about, what is still missing.

import { clone, element, fill, keyed, show, slot, write } from "./dom.js";
import { stepsById } from "./model.js";
import { classPlace } from "./routes.js";
import { stepName } from "./words.js";

/** A panel begins at its top, folded, and a screen reader hears whose it is. */
export function begin(root) {
  for (const part of root.querySelectorAll("details:not(.caution-box)")) part.open = false;
  root.scrollTo(0, 0);
  root.querySelector("#panel").scrollTo(0, 0); // on a phone it is the panel that scrolls
  root.querySelector("#panel-title").focus({ preventScroll: true });
}

export function showHead(context) {
  const { root, tile, step, params } = context;
  fill(root, {
    number: tile.number || "new",
    name: tile.name,
    alone: tile.name ? "" : "Athlete ",
    step: stepName(step),
    back: context.next ? "" : tile.back && `${tile.back[0].toUpperCase()}${tile.back.slice(1)}.`,
    missing: sayingOf(context),
    skin: tile.skin,
    next: stepName(context.next),
  });
  show(slot(root, "go-on"), Boolean(context.next) && !context.session?.ended_at && !context.app.clocks.isRunning(tile.id));
  showState(context);
  showInstead(context);
  showStepCautions(context);
  showOwnCautions(context);
  for (const link of root.querySelectorAll("[data-back]")) link.href = classPlace(params.session);
}

function stateOf({ tile, step, isClosed, draft }) {
  if (isClosed) return "closed";
  if (step && tile.paused.has(step.id)) return "paused";
  if (draft.step === tile.step) return tile.state;
  return tile.open.find((one) => one.step === draft.step)?.state ?? "";
}

function showState(context) {
  const { root, app } = context;
  const state = stateOf(context);
  write(slot(root, "state"), app.state.today?.words.states[state] ?? "");
  root.querySelector("[data-shape]").className = `state state-${state}`;
  root.querySelector("use").setAttribute("href", `#shape-${state || "none"}`);
}

/** Who comes back after weeks begins with the step before; the coach may go on with the other one instead. */
function showInstead({ root, app, tile, next, session }) {
  const step = next ? null : stepsById(app.state.today).get(tile.instead_of);
  show(slot(root, "instead"), Boolean(step) && !session?.ended_at);
  if (!step) return;
  slot(root, "instead-step").dataset.step = step.id;
  write(slot(root, "instead-step"), `Go on with ${stepName(step)} instead`);
}

function showStepCautions({ app, root, step, athlete, last }) {
  const box = slot(root, "cautions");
  const isRisky = Boolean(step && (step.inverted || step.over_bar || step.low_bar));
  show(box, isRisky);
  const about = `${athlete} ${step?.id}`;
  if (!isRisky || box.dataset.for === about) return;
  box.dataset.for = about;
  box.open = !last;
  slot(root, "caution-list").replaceChildren(...step.cautions.map((text) => element("li", { textContent: text })));
  const notes = (app.state.today?.words.risk_notes ?? []).filter(([when]) => when === "risky" || step[when]);
  slot(root, "risk-notes").replaceChildren(...notes.map(([, text]) => element("li", { textContent: text })));
  fill(root, { "getting-down": step.getting_down && `Getting down. ${step.getting_down}` });
}

function showOwnCautions({ root, tile }) {
  const own = [
    ...tile.cautions.map((text) => `Athlete's caution: ${text}.`),
    ...tile.no_consent.map((text) => `Consent: ${text}.`),
  ];
  const note = (text) =>
    element("div", { className: "caution", role: "note" }, clone("caution-mark"), element("p", { textContent: text }));
  keyed(slot(root, "own-cautions"), own, { keyOf: (text) => text, make: note });
}

function sayingOf({ tile, step, isClosed, draft }) {
  if (isClosed) return "This step is not open: one try, kept with your reason and never counted.";
  const about = draft.step === tile.step ? tile.missing : tile.open.find((one) => one.step === draft.step)?.missing;
  return about ? `Still: ${about}` : step ? "" : "Choose a step below.";
}
