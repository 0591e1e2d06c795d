// The end of a class: first for whom nothing was logged, each one tap from being logged.

import { clone, element, fill, keyed, show, slot } from "./dom.js";
import { athletesOf, needs, placesOf, presentOf, rowsOf, sessionOf, tilesOf } from "./model.js";
import { classPlace } from "./routes.js";
import { without } from "./tries.js";

export const tilesHere = (app, session) => {
  const known = new Set(athletesOf(app.state).map(({ id }) => id));
  const places = placesOf([], [...presentOf(app.state, session)].filter((id) => known.has(id)));
  return tilesOf(app.state, session, places);
};

function link(session, tile) {
  return element("li", {}, element("a", { className: "row", href: classPlace(session, "athlete", tile.id) },
    element("span", { className: "row-number", dataset: { slot: "number" } }),
    element("span", { className: "row-name" }, element("bdi", { dataset: { slot: "name" } })),
    element("span", { className: "row-state", textContent: "log now" })));
}

async function end(app, session, moment) {
  const after = needs(app.state.entries, { session });
  await app.act({ kind: "end", body: { session }, moment, after, label: { number: "", words: "Class ended" } });
  app.say("The class has ended. What waits is still sent.");
  app.go("#/");
}

export const screen = {
  name: "end",

  open(app, root, { session }) {
    root.replaceChildren(clone("screen-end"));
    slot(root, "back").href = classPlace(session);
    root.querySelector("h1").focus({ preventScroll: true });
  },

  update(app, root, params) {
    const session = sessionOf(app.state, params.session);
    const tiles = session ? without(tilesHere(app, session), rowsOf(app.state)) : [];
    fill(root, { class: session?.name ?? "this class" });
    show(slot(root, "missing"), tiles.length > 0);
    show(slot(root, "everybody"), tiles.length === 0);
    show(slot(root, "offline"), !app.state.online);
    show(slot(root, "ended"), Boolean(session?.ended_at));
    show(root.querySelector("[data-do=end-class]"), Boolean(session) && !session.ended_at);
    keyed(slot(root, "people"), tiles, {
      keyOf: ({ id }) => id,
      make: (tile) => link(params.session, tile),
      update: (node, tile) => fill(node, { number: tile.number || "new", name: tile.name }),
    });
  },

  tap(app, node, moment) {
    if (node.dataset.do === "end-class") void end(app, app.params.session, moment).catch(() => {});
  },
};
