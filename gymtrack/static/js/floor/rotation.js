// A class that goes by a plan: which rotation it is by the plan's own times, who is where. Pure. The server's answer has
// all the times, so that the board goes on by them without a network; a tap made here moves them at once.

const MINUTE_MS = 60_000;

/** The plan after a tap: from `at` (ISO) on the class is in that rotation, and the others follow. */
export function marked(plan, { at, rotation }) {
  const turns = [{ at, rotation }];
  let ms = Date.parse(at);
  for (const minutes of plan.minutes.slice(rotation)) {
    ms += minutes * MINUTE_MS;
    turns.push({ at: new Date(ms).toISOString(), rotation: turns.at(-1).rotation + 1 });
  }
  return { ...plan, turns };
}

/** `{ rotation, shown, since, next, isOver }`: -1 in the warm-up, when the first rotation is shown; none at the end. */
export function clockOf(plan, now) {
  const begun = plan.turns.findLast(({ at }) => Date.parse(at) <= now);
  const rotation = begun?.rotation ?? -1;
  const isOver = rotation >= plan.minutes.length;
  const next = plan.turns.find(({ at }) => Date.parse(at) > now) ?? null;
  return { rotation, shown: isOver ? null : Math.max(0, rotation), since: begun?.at ?? null, next, isOver };
}

/** What somebody does in a rotation: `{ place, step }`, or nothing. */
export const doingOf = (plan, athlete, rotation) => plan.people[athlete]?.[rotation] ?? null;

/** 'Now: low bar, hole 7 · then rings'. */
export function turnWords(plan, athlete, { rotation, shown }) {
  if (shown === null) return "";
  if (!plan.people[athlete]) return "Not in the plan";
  const place = (at) => doingOf(plan, athlete, at)?.place ?? "no place";
  const after = shown + 1 < plan.minutes.length ? `then ${place(shown + 1)}` : "last rotation";
  return `${rotation < 0 ? "First" : "Now"}: ${place(shown)} · ${after}`;
}

export function phaseWords({ minutes }, { rotation, isOver }) {
  if (isOver) return "The last rotation is over";
  return rotation < 0 ? "Warm-up" : `Rotation ${rotation + 1} of ${minutes.length}`;
}

/** What the key says that goes on: '' where there is nothing to go on to. */
export function onWords({ minutes }, { rotation, isOver }) {
  if (isOver) return "";
  if (rotation < 0) return "Start rotation 1";
  return rotation + 1 < minutes.length ? `On to rotation ${rotation + 2}` : "End the last rotation";
}

/** '4:05' until a moment, whole seconds rounded up. */
export function leftWords(until, now) {
  const seconds = Math.max(0, Math.ceil((Date.parse(until) - now) / 1000));
  return `${Math.floor(seconds / 60)}:${String(seconds % 60).padStart(2, "0")}`;
}
