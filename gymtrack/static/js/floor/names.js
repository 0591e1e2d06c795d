// How people are named on the device before the server has answered, and as it will then. Pure.

const FEW = 3;

/** 'Ana Lind' gives 'A. L.', '王小明' gives '王.'; '?' without a name. */
export function initials(fullName) {
  const firsts = fullName.split(/\s+/u).filter(Boolean).map((word) => [...word][0]);
  const letters = firsts.filter((sign) => /\p{L}/u.test(sign)).slice(0, FEW);
  return letters.map((letter) => `${letter.toUpperCase()}.`).join(" ") || "?";
}

/** A guest as shown: by initials at any age, for nobody has agreed to more yet. The name is in the act alone. */
export const guestName = ({ name }) => initials(name);

/** An act as a person may keep it outside of the device, and the one in whose place it stands: no minor's name. */
export function discreet({ was, ...entry }) {
  const { kind, body: said } = entry;
  const body = kind === "guest" && said.is_minor ? { ...said, name: initials(said.name) } : said;
  return { ...entry, body, ...(was && { was: discreet(was) }) };
}

/** An act as it may stay on a device that nobody holds: a guest by initials, whatever the age. */
export const unnamed = (entry) =>
  entry.kind === "guest" ? { ...entry, body: { ...entry.body, name: initials(entry.body.name) } } : entry;
