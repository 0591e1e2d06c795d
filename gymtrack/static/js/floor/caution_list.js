// Cautions to read before somebody hangs, as one box that is spread out until they were read.

import { element, keyed, show, slot } from "./dom.js";

const lineOf = (line) => element("li", { textContent: line });

/** Show `cautions` as cautionsFor() gives them in a box with a list `cautions`; `isRead(what)` folds it. */
export function paintCautions(box, cautions, isRead) {
  const what = cautions.map(({ title }) => title).join("; ");
  show(box, cautions.length > 0);
  if (box.dataset.of !== what) box.open = !isRead(what);
  box.dataset.of = what;
  keyed(slot(box, "cautions"), cautions, {
    keyOf: ({ title, lines }) => `${title} ${lines.join(" ")}`,
    make: ({ title, lines }) =>
      element("li", {}, element("strong", { textContent: title }), element("ul", {}, ...lines.map(lineOf))),
  });
}
