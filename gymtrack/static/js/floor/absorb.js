// What an answer of the server changes in what the page knows. Pure: each returns what takes the place of the old.

import { guestName } from "./names.js";
import { marked } from "./rotation.js";

const replaced = (rows, news) => {
  const of = new Map(news.map((row) => [row.id, row]));
  const known = new Set(rows.map(({ id }) => id));
  return [...news.filter(({ id }) => !known.has(id)), ...rows.map((row) => of.get(row.id) ?? row)];
};

const newestFirst = (log) => [...log].sort((one, other) => (one.at < other.at ? 1 : one.at > other.at ? -1 : 0));

/** A board after an answer to acts: its tiles and rows take the place of the old ones, wherever they stand. */
export function boardAfter(board, answer, entries) {
  if (!board || !isOf(board.session.id, entries)) return board;
  const stored = storedOf(answer, entries);
  return {
    ...board,
    at: answer.at,
    session: stored.reduce(sessionAfter, board.session),
    plan: board.plan && planAfter(board.plan, answer, stored),
    tiles: replaced(board.tiles, answer.tiles ?? []),
    log: newestFirst(replaced(board.log, answer.log ?? [])),
  };
}

/** Whether acts are about this class, as far as they say so. */
const isOf = (session, entries) => entries.every(({ body }) => !body.session || body.session === session);

function storedOf(answer, entries) {
  const ids = new Set(answer.receipts.filter(({ status }) => status === "stored").map(({ id }) => id));
  return entries.filter(({ id }) => ids.has(id));
}

/** A plan after taps on its clock: each counts from the moment that the server made of it. */
function planAfter(plan, answer, stored) {
  const moments = new Map(answer.receipts.map(({ id, happened_at: at }) => [id, at]));
  const taps = stored.filter(({ kind }) => kind === "rotation");
  return taps.reduce((now, { id, body }) => marked(now, { at: moments.get(id), rotation: body.rotation }), plan);
}

function sessionAfter(session, { id, kind, body, device_at: at }) {
  if (body.session !== session.id) return session;
  const others = session.present.filter((one) => one !== body.athlete);
  if (kind === "here") return { ...session, present: [...others, body.athlete] };
  if (kind === "gone") return { ...session, present: others };
  if (kind === "guest") return { ...session, present: [...session.present, id] };
  return kind === "end" ? { ...session, ended_at: at } : session;
}

/** The day after an answer: classes begun and ended, guests, bars looked over. */
export function todayAfter(today, answer, entries) {
  if (!today) return today;
  return storedOf(answer, entries).reduce(dayAfter, today);
}

function dayAfter(today, entry) {
  const { id, kind, body, device_at: at } = entry;
  const sessions = today.sessions.map((session) => sessionAfter(session, entry));
  if (kind === "start") {
    const begun = {
      id,
      name: body.name,
      focus: body.focus,
      starts_at: at,
      ended_at: null,
      coach: "",
      present: [],
      usual: [],
    };
    return { ...today, sessions: [begun, ...sessions.filter((one) => one.id !== id)] };
  }
  if (kind === "guest") {
    const athletes = today.athletes.filter((one) => one.id !== id);
    return { ...today, sessions, athletes: [...athletes, { id, number: "", name: guestName(body), guest: true }] };
  }
  if (kind === "bar") return { ...today, bar_checks: [{ bar: body.bar, at, by: "" }, ...today.bar_checks] };
  return { ...today, sessions };
}

/** Lines of news by the attempt that made them. */
export function newsAfter(news, answer) {
  const fresh = answer.receipts.filter((receipt) => receipt.news?.length).map(({ id, news: lines }) => [id, lines]);
  return { ...news, ...Object.fromEntries(fresh) };
}

/** Whether an answer is older than what is known: asked for before a result was stored, and come after. */
export const isOlder = (one, other) => Boolean(other) && Date.parse(one) < Date.parse(other);
