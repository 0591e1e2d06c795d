// The classes of today: open one, or start one in two taps.

import { clone, element, fill, keyed, show, slot } from "./dom.js";
import { sessionsOf } from "./model.js";
import { classPlace } from "./routes.js";
import { stepOptions } from "./step_options.js";
import { clockTime, stepName } from "./words.js";

function classLink(session) {
  return element(
    "li",
    {},
    element(
      "a",
      { className: "big-link", href: classPlace(session.id) },
      element("strong", { dataset: { slot: "name" } }),
      element("span", { dataset: { slot: "about" } }),
    ),
  );
}

function updateLink(node, session, today) {
  const focus = today?.steps.find(({ id }) => id === session.focus);
  const parts = [
    clockTime(session.starts_at, today?.gym.time_zone),
    session.coach,
    focus && `for everybody: ${stepName(focus)}`,
  ];
  if (session.ended_at) parts.push("ended");
  else if (session.present.length) parts.push(`${session.present.length} here`);
  fill(node, { name: session.name, about: parts.filter(Boolean).join(" · ") });
}

/** As typed; a class that is started before the day is known is called by its time, so that nobody has to wait. */
function nameOf(app, root) {
  const typed = root.querySelector("#class-name").value.trim();
  return typed || app.state.today ? typed : `Class of ${clockTime(new Date().toISOString())}`;
}

async function start(app, root, moment) {
  const name = nameOf(app, root);
  if (!name) return app.say("Give the class a name.", "error", root.querySelector("#class-name"));
  const focus = root.querySelector("#class-focus").value || null;
  const id = await app.act({
    kind: "start",
    body: { name, focus },
    moment,
    label: { number: "", words: `Class “${name}” started` },
  });
  return app.go(classPlace(id, "roster"));
}

export const screen = {
  name: "classes",

  open(app, root) {
    root.append(clone("screen-classes"));
  },

  update(app, root) {
    const { today } = app.state;
    const sessions = sessionsOf(app.state).sort((one, other) => Boolean(one.ended_at) - Boolean(other.ended_at));
    show(slot(root, "none"), sessions.length === 0);
    show(slot(root, "unknown"), !today);
    keyed(slot(root, "classes"), sessions, {
      keyOf: ({ id }) => id,
      make: classLink,
      update: (node, session) => updateLink(node, session, today),
    });
    const name = root.querySelector("#class-name");
    if (today && !name.dataset.isFilled) {
      name.value = today.usual_name;
      name.dataset.isFilled = "yes";
    }
    stepOptions(root.querySelector("#class-focus"), today?.steps ?? [], "each their own step");
  },

  tap(app, node, moment) {
    if (node.dataset.do === "start-class") void start(app, document.getElementById("main"), moment).catch(() => {});
  },
};
