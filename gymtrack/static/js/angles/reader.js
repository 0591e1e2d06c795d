// The reader of angles: a picture, its points, and the figure that they make. The picture lives in this object alone,
// from the choosing of a file until `drop`; what leaves is a whole number of degrees.

import { TouchGuard } from "../hold_clock.js";
import { draw, penFor } from "./drawing.js";
import { arms, read, told } from "./geometry.js";
import { PictureError, decoded } from "./picture.js";
import { Points } from "./points.js";
import { Viewport } from "./viewport.js";

const NEAR_PX = 1; // one step of an arrow, on the screen
const FAR_PX = 10;
const MOST_HEIGHT = 0.45; // of the screen: points, keys and figure stay in sight
const ARROWS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };
const ZOOMS = { "+": 2, "=": 2, "-": 0.5 };

export class StillReader {
  #root;
  #points;
  #guard = new TouchGuard();
  #bitmap = null;
  #view = null;
  #asked = 0; // of several files chosen in a row, the last one is shown
  #reading = null;

  /** `root` is the reader's markup; an angle that is taken is announced there as a `still-angle` event. */
  constructor(root) {
    this.#root = root;
    this.#points = new Points(Number(root.dataset.tapPx));
    this.#part("plain").hidden = true;
    this.#part("tool").hidden = false;
    this.#listen();
    this.#askFor();
  }

  #part(name) {
    return this.#root.querySelector(`[data-still-${name}]`);
  }

  get #kind() {
    return this.#root.querySelector("[name=still-kind]:checked");
  }

  get #canvas() {
    return this.#part("canvas");
  }

  /** Set the kind of angle, by its code. */
  choose(kind) {
    const radio = this.#root.querySelector(`[name=still-kind][value="${kind}"]`);
    if (radio) radio.checked = true;
    this.#askFor();
  }

  /** Let go of the picture and its points. */
  drop() {
    this.#asked += 1;
    this.#bitmap?.close();
    this.#bitmap = this.#view = this.#reading = null;
    this.#points.clear();
    penFor(this.#canvas, { width: 1, height: 1 });
    this.#tell("");
    this.#part("work").hidden = true;
    this.#part("files").hidden = false;
    this.#part("figure").hidden = true;
  }

  // ---- A file -------------------------------------------------------------------------------------------------

  async #take(input) {
    const [file] = input.files;
    input.value = ""; // no field keeps it
    if (!file) return;
    this.drop();
    const asked = this.#asked;
    try {
      const bitmap = await decoded(file);
      if (asked === this.#asked) this.#open(bitmap);
      else bitmap.close();
    } catch (error) {
      if (!(error instanceof PictureError)) throw error;
      if (asked === this.#asked) this.#tell(error.message);
    }
  }

  #tell(words) {
    const trouble = this.#part("trouble");
    trouble.textContent = words;
    trouble.hidden = !words;
  }

  #open(bitmap) {
    this.#bitmap = bitmap;
    this.#part("files").hidden = true;
    this.#part("work").hidden = false;
    this.#view = new Viewport(bitmap, this.#box());
    this.#askFor();
    this.#canvas.focus({ preventScroll: true });
    this.#part("work").scrollIntoView();
  }

  #box() {
    const width = this.#part("box").clientWidth;
    const height = Math.min((width * this.#bitmap.height) / this.#bitmap.width, innerHeight * MOST_HEIGHT);
    return { width, height: Math.max(height, 160) };
  }

  // ---- Points -------------------------------------------------------------------------------------------------

  #askFor() {
    this.#points.askFor(this.#kind.dataset.points.split("|"));
    const legend = this.#part("points").querySelector("legend");
    const keys = this.#points.names.map((name) => {
      const key = Object.assign(document.createElement("button"), { type: "button", className: "key", textContent: name });
      key.dataset.stillPoint = name;
      return key;
    });
    this.#part("points").replaceChildren(legend, ...keys);
    this.#part("kind").textContent = this.#kind.dataset.name;
    this.#show();
  }

  #tap(event) {
    if (!this.#view || event.button !== 0 || !this.#guard.accepts(event.timeStamp)) return;
    const edge = this.#canvas.getBoundingClientRect();
    const place = this.#view.toPicture({ x: event.clientX - edge.left, y: event.clientY - edge.top });
    this.#points.tap(place, this.#view.scale);
    this.#show();
  }

  /** Move the point in hand by so many CSS pixels; one that is nowhere yet comes to the middle of what is seen. */
  #move(across, down) {
    if (!this.#view) return;
    const { scale } = this.#view;
    const { width, height } = this.#box();
    const at = this.#points.at(this.#points.chosen);
    const moved = at
      ? { x: at.x + across / scale, y: at.y + down / scale }
      : this.#view.toPicture({ x: width / 2, y: height / 2 });
    const place = this.#view.held(moved);
    this.#points.put(place, scale);
    const seen = this.#view.toScreen(place);
    if (seen.x < 0 || seen.y < 0 || seen.x > width || seen.y > height) this.#view.lookAt(place);
    this.#show();
  }

  #zoom(factor) {
    this.#view?.zoomBy(factor, this.#points.at(this.#points.chosen));
    this.#show();
  }

  #pick(name) {
    this.#points.choose(name);
    const at = this.#points.at(name);
    if (at) this.#view?.lookAt(at);
    this.#show();
  }

  get #step() {
    return this.#part("far").getAttribute("aria-pressed") === "true" ? FAR_PX : NEAR_PX;
  }

  // ---- Hands --------------------------------------------------------------------------------------------------

  #listen() {
    for (const input of this.#root.querySelectorAll("[data-still-file]")) {
      input.addEventListener("change", () => this.#take(input));
    }
    this.#root.addEventListener("change", (event) => event.target.name === "still-kind" && this.#askFor());
    this.#root.addEventListener("click", (event) => this.#press(event.target.closest("button")));
    this.#canvas.addEventListener("pointerup", (event) => this.#tap(event));
    this.#canvas.addEventListener("keydown", (event) => this.#onKey(event));
    new ResizeObserver(() => this.#refit()).observe(this.#part("box"));
  }

  #press(key) {
    const { stillPoint, stillMove, stillZoom } = key?.dataset ?? {};
    if (stillPoint) this.#pick(stillPoint);
    else if (stillMove) this.#move(...stillMove.split(" ").map((way) => Number(way) * this.#step));
    else if (stillZoom) this.#zoom(Number(stillZoom));
    else if (key?.matches("[data-still-far]")) key.setAttribute("aria-pressed", String(this.#step === NEAR_PX));
    else if (key?.matches("[data-still-drop]")) this.#again();
    else if (key?.matches("[data-still-use]")) this.#use();
  }

  #onKey(event) {
    const way = ARROWS[event.key];
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    if (way) this.#move(...way.map((along) => along * (event.shiftKey ? FAR_PX : this.#step)));
    else if (ZOOMS[event.key]) this.#zoom(ZOOMS[event.key]);
    else if (event.key === "Enter" || event.key === " ") this.#pick(this.#following());
    else return;
    event.preventDefault();
  }

  #following() {
    const { names, chosen } = this.#points;
    return names[(names.indexOf(chosen) + 1) % names.length];
  }

  #again() {
    this.drop();
    this.#part("file").focus();
  }

  #use() {
    if (!this.#reading) return;
    const detail = { degrees: this.#reading.degrees };
    this.#root.dispatchEvent(new CustomEvent("still-angle", { bubbles: true, detail }));
  }

  #refit() {
    if (!this.#view || !this.#part("box").clientWidth) return;
    this.#view.resize(this.#box());
    this.#show();
  }

  // ---- What is shown ------------------------------------------------------------------------------------------

  #show() {
    for (const key of this.#part("points").querySelectorAll("button")) {
      key.setAttribute("aria-pressed", String(key.dataset.stillPoint === this.#points.chosen));
    }
    if (!this.#view) return;
    const box = this.#box();
    draw(penFor(this.#canvas, box), { bitmap: this.#bitmap, view: this.#view, points: this.#points, box });
    const seen = this.#points.isWhole ? read(this.#kind.dataset.way, this.#points.placed) : null;
    this.#reading = seen && !("short" in seen) ? told(seen) : null;
    this.#say(seen);
    this.#showFigure();
  }

  #say(seen) {
    const { chosen, placed } = this.#points;
    const lower = chosen.toLowerCase();
    let words = `All points stand. To move the ${lower}, tap where it goes, or use the arrows.`;
    if (!seen) words = `Tap the ${lower} in the picture.`;
    else if ("short" in seen) {
      const [from, to] = arms(placed)[seen.short].map((point) => point.name.toLowerCase());
      words = `Too near to be read: ${from} and ${to}. Zoom in at each of the two and tap it again.`;
    }
    const say = this.#part("say");
    if (say.textContent !== words) say.textContent = words;
  }

  #showFigure() {
    const use = this.#part("use");
    use.disabled = !this.#reading;
    this.#part("figure").hidden = !this.#reading;
    use.textContent = this.#reading ? `Use ${this.#reading.degrees}°` : "Use the angle";
    if (!this.#reading) return;
    const { degrees, low, high } = this.#reading;
    this.#part("name").textContent = this.#kind.dataset.name;
    this.#part("value").textContent = `${degrees}°`;
    this.#part("interval").textContent = `${low}° to ${high}°, with each tap off by up to ${this.#root.dataset.tapPx} px`;
    this.#part("formula").textContent = this.#kind.dataset.formula;
    this.#part("inputs").replaceChildren(...this.#inputs().flatMap(termed));
  }

  /** What the figure was made of, as pairs of a name and a written value. */
  #inputs() {
    const { placed } = this.#points;
    const { width, height } = this.#bitmap;
    const pixels = (length) => `${Math.round(length * 10) / 10} px of the picture`;
    return [
      ["Picture", `${width} × ${height} px`],
      ...arms(placed).map(([from, to]) => [
        `${from.name} to ${to.name.toLowerCase()}`,
        pixels(Math.hypot(to.x - from.x, to.y - from.y)),
      ]),
      ...placed.map((point) => [`${point.name}: its tap may be off by`, pixels(point.off)]),
    ];
  }
}

function termed([name, value]) {
  return [
    Object.assign(document.createElement("dt"), { textContent: name }),
    Object.assign(document.createElement("dd"), { textContent: value }),
  ];
}
