// Who is here: everybody who practises as one list to tap, all of last time's at once, a guest by name.

import { clone, element, fill, keyed, show, slot, write } from "./dom.js";
import { athletesOf, needs, presentOf, sessionOf } from "./model.js";
import { guestName } from "./names.js";

const norm = (text) => text.trim().toLocaleLowerCase();

export const matches = (words, wanted) => norm(words).includes(norm(wanted));

function makeRow(athlete) {
  return element(
    "li",
    {},
    element(
      "button",
      { type: "button", className: "row", dataset: { do: "toggle-here", athlete: athlete.id } },
      element("span", { className: "row-number", dataset: { slot: "number" } }),
      element("span", { className: "row-name" }, element("bdi", { dataset: { slot: "name" } })),
      element("span", { className: "row-state", dataset: { slot: "state", keepsRoom: "" } }),
    ),
  );
}

function updateRow(node, athlete, isHere) {
  fill(node, {
    number: athlete.number || "new",
    name: athlete.guest ? `${athlete.name} (guest)` : athlete.name,
    state: isHere ? "✓ here" : "here?",
  });
  const row = node.firstElementChild;
  row.classList.toggle("row-here", isHere);
  row.setAttribute("aria-pressed", String(isHere));
}

const label = (athlete, words) => ({ number: athlete?.number ?? "", words });

function presence(app, params, athlete, isHere) {
  const { entries } = app.state;
  const who = athletesOf(app.state).find(({ id }) => id === athlete);
  return {
    kind: isHere ? "gone" : "here",
    body: { session: params.session, athlete },
    after: needs(entries, { session: params.session, athlete }),
    label: label(who, isHere ? "gone" : "here"),
  };
}

function missingOfUsual(app, session) {
  const present = presentOf(app.state, session);
  const known = new Set(athletesOf(app.state).map(({ id }) => id));
  return (session?.usual ?? []).filter((id) => known.has(id) && !present.has(id));
}

async function addGuest(app, moment) {
  const root = document.getElementById("panel");
  const name = root.querySelector("#guest-name");
  const age = root.querySelector("[name=guest-age]:checked");
  const wrong = !name.value.trim()
    ? "Type the guest's name."
    : age
      ? ""
      : "Say whether the guest is an adult or a minor.";
  write(slot(root, "guest-error"), wrong);
  show(slot(root, "guest-error"), Boolean(wrong));
  if (wrong) return;
  const { session } = app.params;
  const body = { session, name: name.value.trim(), is_minor: age.value === "minor" };
  const words = { number: "", words: `guest ${guestName(body)}` };
  await app.act({ kind: "guest", body, moment, after: needs(app.state.entries, { session }), label: words });
  app.say(`${guestName(body)} is here as a guest.`);
  name.value = "";
  age.checked = false;
}

let filterOf = "";

export const roster = {
  name: "roster",

  open(app, root) {
    const node = clone("screen-roster");
    root.append(node);
    filterOf = "";
    node.querySelector("#find").addEventListener("input", (event) => {
      filterOf = event.target.value;
      app.changed();
    });
  },

  update(app, root, params, { session }) {
    const present = presentOf(app.state, session);
    const isEnded = Boolean(session?.ended_at);
    root.firstElementChild.classList.toggle("panel-log", Boolean(params.roster));
    for (const link of root.querySelectorAll("[data-back]")) {
      link.href = `#/class/${params.session}`;
      show(link, Boolean(params.roster));
    }
    const usual = missingOfUsual(app, session);
    show(slot(root, "usual"), usual.length > 0 && !isEnded);
    write(slot(root, "usual"), `Mark all ${usual.length} of last time`);
    show(slot(root, "ended"), isEnded);
    show(slot(root, "open"), !isEnded);
    const shown = athletesOf(app.state).filter(({ number, name }) => matches(`${number} ${name}`, filterOf));
    keyed(slot(root, "rows"), shown, {
      keyOf: ({ id }) => id,
      make: makeRow,
      update: (node, athlete) => updateRow(node, athlete, present.has(athlete.id)),
    });
    show(slot(root, "nobody-found"), shown.length === 0);
    write(
      slot(root, "nobody-found"),
      filterOf ? `Nobody has “${filterOf}” in name or number.` : "The roster is not on this tablet yet.",
    );
  },

  tap(app, node, moment) {
    const { athlete } = node.dataset;
    const what = node.dataset.do;
    const isHere = node.getAttribute("aria-pressed") === "true";
    if (what === "toggle-here") void app.act({ ...presence(app, app.params, athlete, isHere), moment }).catch(() => {});
    if (what === "add-guest") void addGuest(app, moment).catch(() => {});
    if (what === "here-usual") void markUsual(app, moment).catch(() => {});
  },
};

async function markUsual(app, moment) {
  const usual = missingOfUsual(app, sessionOf(app.state, app.params.session));
  await app.acts(usual.map((athlete) => ({ ...presence(app, app.params, athlete, false), moment })));
  app.say(`${usual.length} are here.`);
}
