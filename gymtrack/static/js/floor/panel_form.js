// The form of a try: made anew for another step or another athlete alone, written from a draft and read into one.

import { clone, element, key, show, slot, write } from "./dom.js";
import { tell } from "../hold_clock.js";
import { tenthsOf } from "./draft.js";

function pill(name, value, words) {
  const type = ["faults", "missed"].includes(name) ? "checkbox" : "radio";
  return element("label", {}, element("input", { type, name, value }), ` ${words}`);
}

function pills(root, name, choices) {
  const box = root.querySelector(`[data-pills="${name}"]`);
  show(box, choices.length > 0);
  box.querySelector("div").replaceChildren(...choices.map(([value, words]) => pill(name, value, words)));
}

function verdict(step) {
  return step.faults.map(({ code, name, dangerous }) => {
    const button = element("button", { type: "button", className: "fault", dataset: { do: "fault", code } });
    if (dangerous)
      button.append(clone("caution-mark"), element("span", { className: "unseen", textContent: "Dangerous: " }));
    button.append(name);
    return button;
  });
}

export function makeForm(root, step, words) {
  show(slot(root, "hold"), step.is_hold);
  show(slot(root, "hold-keys"), step.is_hold);
  show(slot(root, "count"), !step.is_hold);
  show(slot(root, "reps-keys"), !step.is_hold);
  show(slot(root, "typed-seconds"), step.is_hold);
  show(slot(root, "broken"), !step.is_hold);
  slot(root, "faults").replaceChildren(...verdict(step));
  pills(root, "assistance", words.assistances);
  pills(
    root,
    "variant",
    step.variants.length ? [["", "as described"], ...step.variants.map(({ code, name }) => [code, name])] : [],
  );
  pills(
    root,
    "grade",
    step.grades.length ? [["0", "not graded"], ...step.grades.map((name, place) => [String(place + 1), name])] : [],
  );
  pills(
    root,
    "faults",
    step.faults.map(({ code, name }) => [code, name]),
  );
  pills(
    root,
    "missed",
    step.checkpoints.map(({ code, text }) => [code, text]),
  );
  pills(
    root,
    "source",
    ["judged", "counted", "timed_only"].map((code) => [code, words.sources[code]]),
  );
  pills(root, "effort", [["", "not asked"], ...Array.from({ length: 11 }, (_, n) => [String(n), String(n)])]);
  show(slot(root, "angle"), Boolean(step.angle));
  write(slot(root, "angle-label"), `Angle in degrees: ${step.angle}`);
  const reps = step.is_hold ? [1, 2, 3, 5] : [1, 2, 3, 4, 5, 6, 8, 10];
  const place = slot(root, step.is_hold ? "times" : "reps-keys");
  place.replaceChildren(...reps.map((n) => key(step.is_hold ? `× ${n}` : String(n), { do: "reps", reps: n })));
  slot(root, "pain-choices").replaceChildren(
    ...words.pain_choices.map((choice) => key(choice, { do: "pain", choice })),
  );
}

/** Write the draft into the fields, where it says something else than they do. */
export function writeForm(root, draft) {
  for (const input of root.querySelectorAll("form [name]")) {
    const value = { assistance: draft.assistance, variant: draft.variant, source: draft.source }[input.name];
    if (input.type === "radio" && value !== undefined) input.checked = input.value === value;
    if (input.name === "effort") input.checked = input.value === String(draft.effort ?? "");
    if (input.name === "grade") input.checked = input.value === String(draft.grade);
    if (input.type === "checkbox" && draft[input.name]) input.checked = draft[input.name].includes(input.value);
    if (input.name === "broken") input.checked = draft.isBroken;
    if (input.name === "seconds") input.value = draft.tenths === null ? "" : tell(draft.tenths);
    if (input.name === "reps") input.value = draft.reps ?? "";
    if (input.name === "note") input.value = draft.note;
    if (input.name === "angle") input.value = draft.angle ?? "";
    if (input.name === "closed-reason") input.value = draft.closedReason;
  }
}

export function readForm(root, draft) {
  const value = (name) => root.querySelector(`form [name="${name}"]`)?.value ?? "";
  const chosen = (name) => root.querySelector(`form [name="${name}"]:checked`)?.value;
  const ticked = (name) => [...root.querySelectorAll(`form [name="${name}"]:checked`)].map((input) => input.value);
  const number = (text) => (text.trim() === "" || Number.isNaN(Number(text)) ? null : Math.round(Number(text)));
  return {
    ...draft,
    tenths: value("seconds").trim() ? tenthsOf(value("seconds")) : null,
    reps: number(value("reps")),
    isBroken: Boolean(root.querySelector("form [name=broken]")?.checked),
    assistance: chosen("assistance") ?? draft.assistance,
    variant: chosen("variant") ?? draft.variant,
    source: chosen("source") ?? draft.source,
    faults: ticked("faults"),
    missed: ticked("missed"),
    effort: number(chosen("effort") ?? ""),
    note: value("note"),
    grade: number(chosen("grade") ?? "") ?? 0,
    angle: number(value("angle")),
    closedReason: value("closed-reason"),
  };
}
