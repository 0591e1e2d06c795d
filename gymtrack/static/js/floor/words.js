// What the device says of a result by itself, until the server's own words are there. Pure.

import { tell } from "../hold_clock.js";

const UNASSISTED = "none";

export const seconds = (tenths) => `${tenths % 10 ? tell(tenths) : tenths / 10} s`;

const counted = (number, word) => `${number} ${word}${number === 1 ? "" : "s"}`;

/** '5.2 s', '3 × 5 s', '4 reps, broken'. */
export function resultWords({ hold_tenths: tenths, reps, unbroken, grade, angle_degrees: degrees }, step) {
  const at = degrees === null || degrees === undefined ? "" : ` at ${degrees}°`;
  const words = tenths ? `${reps > 1 ? `${reps} × ` : ""}${seconds(tenths)}${at}` : `${counted(reps, "rep")}${at}`;
  const broken = !tenths && !unbroken && reps > 1 ? ", broken" : "";
  return grade ? `${words}${broken} to the ${step?.grades[grade - 1] ?? grade}` : `${words}${broken}`;
}

/** 'clean', or what was wrong. */
export function qualityWords({ faults, missed, pain }, step) {
  const name = (code) => step?.faults.find((fault) => fault.code === code)?.name ?? code;
  const text = (code) => (step?.checkpoints.find((one) => one.code === code)?.text ?? code).replace(/\.$/, "");
  const parts = [...faults.map(name), ...missed.map((code) => `not shown: ${text(code)}`), ...(pain ? ["pain"] : [])];
  return parts.join("; ") || "clean";
}

/** 'no help', or the help and the form: never silently none. */
export function withWords({ assistance, variant }, step, words) {
  const help = words?.assistances.find(([code]) => code === assistance)?.[1] ?? assistance;
  const form = step?.variants.find(({ code }) => code === variant)?.name ?? variant;
  return form ? `${help}; ${form}` : help;
}

/** A result as one line; who measured and what helped only where it is not the usual. */
export function attemptWords(result, step, words) {
  const parts = [resultWords(result, step), qualityWords(result, step)];
  if (result.source !== "judged") parts.push(words?.sources[result.source] ?? result.source);
  if (result.assistance !== UNASSISTED || result.variant) parts.push(withWords(result, step, words));
  return parts.join(", ");
}

export function cuesOf({ faults }, step) {
  return (step?.faults ?? []).filter(({ code, cue }) => cue && faults.includes(code)).map(({ cue }) => cue);
}

export const stepName = (step) => (step ? `${step.label} ${step.name}` : "");

/** What is missing as a tile says it: without the asides in brackets that the panel has. */
export const briefly = (missing) => missing.replace(/ \((?:due since|\d+ of \d+ tr(?:y|ies) so far)[^)]*\)/g, "");

/** '18:02' in the gym's zone. */
export function clockTime(iso, zone) {
  const how = { hour: "2-digit", minute: "2-digit", hourCycle: "h23", timeZone: zone };
  return new Intl.DateTimeFormat("en-GB", how).format(new Date(iso));
}

/** 'as of 18:02, 2 waiting'; nothing where the page has just heard from the server and nothing waits. */
export function standWords({ at, zone, isOnline, waiting, refused }) {
  const parts = [];
  if (!isOnline) parts.push(at ? `No network: as of ${clockTime(at, zone)}` : "No network");
  if (waiting) parts.push(`${waiting} waiting`);
  if (refused) parts.push(`${refused} refused`);
  return parts.join(", ");
}

export const DOUBTS = {
  slept: "the device slept meanwhile",
  hidden: "the page was not to be seen meanwhile",
};
