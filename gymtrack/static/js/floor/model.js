// What the board shows: the server's last answer, and over it what this device has and the server has not yet. Pure.
// No readiness is worked out here: what is missing, what is open, what someone is ready for, all of that is the
// server's word, as of its last answer.

import { guestName } from "./names.js";
import { clockOf, doingOf, marked, turnWords } from "./rotation.js";
import { attemptWords, cuesOf } from "./words.js";

const RESULT = [
  "hold_tenths",
  "reps",
  "unbroken",
  "assistance",
  "variant",
  "faults",
  "missed",
  "effort",
  "pain",
  "grade",
];
const RESULT_KEYS = [...RESULT, "angle_degrees", "source", "doubt"];

export const stepsById = (today) => new Map((today?.steps ?? []).map((step) => [step.id, step]));

const ofKind = (entries, ...kinds) => entries.filter(({ kind }) => kinds.includes(kind));
const counting = (entries) => entries.filter(({ state }) => state !== "refused");

/** The classes of today, those begun on this device first. */
export function sessionsOf({ today, entries }) {
  const known = new Set((today?.sessions ?? []).map(({ id }) => id));
  const begun = ofKind(entries, "start")
    .filter(({ id }) => !known.has(id))
    .map((entry) => begunHere(entry, today));
  const ended = new Map(ofKind(counting(entries), "end").map((entry) => [entry.body.session, entry.device_at]));
  const all = [...begun.reverse(), ...(today?.sessions ?? [])];
  return all.map((session) => ({ ...session, ended_at: session.ended_at ?? ended.get(session.id) ?? null }));
}

function begunHere(entry, today) {
  const { name, focus } = entry.body;
  const usual = today?.sessions.find((session) => session.name === name)?.present ?? [];
  return { id: entry.id, name, focus, starts_at: entry.device_at, ended_at: null, coach: "", present: [], usual };
}

/** One class, as its board tells it or else as the day does; null where this device knows nothing of it. */
export function sessionOf(state, id) {
  const session = sessionsOf(state).find((one) => one.id === id) ?? null;
  return session && state.board?.session?.id === id ? { ...state.board.session, ended_at: session.ended_at } : session;
}

/** Everybody who practises, with the guests that were added on this device. */
export function athletesOf({ today, entries }) {
  const known = new Set((today?.athletes ?? []).map(({ id }) => id));
  const guests = ofKind(entries, "guest").filter(({ id }) => !known.has(id));
  return [
    ...(today?.athletes ?? []),
    ...guests.map(({ id, body }) => ({ id, number: "", name: guestName(body), guest: true, ...guestAsked(today) })),
  ];
}

/** Nobody has asked a guest yet: in a gym that asks, they stay the right way up. */
const guestAsked = (today) => ({ upside_down: !today?.gym.asks_consent });

/** Ids of who is here: the server's list, and what was tapped since. */
export function presentOf(state, session) {
  const present = new Set(session?.present ?? []);
  for (const { id, kind, body } of ofKind(counting(state.entries), "here", "gone", "guest")) {
    if (body.session !== session?.id) continue;
    if (kind === "gone") present.delete(body.athlete);
    else present.add(kind === "guest" ? id : body.athlete);
  }
  return present;
}

/** Places of tiles: those that were there stay where they were, whoever comes later is put behind them. */
export function placesOf(before, present) {
  const kept = new Set(before);
  return [...before, ...[...present].filter((id) => !kept.has(id))];
}

/** The tries of this class, the newest first: `status` is "stored", "waiting" or "refused". */
export function rowsOf(state) {
  const rows = new Map();
  for (const row of [...(state.board?.log ?? [])].reverse())
    rows.set(row.id, { ...row, status: "stored", refusal: null });
  for (const entry of state.entries) lay(rows, entry, state);
  return [...rows.values()].reverse();
}

function lay(rows, entry, state) {
  const { kind, body } = entry;
  if (kind === "attempt") rows.set(entry.id, rowOf(entry, body, state));
  const before = rows.get(body.attempt);
  if (!before || !["void", "mend", "move"].includes(kind)) return;
  if (entry.state === "refused") rows.set(before.id, { ...before, refusal: entry.refusal, refused: entry.id });
  else takeBack(rows, before, entry, state);
}

function takeBack(rows, before, entry, state) {
  const { kind, body } = entry;
  rows.set(before.id, { ...before, is_void: true, status: kind === "void" ? entry.state : before.status });
  if (kind === "mend") rows.set(entry.id, rowOf(entry, { ...before, ...body }, state));
  if (kind === "move") rows.set(entry.id, rowOf(entry, { ...before, athlete: body.athlete, step: body.step }, state));
}

function rowOf(entry, from, { today, board }) {
  const result = Object.fromEntries(RESULT_KEYS.map((name) => [name, from[name] ?? null]));
  const known = { ...result, faults: result.faults ?? [], missed: result.missed ?? [], doubt: result.doubt ?? "" };
  const step = today?.steps.find(({ id }) => id === from.step);
  return {
    ...known,
    id: entry.id,
    athlete: from.athlete,
    step: from.step,
    session: from.session ?? board?.session?.id,
    at: momentOf(entry),
    words: attemptWords(known, step, today?.words),
    is_clean: !known.faults.length && !known.missed.length && !known.pain,
    is_void: false,
    status: entry.state,
    refusal: entry.refusal,
  };
}

/** The result of a row, as a mend sends it. */
export function resultOf(row, changes = {}) {
  const { doubt: _, ...result } = Object.fromEntries(RESULT_KEYS.map((name) => [name, row[name] ?? null]));
  return { ...result, ...changes };
}

/** Whom an entry is about. */
export function athleteOf(entry, rows) {
  return entry.body.athlete ?? rows.find(({ id }) => id === entry.body.attempt)?.athlete ?? null;
}

/**
 * Steps that are paused for somebody, as ids: those of the server's answer, and at once all with a load of a step that
 * hurt or of a caution, whatever becomes of the entry: only the server can lift it.
 */
export function pausedOf(state, athlete, rows = rowsOf(state)) {
  const tile = state.board?.tiles.find(({ id }) => id === athlete);
  const steps = state.today?.steps ?? [];
  const waiting = new Set(state.entries.map(({ id }) => id));
  const hurt = rows.filter((row) => row.athlete === athlete && row.pain && waiting.has(row.id));
  const hurting = hurt.flatMap((row) => steps.find(({ id }) => id === row.step)?.loads ?? []);
  const loads = new Set([...hurting, ...haltsOf(state, athlete).flatMap(({ body }) => body.loads)]);
  const laid = steps.filter((step) => step.loads.some((load) => loads.has(load))).map(({ id }) => id);
  return new Set([...(tile?.paused ?? []), ...laid, ...stoppedOf(state, athlete)]);
}

/** Steps that ask for a consent which is lacking, as ids: by the server's last answer about somebody, and by the day. */
export function stoppedOf(state, athlete) {
  const tile = state.board?.tiles.find(({ id }) => id === athlete);
  const isUpright = athletesOf(state).find(({ id }) => id === athlete)?.upside_down === false;
  const inverted = (state.today?.steps ?? []).filter((step) => isUpright && step.inverted).map(({ id }) => id);
  return new Set([...(tile?.stopped ?? []), ...inverted]);
}

/** Cautions that the server has not yet: until they are lifted there, or for the day on which they were entered. */
function haltsOf({ entries, today, offsetMs }, athlete, now = Date.now() + (offsetMs ?? 0)) {
  const zone = today?.gym.time_zone;
  const holds = (entry) => entry.body.until !== "day" || dayOf(momentOf(entry), zone) === dayOf(now, zone);
  return ofKind(entries, "caution").filter((entry) => entry.body.athlete === athlete && holds(entry));
}

/** A caution of this device; one that goes nowhere before its coach's code is typed says so. */
function haltWords({ label, coach, state: how }, { holders }) {
  if (how === "refused") return `${label.words} (refused: see what waits)`;
  return holders?.[coach]?.confirmed ? label.words : `${label.words} (here only, until the coach's code is typed)`;
}

/** What has to be stored before an act about these can be: ids of entries that are in the outbox. */
export function needs(entries, { session, athlete, attempt, isLowBar = false }) {
  const mine = new Set([session, athlete, attempt].filter(Boolean));
  const makes = ({ kind, id, body }) =>
    (["start", "guest", "attempt", "mend", "move"].includes(kind) && mine.has(id)) ||
    (isLowBar && kind === "bar" && body.session === session);
  return entries.filter(makes).map(({ id }) => id);
}

const dayOf = (moment, zone) => new Intl.DateTimeFormat("en-CA", { timeZone: zone }).format(new Date(moment));

/**
 * When an act was done, by the server's clock as far as the device knew it then: a clock that is wrong by hours makes no
 * yesterday of today.
 */
const momentOf = ({ device_at: at, offset_ms: ms }) => (ms ? new Date(Date.parse(at) + ms).toISOString() : at);

/** The low bar as it was looked over today, or null; a check that waits counts on this device. Yesterday's never does. */
export function barCheckOf({ today, entries, holders, holder, offsetMs }, now = Date.now() + (offsetMs ?? 0)) {
  const zone = today?.gym.time_zone;
  const isOfToday = ({ at }) => dayOf(at, zone) === dayOf(now, zone);
  const waiting = ofKind(counting(entries), "bar").map((entry) => ({
    bar: entry.body.bar,
    at: momentOf(entry),
    by: holders?.[entry.coach ?? holder]?.name ?? "",
  }));
  return [...waiting.reverse(), ...(today?.bar_checks ?? [])].find(isOfToday) ?? null;
}

/**
 * The step that a coach put into somebody's hand on this device, since a moment if one is given, and the server has not
 * yet; else undefined.
 */
const chosenOf = (entries, athlete, since) => {
  const isFresh = (entry) => !since || Date.parse(momentOf(entry)) >= Date.parse(since);
  return ofKind(counting(entries), "step").findLast((entry) => entry.body.athlete === athlete && isFresh(entry))?.body.step;
};

/** Now, by the server's clock as far as it was heard: milliseconds. */
export const nowOf = ({ offsetMs }) => Date.now() + (offsetMs ?? 0);

/** The plan of a class: the server's, with the taps on its clock that the server has not yet; null where it has none. */
export function planOf({ board, entries }, session) {
  const plan = session && board?.session.id === session.id ? (board.plan ?? null) : null;
  const taps = plan ? ofKind(counting(entries), "rotation").filter(({ body }) => body.session === session.id) : [];
  return taps.reduce((now, entry) => marked(now, { at: momentOf(entry), rotation: entry.body.rotation }), plan);
}

/** The rotation's step, where the server told the tile in another one; by a plan and where it is now. */
const stepByPlan = (plan, clock, athlete) =>
  clock && clock.rotation !== plan.rotation ? doingOf(plan, athlete, clock.shown)?.step : null;

/** All tiles of a class in their places. */
export function tilesOf(state, session, places) {
  const present = presentOf(state, session);
  const rows = rowsOf(state);
  const people = new Map(athletesOf(state).map((athlete) => [athlete.id, athlete]));
  const isTold = Boolean(session) && state.board?.session.id === session.id;
  const told = new Map((isTold ? state.board.tiles : []).map((tile) => [tile.id, tile]));
  const plan = planOf(state, session);
  const clock = plan && clockOf(plan, nowOf(state));
  return places.map((id) =>
    shown(state, session, { id, rows, told: told.get(id), person: people.get(id), isHere: present.has(id), plan, clock }),
  );
}

function shown(state, session, { id, rows, told, person, isHere, plan, clock }) {
  const tile = told ?? unknownTile(id, person, session);
  const planned = withStep(tile, stepByPlan(plan, clock, id), session);
  const handed = withStep(planned, chosenOf(state.entries, id, clock?.since), session);
  const mine = rows.filter((row) => row.athlete === id);
  const last = mine.find((row) => !row.is_void && row.step === handed.step);
  const step = state.today?.steps.find((one) => one.id === handed.step);
  const paused = pausedOf(state, id, rows);
  const [halts, stopped] = [haltsOf(state, id), stoppedOf(state, id)];
  const isTorn = ofKind(counting(state.entries), "skin").some(({ body }) => body.athlete === id);
  const about = state.entries.filter((entry) => athleteOf(entry, rows) === id);
  return {
    ...handed,
    isHere,
    turn: plan ? turnWords(plan, id, clock) : "",
    paused,
    isPaused: paused.has(handed.step),
    isHalted: halts.length > 0,
    stopped,
    isStopped: stopped.has(handed.step),
    cautions: [...handed.cautions, ...halts.map((entry) => haltWords(entry, state))],
    skin: handed.skin || (isTorn ? "torn skin" : ""),
    waiting_count: about.filter(({ state: how }) => how === "waiting").length,
    refused: about.filter(({ state: how }) => how === "refused"),
    last_row: last ?? null,
    row_before: last ? null : (mine.find((row) => !row.is_void) ?? null),
    cue_now: (last && cuesOf(last, step).join(" · ")) || handed.cue,
  };
}

function unknownTile(id, person, session) {
  const words = { state: "", word: "", back: "", cue: "", note: "", last: "", missing: "" };
  const asked = person?.upside_down === false ? ["no consent to going upside down"] : [];
  const lists = { cautions: [], no_consent: asked, open: [], paused: [], waiting: [] };
  const who = { id, number: person?.number ?? "", name: person?.name ?? "" };
  const help = { assistance: "none", variant: "" };
  const hand = { step: session?.focus ?? null, instead_of: null, chosen: false, with: help };
  return { ...who, ...words, ...lists, ...hand, isUnknown: true };
}

/** A tile with another step in hand: what the server said of that one, and nothing that it said of the other. */
export function withStep(tile, step, session = null) {
  if (!step || step === tile.step) return tile;
  const open = tile.open.find((one) => one.step === step);
  const help = { assistance: open?.assistance ?? "none", variant: open?.variant ?? "" };
  const state = open?.state ?? (tile.isUnknown ? "" : "closed");
  const about = { state, word: "", missing: open?.missing ?? "", with: help };
  return { ...tile, ...about, step, back: "", instead_of: null, cue: "", note: "", last: "", session: session?.id };
}

/** Help and form for the next try: of the last one of this class, else as the server remembers them. */
export function helpOf(tile, step, rows) {
  const last = rows.find(
    (row) => row.athlete === tile.id && row.step === step && !row.is_void && row.source === "judged",
  );
  if (last) return { assistance: last.assistance, variant: last.variant };
  const known = step === tile.step ? tile.with : tile.open.find((one) => one.step === step);
  return { assistance: known?.assistance ?? "none", variant: known?.variant ?? "" };
}
