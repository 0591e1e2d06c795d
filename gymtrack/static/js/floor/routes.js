// Addresses of the board, behind the '#': where a coach is survives a reload, and the way back leads there.

const PLACES = { group: "group", "catch-up": "catch_up", end: "end" };

/** `{ name, params }` of an address such as '#/class/…/athlete/…'. */
export function routeOf(hash) {
  const [first, session, place, athlete, step] = hash.replace(/^#?\/?/, "").split("/").map(read);
  if (first === "class" && session) return classRoute(session, place, athlete, step);
  if (["waiting", "coach", "enrol", "leave"].includes(first)) return { name: first, params: {} };
  return { name: "classes", params: {} };
}

/** A part of an address; one that no page of ours made is taken as it stands. */
function read(part) {
  try {
    return decodeURIComponent(part);
  } catch {
    return part;
  }
}

/** `step` where the panel is to open at the step of a try, and not at the one in hand. */
function classRoute(session, place, athlete, step) {
  if (PLACES[place]) return { name: PLACES[place], params: { session } };
  if (place === "athlete" && athlete) return { name: "board", params: { session, athlete, ...(step && { step }) } };
  return { name: "board", params: { session, roster: place === "roster" } };
}

export const classPlace = (session, ...more) => `#/${["class", session, ...more].join("/")}`;

/** The address to come back to after somebody has taken over; null for those that are about that themselves. */
export const placeBefore = (hash) => (/^#\/(coach|leave|enrol)/.test(hash) ? null : hash || "#/");

/** Where to decide about a gate, and how to come back to this very place. */
export function signOffAddress({ session, athlete, step, gate, signer }) {
  const back = encodeURIComponent(`/floor/${classPlace(session, "athlete", athlete)}`);
  return `/sign-offs/${athlete}/${step}/${gate}/?next=${back}&signer=${signer}`;
}
