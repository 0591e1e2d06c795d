// The line over a class that goes by a plan: which rotation, how long still, which bars are set, and a key to go on. A tap
// counts from its own moment, with or without a network.

import { fill, show, slot, write } from "./dom.js";
import { needs, nowOf, planOf, sessionOf } from "./model.js";
import { clockOf, leftWords, onWords, phaseWords } from "./rotation.js";

let timer = null;
let shown = null; // the rotation for which everything was brought up to date

export function openStrip(app, root) {
  shutStrip();
  timer = setInterval(() => tick(app, root), 1000);
}

export function shutStrip() {
  clearInterval(timer);
  shown = null;
}

function tick(app, root) {
  const plan = planOf(app.state, sessionOf(app.state, app.params.session));
  if (!plan) return;
  const clock = clockOf(plan, nowOf(app.state));
  if (clock.rotation === shown) showLeft(app, slot(root, "run"), clock);
  else app.changed(); // tiles say something else, too
}

function showLeft(app, strip, { next }) {
  write(slot(strip, "left"), next ? `${leftWords(next.at, nowOf(app.state))} left` : "");
}

/** Bars to be set, for this rotation and the next one. */
function setsOf(plan, { rotation, next }) {
  const [now, ahead] = [plan.sets[rotation] ?? [], next ? (plan.sets[next.rotation] ?? []) : []];
  return [...now.map((words) => `Now: ${words}.`), ...ahead.map((words) => `Next: ${words}.`)].join(" ");
}

export function updateStrip(app, root, session) {
  const [strip, plan] = [slot(root, "run"), planOf(app.state, session)];
  show(strip, Boolean(plan));
  if (!plan) return;
  const clock = clockOf(plan, nowOf(app.state));
  shown = clock.rotation;
  const isOpen = !session.ended_at;
  fill(strip, { phase: phaseWords(plan, clock), sets: setsOf(plan, clock), on: isOpen && onWords(plan, clock) });
  show(slot(strip, "back"), isOpen && clock.rotation > 0);
  showLeft(app, strip, clock);
}

/** Go on to the next rotation, or back by one, from the moment of the touch. */
export async function goRotation(app, by, moment) {
  const { session } = app.params;
  const plan = planOf(app.state, sessionOf(app.state, session));
  const rotation = clockOf(plan, nowOf(app.state)).rotation + by;
  const after = needs(app.state.entries, { session });
  const words = rotation < plan.minutes.length ? `Rotation ${rotation + 1} begins` : "The last rotation ends";
  await app.act({ kind: "rotation", body: { session, rotation }, moment, after, label: { number: "", words } });
  app.say(`${words}.`);
}
