// What may be chosen on the panel: another step, a closed one for one try, the lines and names of a low bar.

import { element, fill, keyed, show, slot } from "./dom.js";
import { stepsById } from "./model.js";
import { stepOptions } from "./step_options.js";
import { stepName } from "./words.js";

export function showChoices(context) {
  const { tile, app } = context;
  const steps = stepsById(app.state.today);
  const known = tile.isUnknown ? [...steps.values()].map(({ id }) => ({ step: id, state: "" })) : tile.open;
  showOpen(context, steps, known);
  showClosed(context, steps, new Set(known.map((one) => one.step)));
  showBar(context);
}

function showOpen({ root, tile, app, step }, steps, known) {
  const words = app.state.today?.words.states ?? {};
  const choices = known.filter((one) => steps.has(one.step));
  keyed(slot(root, "open-steps"), choices, {
    keyOf: (one) => one.step,
    make: (one) => choice(steps.get(one.step)),
    update: (node, one) => {
      fill(node, { state: tile.paused.has(one.step) ? words.paused : (words[one.state] ?? one.state) });
      if (one.step === step?.id) node.firstElementChild.setAttribute("aria-current", "true");
      else node.firstElementChild.removeAttribute("aria-current");
    },
  });
}

function choice(step) {
  const name = element("span", { className: "row-name", textContent: stepName(step) });
  const state = element("span", { className: "row-state", dataset: { slot: "state", keepsRoom: "" } });
  const what = { do: "step", step: step.id };
  return element("li", {}, element("button", { type: "button", className: "row", dataset: what }, name, state));
}

function showClosed({ root, tile }, steps, open) {
  const mine = [...steps.values()].filter((one) => one.may_sign_off);
  const closed = mine.filter(({ id }) => !open.has(id) && !tile.paused.has(id));
  show(slot(root, "closed"), closed.length > 0);
  stepOptions(root.querySelector("#closed-step"), closed);
}

function showBar({ root, app }) {
  const { words, bars } = app.state.today ?? {};
  if (!words) return;
  keyed(slot(root, "bar-lines"), words.bar_lines, { keyOf: ([code]) => code, make: barLine });
  keyed(root.querySelector("#bars"), bars, { keyOf: (bar) => bar, make: (bar) => element("option", { value: bar }) });
}

function barLine([code, text]) {
  return element("label", {}, element("input", { type: "checkbox", name: "bar-line", value: code }), ` ${text}`);
}
