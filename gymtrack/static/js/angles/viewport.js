// Which part of a picture is seen in which box. Lengths of the box are CSS pixels, those of the picture its own; the
// scale is CSS pixels per pixel of the picture.

const MOST_ZOOM = 16;

const within = (value, low, high) => Math.min(Math.max(value, low), high);

export class Viewport {
  #picture;
  #box;
  #zoom = 1;
  #centre;

  /** The whole picture, in the middle of the box; both are { width, height }. */
  constructor(picture, box) {
    this.#picture = picture;
    this.#box = box;
    this.#centre = { x: picture.width / 2, y: picture.height / 2 };
  }

  get zoom() {
    return this.#zoom;
  }

  get scale() {
    return this.#zoom * Math.min(this.#box.width / this.#picture.width, this.#box.height / this.#picture.height);
  }

  /** Fit another box, looking at the same place. */
  resize(box) {
    this.#box = box;
    this.lookAt(this.#centre);
  }

  /** Come nearer (a factor over 1) or go back, and look at a place of the picture. */
  zoomBy(factor, place = this.#centre) {
    this.#zoom = within(this.#zoom * factor, 1, MOST_ZOOM);
    this.lookAt(place);
  }

  /** Bring a place of the picture as near to the middle of the box as leaves no empty room beside the picture. */
  lookAt(place) {
    this.#centre = { x: this.#along(place.x, "width"), y: this.#along(place.y, "height") };
  }

  #along(wanted, side) {
    const half = this.#box[side] / this.scale / 2;
    const whole = this.#picture[side];
    return 2 * half >= whole ? whole / 2 : within(wanted, half, whole - half);
  }

  toScreen({ x, y }) {
    const { width, height } = this.#box;
    return { x: (x - this.#centre.x) * this.scale + width / 2, y: (y - this.#centre.y) * this.scale + height / 2 };
  }

  /** The place of the picture that is seen there; beside the picture, the nearest one of its edge. */
  toPicture({ x, y }) {
    const { width, height } = this.#box;
    return this.held({
      x: (x - width / 2) / this.scale + this.#centre.x,
      y: (y - height / 2) / this.scale + this.#centre.y,
    });
  }

  held({ x, y }) {
    return { x: within(x, 0, this.#picture.width), y: within(y, 0, this.#picture.height) };
  }
}
