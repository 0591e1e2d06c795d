// Steps to choose from, under the names of their skills: two skills may have steps that are called alike.

import { element, keyed } from "./dom.js";
import { stepName } from "./words.js";

/** Make the choices of a select; `none` is what stands first for no step, where there may be none. */
export function stepOptions(select, steps, none = "") {
  const first = none ? [{ skill: "", steps: [] }] : [];
  keyed(select, [...first, ...bySkill(steps)], {
    keyOf: ({ skill }) => skill,
    make: ({ skill }) =>
      skill ? element("optgroup", { label: skill }) : element("option", { value: "", textContent: none }),
    update: (node, group) => {
      if (group.skill) keyed(node, group.steps, { keyOf: ({ id }) => id, make: option });
    },
  });
}

const option = (step) => element("option", { value: step.id, textContent: stepName(step) });

/** `[{ skill, steps }]`, skills in the order of their first steps. */
export function bySkill(steps) {
  const groups = new Map();
  for (const step of steps) groups.set(step.skill, [...(groups.get(step.skill) ?? []), step]);
  return [...groups].map(([skill, own]) => ({ skill, steps: own }));
}
