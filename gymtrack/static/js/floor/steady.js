// A tile never gets lower while its class is open: what becomes shorter in one moves no other under a finger.

/** Before a tile is changed: whatever comes, it stays as high as it is. */
export function keepRoom(tile) {
  if (tile.isConnected) tile.style.minHeight = `${tile.offsetHeight}px`;
}

// Turned, or wider: every tile finds its height anew.
addEventListener("resize", () => {
  for (const tile of document.querySelectorAll(".tile")) tile.style.minHeight = "";
});
