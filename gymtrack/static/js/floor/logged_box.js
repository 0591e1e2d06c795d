// What was logged last for an athlete in this class: whether it is kept or stored, the cue, the news, and the ways to
// mend it, move it or take it back.

import { clone, element, fill, key, keyed, press, show, slot, write } from "./dom.js";
import { isTouched } from "./draft.js";
import { signOffAddress } from "./routes.js";
import { DOUBTS, cuesOf, stepName } from "./words.js";

const LEAD = { waiting: "Kept:", stored: "Stored:", refused: "Refused:" };
const SHORTEST_HOLD_TENTHS = 20;

/** The last try of this class, at whatever step; a taken back one only while nothing else is there. */
export function shownRow({ rows, athlete, last }) {
  return (
    last ??
    rows.find((row) => row.athlete === athlete && !row.is_void) ??
    rows.find((row) => row.athlete === athlete) ??
    null
  );
}

function hurtWords(step) {
  const loads = (step?.loads ?? []).map((load) => load.replace("_", "-")).join(", ");
  return `It hurt: every step with the same load (${loads}) is paused until a coach lifts the caution.`;
}

function linesOf(row, { app, step, tile }) {
  const { steps } = app.state.today ?? { steps: [] };
  const own = steps.find(({ id }) => id === row.step);
  return {
    lead: row.is_void ? "Taken back:" : LEAD[row.status],
    words: `${row.words}${own && own.id !== step?.id ? ` (${stepName(own)})` : ""}`,
    short:
      !row.is_void && row.status !== "refused" && row.hold_tenths && row.hold_tenths < SHORTEST_HOLD_TENTHS
        ? "Under 2 s: kept, and no hold."
        : "",
    cue: row.is_void
      ? ""
      : cuesOf(row, own)
          .map((cue) => `“${cue}”`)
          .join(" "),
    hurt: row.pain ? hurtWords(own) : "",
    doubt: row.doubt && row.source === "timed_only" ? `Timed only: ${DOUBTS[row.doubt] ?? row.doubt}.` : "",
    refusal: row.refusal
      ? row.refusal.reason || row.refusal.mistakes?.map(({ sentence }) => sentence).join(" ")
      : (tile.refused[0]?.refusal?.reason ?? ""),
  };
}

/** One row whose place is kept free: what the answer brings moves nothing below it. All of it stands under its fold. */
function showNews(row, refusal, context) {
  const { root, app } = context;
  const lines = (!row?.is_void && app.state.news[row?.id]) || [];
  const gates = gatesOf(context);
  const [first, ...more] = refusal ? [`Not taken: ${refusal}`, ...lines] : lines;
  const many = more.length + Math.max(gates.length - 1, 0);
  const box = slot(root, "news-box");
  if (box.dataset.of !== (row?.id ?? "")) box.open = false;
  box.dataset.of = row?.id ?? "";
  show(box, Boolean(first) || many > 0);
  box.toggleAttribute("data-refused", Boolean(refusal));
  write(slot(root, "news-lead"), [first, many && `${many} more`].filter(Boolean).join(" · "));
  keyed(slot(root, "news"), lines, {
    keyOf: (line) => line,
    make: (line) => element("p", { className: "news", textContent: line }),
  });
  show(slot(root, "put-right"), Boolean(refusal));
  showGates(slot(root, "gates"), gates.slice(0, refusal ? 0 : 1), context);
  showGates(slot(root, "more-gates"), gates.slice(refusal ? 0 : 1), context);
}

function gatesOf({ app, tile }) {
  return tile.waiting.filter(({ step }) => app.state.today?.steps.some(({ id }) => id === step));
}

function showGates(place, gates, { app, session, athlete }) {
  const { today, holder, online } = app.state;
  keyed(place, gates, {
    keyOf: ({ step, gate }) => `${step} ${gate}`,
    make: () => element("p", {}, element("a", {}, element("span", { className: "two-lines" })), element("span", { className: "quiet" })),
    update: (node, { step, gate, words }) => {
      const [link, offline] = node.children;
      const lead = gate === "finish" ? "Ready for sign-off" : "Waits for clearance";
      write(link.firstElementChild, `${lead}: ${stepName(today.steps.find(({ id }) => id === step))}, ${words}?`);
      link.href = signOffAddress({ session: session?.id, athlete, step, gate, signer: holder });
      show(link, online);
      write(offline, online ? "" : `${lead}: sign-off needs the network.`);
    },
  });
}

function word(code, words, isMissed = false) {
  const button = element("button", {
    type: "button",
    className: isMissed ? "fault missed-word" : "fault",
    dataset: { do: isMissed ? "mend-missed" : "mend-fault", code },
  });
  if (isMissed) button.append(element("span", { className: "quiet", textContent: "Not shown: " }));
  button.append(words);
  return button;
}

function showMend({ root, last, step }) {
  if (!last || !step) return;
  write(slot(root, "mend-legend"), `${LEAD[last.status]} ${last.words}. Seen besides?`);
  const words = [
    ...step.faults.map((one) => ({ ...one, key: `f ${one.code}`, isSeen: last.faults.includes(one.code) })),
    ...step.checkpoints.map((one) => ({ ...one, key: `m ${one.code}`, isMissed: true, isSeen: last.missed.includes(one.code) })),
  ]; // those that were tapped stay in their places: a second tap beside them is meant for what stands there
  keyed(slot(root, "mend-words"), words, {
    keyOf: (one) => `${step.id} ${one.key}`,
    make: (one) => {
      const button = word(one.code, one.name ?? one.text, one.isMissed);
      if (one.dangerous)
        button.prepend(clone("caution-mark"), element("span", { className: "unseen", textContent: "Dangerous: " }));
      return button;
    },
    update: (button, one) => press(button, one.isSeen),
  });
  show(slot(root, "mend-clean"), last.faults.length + last.missed.length > 0);
}

function showUndo(row, { root, app, tiles, athlete }) {
  const mayUndo = Boolean(row && !row.is_void && row.status !== "refused");
  show(slot(root, "undo"), mayUndo);
  if (!mayUndo) return;
  keyed(slot(root, "void-reasons"), app.state.today?.words.void_reasons ?? [], {
    keyOf: ([code]) => code,
    make: ([code, words]) => key(words, { do: "void", why: code }),
  });
  keyed(
    slot(root, "others"),
    tiles.filter(({ id, isHere }) => id !== athlete && isHere),
    {
      keyOf: ({ id }) => id,
      make: (tile) => key(`${tile.number || "new"} ${tile.name}`, { do: "move", athlete: tile.id }),
    },
  );
}

/** A try at another step than the panel's is one tap away, to say what was seen of it. */
function mayLookBack(row, { app, athlete, draft }) {
  const isOther = row && !row.is_void && row.status !== "refused" && row.step !== draft.step;
  return Boolean(isOther) && !isTouched(draft) && !app.clocks.isRunning(athlete);
}

export const logged = {
  update(context) {
    const { root, tile } = context;
    const row = shownRow(context);
    const box = slot(root, "logged");
    show(box, Boolean(row) || tile.refused.length > 0);
    if (box.dataset.attempt !== row?.id && slot(root, "undo").open) slot(root, "undo").open = false;
    box.dataset.attempt = row?.id ?? "";
    box.dataset.status = row?.status ?? "refused";
    const nothing = {
      lead: "",
      words: "",
      short: "",
      cue: "",
      hurt: "",
      doubt: "",
      refusal: tile.refused[0]?.refusal?.reason ?? "",
    };
    const lines = row ? linesOf(row, context) : nothing;
    const { refusal, ...own } = lines;
    fill(box, own);
    fill(root, { refusal });
    show(slot(root, "refusal-line"), Boolean(refusal));
    show(slot(root, "look-back"), mayLookBack(row, context));
    show(slot(root, "doubt-line"), Boolean(lines.doubt) && !row?.is_void && row?.status !== "refused");
    showNews(row, refusal, context);
    showMend(context);
    showUndo(row, context);
    fill(root, {
      last: row ? "" : tile.last && `Last: ${tile.last}`,
      "last-cue": row ? "" : [tile.cue && `“${tile.cue}”`, tile.note].filter(Boolean).join(" · "),
    });
  },
};
