// Touches of everything that carries data-do. A clock needs the moment at which the screen felt the finger; all the rest
// acts when the finger is lifted, so that a list can be moved under it. A second touch within 0.3 s does nothing.

import { TouchGuard, momentOf } from "../hold_clock.js";

const guard = new TouchGuard();
const CLICK_MS = 1000; // a click that belongs to a touch comes within this
let waiting = []; // what is done once the finger is up
let felt = null; // { node, moment, stamp, isDone, isRefused } of the touch whose click has yet to come

/** Do something that scrolls or moves the focus: once the touch that is felt has ended, or else at once. */
export function afterTouch(act) {
  if (!felt) return act();
  waiting.push(act);
  return setTimeout(release, CLICK_MS); // where no click follows
}

function release() {
  for (const act of waiting.splice(0)) act();
}

/**
 * `touch(node, moment)` when a finger or key goes down; it returns true where that was all. `tap(node, moment)` when it
 * comes up, with the moment at which it went down.
 */
export function listen({ touch, tap }) {
  const down = (target, stamp) => {
    const node = target.closest?.("[data-do]");
    felt = null;
    if (!node) return;
    const isRefused = !node.hasAttribute("data-quick") && !guard.accepts(stamp);
    felt = { node, moment: momentOf(stamp), stamp, isDone: false, isRefused };
    if (!isRefused) felt.isDone = Boolean(touch(node, felt.moment));
  };
  document.addEventListener("pointerdown", (event) => event.button === 0 && down(event.target, event.timeStamp));
  document.addEventListener("keydown", (event) => {
    if (!event.repeat && (event.key === "Enter" || event.key === " ")) down(event.target, event.timeStamp);
  });
  document.addEventListener(
    "click",
    (event) => {
      if (waiting.length) setTimeout(release);
      if (isOfAnother(event)) {
        event.preventDefault();
        event.stopPropagation();
        felt = null;
        return;
      }
      const node = event.target.closest?.("[data-do]");
      if (!node) return;
      if (felt?.node !== node) down(node, event.timeStamp); // by a screen reader: no pointer and no key came before
      const { moment, isDone, isRefused } = felt;
      felt = null;
      if (isRefused) event.preventDefault();
      if (!isDone && !isRefused) tap(node, moment);
    },
    { capture: true },
  );
}

/** What was touched has acted and made room: the click lands on what has come under the finger, and is not meant for it. */
function isOfAnother({ target, timeStamp }) {
  return Boolean(felt?.isDone) && !felt.node.contains(target) && timeStamp - felt.stamp < CLICK_MS;
}
