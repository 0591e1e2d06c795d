// The line above every screen: who holds the tablet, how things stand with the server, and what was said last.

import { fill, show, slot, write } from "./dom.js";
import { counts } from "./outbox.js";
import { afterTouch } from "./touches.js";
import { standWords } from "./words.js";

const bar = () => document.getElementById("floor-head");
const SHUT =
  "This tablet was taken off the floor by an owner. What waits stays here: keep a copy of it under “Waiting”.";
const UNCONFIRMED = "Not confirmed yet who holds this tablet: what you log waits here.";
const PLAIN = "This tablet is not on https: do not reload this page while something waits or a clock runs.";
const MEMORY = "This browser keeps nothing: what is entered is lost when the page is closed.";

function noticeOf({ isShut, isDurable, plain, isUnconfirmed, hasNews }) {
  if (isShut) return SHUT;
  if (!isDurable) return MEMORY;
  if (isUnconfirmed || plain) return [isUnconfirmed && UNCONFIRMED, plain && PLAIN].filter(Boolean).join(" ");
  return hasNews ? "A newer version of this board is ready." : "";
}

/** The field that an alarm is about: seen, heard, and ready to be typed in. */
function mark(field) {
  field.setAttribute("aria-invalid", "true");
  field.setAttribute("aria-describedby", "alarm-words");
  afterTouch(() => {
    field.focus({ preventScroll: true });
    field.scrollIntoView({ block: "nearest" });
  });
}

function unmark() {
  for (const field of document.querySelectorAll("[aria-describedby=alarm-words]")) {
    field.removeAttribute("aria-invalid");
    field.removeAttribute("aria-describedby");
  }
}

export const head = {
  update({ state, isTiming, params }) {
    const isInClass = Boolean(params.session); // a line that comes in the middle of it would move all of it
    const hasNews = state.hasNews && !isInClass;
    const { waiting, refused } = counts(state.entries);
    const { today, holder, holders, online, board } = state;
    const isUnsure = Boolean(holder && !holders[holder]?.confirmed);
    const isUnconfirmed = isUnsure && !isInClass;
    const stand = { at: board?.at ?? today?.at, zone: today?.gym.time_zone, isOnline: online, waiting, refused };
    fill(bar(), {
      gym: state.tablet?.gym?.name ?? "Floor board",
      holder: holders[holder]?.name ?? "",
      unsure: isUnsure && isInClass ? "not confirmed: type the code" : "",
      notice: noticeOf({ ...state, isUnconfirmed, hasNews }),
    });
    write(slot(bar(), "stand"), standWords(stand) || (today ? "Everything stored" : "Nothing waits"));
    show(slot(bar(), "stand"), true); // a link, and so no link before it has words
    bar().toggleAttribute("data-away", !online);
    bar().toggleAttribute("data-refused", refused > 0);
    show(slot(bar(), "who"), Boolean(holder));
    show(slot(bar(), "confirm"), isUnconfirmed);
    show(slot(bar(), "update"), hasNews && !waiting && !isTiming);
  },

  say(sentence, kind, field = null) {
    const isLoud = kind === "error" || kind === "warning";
    if (isLoud) unmark();
    write(document.getElementById(isLoud ? "alarm-words" : "said"), sentence);
    if (isLoud) show(document.getElementById("alarm"), true);
    if (field) mark(field);
  },

  hush() {
    show(document.getElementById("alarm"), false);
    write(document.getElementById("alarm-words"), "");
    unmark();
  },
};
