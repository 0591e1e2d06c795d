// What is said of an entry in the outbox, and what of it can be put right: pure.

/** Which fields of an act a person may put right, by its kind. */
export const MENDABLE = {
  attempt: ["athlete", "step", "session", "seconds", "reps", "closed_reason", "note"],
  mend: ["seconds", "reps"],
  move: ["athlete", "step", "closed_reason"],
  void: ["reason"],
  guest: ["session", "name"],
  here: ["session", "athlete"],
  gone: ["session", "athlete"],
  step: ["session", "athlete", "step"],
  start: ["name"],
  bar: ["session", "bar"],
  end: [],
};

/** Why an entry is still here: `{ words, isRefused, mayGo }`; `mayGo` where nobody else can have it any more. */
export function whyHere(entry, { entries, holders, online }) {
  const { refusal } = entry;
  if (entry.state === "refused") return { words: refusalWords(refusal), isRefused: true, mayGo: true };
  const ahead = entries.filter(({ id }) => (entry.after ?? []).includes(id));
  if (ahead.some(({ state }) => state === "refused"))
    return plain("Waits for an entry that was refused: put that one right, or take it back.", true);
  const coach = holders[entry.coach];
  if (!coach?.confirmed) return plain(`Waits for the code of ${coach?.name ?? "the coach who logged it"}.`, true);
  if (ahead.length) return plain("Goes right after the entry that it is about.");
  if (!online) return plain("Waits for the network.");
  return plain(refusal ? `The server did not take it yet: ${refusal.reason} It is sent again.` : "On its way.");
}

const plain = (words, mayGo = false) => ({ words, isRefused: false, mayGo });

function refusalWords({ reason, mistakes }) {
  const sentences = (mistakes ?? []).map(({ sentence }) => sentence);
  return [...new Set([reason, ...sentences])].filter(Boolean).join(" ") || "The server refused it.";
}

/** What typed texts change in the body of an act: `{ changes }`, or `{ mistake }` as a sentence. */
export function changesOf(entry, typed) {
  const changes = {};
  for (const field of MENDABLE[entry.kind] ?? []) {
    if (!(field in typed)) continue;
    const found = READ[field]?.(typed[field]) ?? { [field]: typed[field].trim() };
    if (found.mistake) return found;
    Object.assign(changes, found);
  }
  return { changes };
}

const READ = {
  seconds(text) {
    if (!text.trim()) return { hold_tenths: null };
    const found = /^\s*(\d{1,4})(?:[.,](\d))?\s*$/.exec(text);
    if (!found) return { mistake: "Seconds are a number such as 7.5." };
    return { hold_tenths: Number(found[1]) * 10 + Number(found[2] ?? 0) };
  },
  reps(text) {
    const found = /^\s*(\d{1,3})\s*$/.exec(text);
    return found ? { reps: Number(found[1]) } : { mistake: "Reps are a whole number." };
  },
};

/** The text of a field as it stands in a body. */
export function textOf(body, field) {
  if (field === "seconds") return body.hold_tenths ? `${Math.floor(body.hold_tenths / 10)}.${body.hold_tenths % 10}` : "";
  return String(body[field] ?? "");
}
