// A try that is being entered: what was tapped and typed so far, and the act that it becomes. Pure.

const SEEN = { faults: [], missed: [], effort: null, note: "", grade: 0, angle: null, closedReason: "", doubt: "", place: "", side: "" };
const UNTOUCHED = { tenths: null, reps: null, source: "judged", isBroken: false, ...SEEN };

export function freshDraft(step, help) {
  return { step, assistance: help.assistance, variant: help.variant, ...UNTOUCHED };
}

/** The next one: help and form stay, what was seen of the last one does not. */
export function nextDraft({ step, assistance, variant }) {
  return freshDraft(step, { assistance, variant });
}

/** Whether anything was tapped or typed that would be lost with it. */
export const isTouched = (draft) =>
  Object.entries(UNTOUCHED).some(([name, value]) => String(draft[name]) !== String(value));

/** Whether there is something to keep: a time for a hold, a count for reps. */
export const isBegun = ({ tenths, reps }, step) => (step?.is_hold ? tenths !== null : Boolean(reps));

/** Tenths of typed seconds, cut ("19,96" is 19.9), or null for what is no time. */
export function tenthsOf(typed) {
  const found = /^\s*(\d{1,4})(?:[.,](\d+))?\s*s?\s*$/.exec(typed);
  return found ? Number(found[1]) * 10 + Number(found[2]?.[0] ?? 0) : null;
}

/** The body of an attempt; `more` is what the last tap says: a fault, pain, the time of the clock. */
export function bodyOf({ session, athlete, draft, step, more = {} }) {
  const { faults = [], pain = false, note = draft.note, doubt = draft.doubt } = more;
  const tenths = more.tenths ?? draft.tenths;
  return {
    session,
    athlete,
    step: step.id,
    source: doubt ? "timed_only" : (more.source ?? draft.source),
    hold_tenths: step.is_hold ? tenths : null,
    reps: draft.reps || 1,
    unbroken: !draft.isBroken,
    assistance: draft.assistance,
    variant: draft.variant,
    faults: [...new Set([...draft.faults, ...faults])].sort(),
    missed: [...draft.missed].sort(),
    effort: draft.effort,
    pain,
    grade: draft.grade,
    angle_degrees: draft.angle,
    closed_reason: draft.closedReason,
    note,
    doubt,
  };
}
