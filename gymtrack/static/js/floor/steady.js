// What becomes shorter or longer moves nothing else under a finger. A tile never gets lower while its class is open.

/** Before something is changed: whatever comes, it gets no lower than it is. */
export function keepRoom(node) {
  if (node.isConnected) node.style.minHeight = `${node.getBoundingClientRect().height}px`;
}

/** Before a tile is changed: its last lines get no more than they are, so that it gets no higher either. */
export function keepLines(tile) {
  const after = tile.querySelector(".tile-after");
  if (!after || !tile.isConnected || after.style.webkitLineClamp) return;
  after.style.webkitLineClamp = String(Math.max(2, Math.round(after.offsetHeight / parseFloat(getComputedStyle(after).lineHeight))));
}

/**
 * Bring something up to date, and leave `node` where it is on the screen: what was put above it, or is gone from there,
 * is scrolled away. A finger on its way to it comes down on it.
 */
export function holdStill(node, update) {
  const before = node?.checkVisibility() ? node.getBoundingClientRect().top : null;
  update();
  if (before === null || !node.checkVisibility()) return;
  for (const scroller of scrollersOf(node)) {
    const moved = node.getBoundingClientRect().top - before;
    if (Math.abs(moved) < 1) return;
    scroller.scrollTop += moved;
  }
}

function scrollersOf(node) {
  const found = [];
  for (let one = node.parentElement; one; one = one.parentElement) if (one.scrollHeight > one.clientHeight) found.push(one);
  return found;
}

// Turned, or wider: every tile finds its height anew.
addEventListener("resize", () => {
  for (const node of document.querySelectorAll(".tile, .step-name, .says, .next-row")) node.style.minHeight = "";
  for (const after of document.querySelectorAll(".tile-after")) after.style.webkitLineClamp = "";
});
