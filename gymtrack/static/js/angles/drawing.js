// The picture and its points on a canvas. Each point stands in a ring as large as its tap may be off.

const RING_PX = 14; // the mark is as large on the screen at every zoom; the ring of the error grows with it
const LIGHT = "#ffffff";
const DARK = "#10201f";
const CHOSEN = "#ffd166";

/** Fit the canvas to its box at the screen's own sharpness, and return its pen in CSS pixels. */
export function penFor(canvas, { width, height }) {
  const sharpness = globalThis.devicePixelRatio || 1;
  canvas.width = Math.round(width * sharpness);
  canvas.height = Math.round(height * sharpness);
  canvas.style.height = `${height}px`;
  const pen = canvas.getContext("2d");
  pen.setTransform(sharpness, 0, 0, sharpness, 0, 0);
  return pen;
}

export function draw(pen, { bitmap, view, points, box }) {
  pen.clearRect(0, 0, box.width, box.height);
  const from = view.toScreen({ x: 0, y: 0 });
  const to = view.toScreen({ x: bitmap.width, y: bitmap.height });
  pen.drawImage(bitmap, from.x, from.y, to.x - from.x, to.y - from.y);
  const placed = points.placed.map((point) => ({ ...point, ...view.toScreen(point), ring: point.off * view.scale }));
  if (points.isWhole) line(pen, placed);
  for (const point of placed) mark(pen, point, point.name === points.chosen);
}

/** Twice, dark under light: seen on every picture. */
function stroke(pen, width, colour) {
  for (const [wide, ink] of [[width + 3, DARK], [width, colour]]) {
    pen.lineWidth = wide;
    pen.strokeStyle = ink;
    pen.stroke();
  }
}

function line(pen, placed) {
  pen.beginPath();
  for (const { x, y } of placed) pen.lineTo(x, y);
  stroke(pen, 2, LIGHT);
}

function mark(pen, { x, y, ring, name }, isChosen) {
  pen.beginPath();
  pen.arc(x, y, ring, 0, 2 * Math.PI);
  stroke(pen, 1, LIGHT);
  pen.beginPath();
  for (const [across, down] of [[1, 0], [-1, 0], [0, 1], [0, -1]]) {
    pen.moveTo(x + 3 * across, y + 3 * down);
    pen.lineTo(x + RING_PX * across, y + RING_PX * down);
  }
  stroke(pen, 2, isChosen ? CHOSEN : LIGHT);
  label(pen, x, y, isChosen ? `▸ ${name}` : name);
}

function label(pen, x, y, words) {
  pen.font = "600 15px system-ui, sans-serif";
  pen.textBaseline = "bottom";
  const isAtEdge = x + RING_PX + pen.measureText(words).width > pen.canvas.clientWidth;
  pen.textAlign = isAtEdge ? "right" : "left";
  const [left, top] = [x + (isAtEdge ? -RING_PX : RING_PX), Math.max(y - (isAtEdge ? RING_PX : 6), 18)];
  pen.lineWidth = 4;
  pen.lineJoin = "round";
  pen.strokeStyle = DARK;
  pen.strokeText(words, left, top);
  pen.fillStyle = LIGHT;
  pen.fillText(words, left, top);
}
