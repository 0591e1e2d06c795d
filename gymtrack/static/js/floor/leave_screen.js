// Signing out: nobody holds the tablet, and nobody's data stays on it. What waits stays, and asks first.

import { clone, show, slot, write } from "./dom.js";
import { holdersOf } from "./holders.js";
import { unnamed } from "./names.js";
import { counts } from "./outbox.js";

const CLEARED = { today: null, board: null, news: {}, unkept: {}, coaches: null };

const results = (number) => (number === 1 ? "1 entry" : `${number} entries`);

/** What is said of the outbox before; "" where nothing is in it. */
export function outboxWords({ waiting, refused }) {
  const parts = [
    waiting && `${results(waiting)} still ${waiting === 1 ? "waits" : "wait"} to be sent`,
    refused && `${results(refused)} ${refused === 1 ? "was" : "were"} refused`,
  ];
  return parts.filter(Boolean).join(", and ");
}

async function leave(app) {
  await holdersOf(app).leave();
  app.changed(CLEARED); // first: an answer that comes now finds nothing to be laid into and kept
  const copies = (await app.store.keys()).filter((key) => key === "today" || key === "coaches" || key.startsWith("board:"));
  await app.store.forget(...copies);
  const taken = (await app.store.kept("withdrawn")) ?? [];
  if (taken.length) await app.store.keep("withdrawn", taken.map((one) => ({ ...one, entry: unnamed(one.entry) })));
  app.say("Signed out. Nobody holds this tablet.");
  app.go("#/coach");
}

export const screen = {
  name: "leave",

  open(app, root) {
    root.replaceChildren(clone("screen-leave"));
    root.querySelector("h1").focus({ preventScroll: true });
  },

  update(app, root) {
    const words = outboxWords(counts(app.state.entries));
    const { isTiming } = app;
    show(slot(root, "outbox"), Boolean(words));
    write(slot(root, "outbox-words"), words ? `${words[0].toUpperCase()}${words.slice(1)}.` : "");
    show(slot(root, "running"), isTiming);
    write(slot(root, "leave"), words ? "Sign out, and keep them here" : "Sign out");
    slot(root, "leave").disabled = isTiming;
  },

  tap(app, node) {
    if (node.dataset.do === "leave") void leave(app);
    if (node.dataset.do === "send-now") app.courier.kick();
  },
};
