// Nothing that has the focus goes away without the focus finding a place near by: who works by keyboard or by a screen
// reader goes on from there, and not from the top of the page.

const CONTROLS = "summary, a[href], button:enabled, input:enabled, select:enabled, textarea:enabled";

let around = []; // what had the focus last, and all that it stood in, from the inside out

const isThere = (node) => node.isConnected && node.checkVisibility();
const firstOf = (part, what) => [...part.querySelectorAll(what)].find(isThere);

function remember(target) {
  around = [];
  for (let node = target; node && node !== document.body; node = node.parentElement) around.push(node);
}

/** The nearest part that is still there: its heading, else what can be used in it first. */
function placeNear() {
  for (const part of around.slice(1).filter(isThere)) {
    const place = firstOf(part, ":is(h1, h2)[tabindex]") ?? firstOf(part, CONTROLS);
    if (place) return place;
  }
  return null;
}

function keep(root) {
  const [last] = around;
  if (!last || (isThere(last) && !last.disabled)) return; // whoever touched beside everything meant it
  const held = document.activeElement;
  if (held && held !== document.body && held !== last) return;
  (placeNear() ?? firstOf(root, ":is(h1, h2)[tabindex]") ?? root).focus({ preventScroll: true });
}

/** Watch over all that is shown in `root`, and tell the looks whether keys or fingers are at work. */
export function keepFocus(root) {
  const look = new MutationObserver(() => keep(root));
  const attributeFilter = ["hidden", "disabled", "open"];
  look.observe(root, { childList: true, subtree: true, attributes: true, attributeFilter });
  document.addEventListener("focusin", ({ target }) => remember(target));
  document.addEventListener("keydown", () => document.documentElement.setAttribute("data-keys", ""));
  document.addEventListener("pointerdown", () => document.documentElement.removeAttribute("data-keys"));
}
