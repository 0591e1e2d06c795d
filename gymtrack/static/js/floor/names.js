// How people are named on the device: minors stand by initials, also before the server has answered. Pure.

const FEW = 3;

/** 'Ana Lind' gives 'A. L.', '王小明' gives '王.'; '?' without a name. */
export function initials(fullName) {
  const firsts = fullName.split(/\s+/u).filter(Boolean).map((word) => [...word][0]);
  const letters = firsts.filter((sign) => /\p{L}/u.test(sign)).slice(0, FEW);
  return letters.map((letter) => `${letter.toUpperCase()}.`).join(" ") || "?";
}

/** A guest as shown: the whole name is in the act alone, until it is sent. */
export const guestName = ({ name, is_minor: isMinor }) => (isMinor ? initials(name) : name);

/** An act as a person may keep it outside of the device, and the one in whose place it stands. */
export function discreet({ was, ...entry }) {
  const body = entry.kind === "guest" ? { ...entry.body, name: guestName(entry.body) } : entry.body;
  return { ...entry, body, ...(was && { was: discreet(was) }) };
}

/** An act as it may stay on a device that nobody holds: a guest by initials, whatever the age. */
export const unnamed = (entry) =>
  entry.kind === "guest" ? { ...entry, body: { ...entry.body, name: initials(entry.body.name) } } : entry;
