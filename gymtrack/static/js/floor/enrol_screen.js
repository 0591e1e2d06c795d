// A tablet that is not let in yet: an owner's code, typed once.

import { clone, show, write } from "./dom.js";

let isAsking = false;

/** What was typed as the code is shown: upper case, a hyphen in the middle. */
export function shownCode(typed) {
  const signs = typed.toUpperCase().replace(/[^A-Z0-9]/g, "").slice(0, 8);
  return signs.length > 4 ? `${signs.slice(0, 4)}-${signs.slice(4)}` : signs;
}

function say(sentence) {
  const place = document.getElementById("enrol-mistake");
  write(place, sentence);
  show(place, Boolean(sentence));
}

async function send(app) {
  const code = shownCode(document.getElementById("enrol-code").value);
  if (isAsking) return;
  if (code.length < 9) return say("The code has eight letters and digits.");
  isAsking = true;
  say("");
  const answer = await app.api.post("enrol/", { code }).catch((error) => ({ status: 0, data: { detail: error.message } }));
  isAsking = false;
  if (answer.status !== 201) return say(answer.data?.detail ?? "The server did not take this code.");
  await letIn(app, answer.data);
}

async function letIn(app, { tablet, gym, key }) {
  const row = { ...tablet, gym, key };
  try {
    await app.store.keep("tablet", row);
  } catch (error) {
    app.say(error.message, "error"); // it is let in for as long as this page lives
  }
  app.changed({ tablet: row, isShut: false });
  app.say(`This is “${tablet.name}” of ${gym.name} now.`);
  app.go("#/coach");
}

export const screen = {
  name: "enrol",

  open(app, root) {
    root.replaceChildren(clone("screen-enrol"));
    const field = document.getElementById("enrol-code");
    field.addEventListener("input", () => {
      const shown = shownCode(field.value);
      if (field.value !== shown && field.selectionStart === field.value.length) field.value = shown;
    });
    root.querySelector("form").addEventListener("submit", (event) => {
      event.preventDefault();
      void send(app);
    });
    root.querySelector("h1").focus({ preventScroll: true });
  },

  update() {},
};
