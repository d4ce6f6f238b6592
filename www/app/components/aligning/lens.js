// A magnified view of the surroundings of a point, on one side. Both sides show them in one scale and, once the photo is laid, turned alike.

import { inCells } from "../../camera.js";
import { el, setText } from "../../dom.js";
import { newestOnly } from "../../newest.js";

/** @typedef {import("../../plane.js").Place} Place */
/** @typedef {import("../../state.js").Target} Target */
/** @typedef {import("../../types.js").Picture} Picture */
/** @typedef {import("../../types.js").PictureSettings} PictureSettings */
/** What is seen: around which place, and what a step across and a step down in the picture become on the canvas, in its pixels for each
 * pixel of the page's `nearer`.
 * @typedef {{target: Target, at: Place, steps: [Place, Place]}} Seen */
/** @typedef {{element: HTMLElement, show: (seen: Seen|null, label: string) => void}} Lens */

/** No picture is asked for larger than this, in its own pixels. */
const LARGEST = 1400;

/** @param {(settings: PictureSettings) => Promise<Picture>} draw @param {(by: Place) => void} shift what is in the middle goes by so many pixels of the picture
 * @param {(factor: number) => void} zoom
 * @returns {Lens} */
export function createLens(draw, shift, zoom) {
  const canvas = el("canvas", { class: "aligning-lens", attrs: { role: "img" } });
  const caption = el("p", { class: "aligning-lens-text" });
  const element = el("div", { class: "aligning-lens-place" }, [canvas, caption]);
  const pen = /** @type {CanvasRenderingContext2D} */ (canvas.getContext("2d"));
  /** @type {Seen|null} */
  let seen = null;
  /** @type {{bitmap: HTMLCanvasElement, window: {x: number, y: number, width: number, height: number}, plane: string}|null} */
  let shown = null;
  let wanted = "";

  const pictures = newestOnly(
    async (/** @type {{target: Target, view: import("../../types.js").ViewWindow}} */ { target, view }) => draw({ ...target.settings, view: inCells(view, target.cell) }),
    (picture, { target, view }) => {
      const bitmap = el("canvas");
      bitmap.width = picture.width;
      bitmap.height = picture.height;
      bitmap.getContext("2d")?.putImageData(new ImageData(new Uint8ClampedArray(picture.rgba), picture.width, picture.height), 0, 0);
      shown = { bitmap, window: view, plane: target.plane };
      paint();
    },
    () => {
      // Why there is no picture, the large one says.
      shown = null;
      wanted = "";
      paint();
    },
  );

  function want() {
    if (seen === null || canvas.width < 2) return;
    const { target, at, steps: [[a, b], [c, d]] } = seen;
    const scale = Math.sqrt(Math.abs(a * d - b * c)) || 1;
    // Turned, its corners reach farther.
    const half = (0.55 * Math.hypot(canvas.width, canvas.height)) / scale;
    const out = Math.max(2, Math.min(LARGEST, Math.round(2 * half * scale)));
    const view = { x: at[0] - half, y: at[1] - half, width: 2 * half, height: 2 * half, out_width: out, out_height: out };
    const now = JSON.stringify([target.fingerprint, target.plane, view]);
    if (now === wanted) return;
    wanted = now;
    pictures.ask({ target, view });
  }

  function paint() {
    pen.setTransform(1, 0, 0, 1, 0, 0);
    pen.clearRect(0, 0, canvas.width, canvas.height);
    if (seen === null) return;
    const { at, target, steps: [[a, b], [c, d]] } = seen;
    const [x, y] = [canvas.width / 2, canvas.height / 2];
    if (shown !== null && shown.plane === target.plane) {
      const { window: { x: left, y: top, width, height } } = shown;
      pen.imageSmoothingEnabled = b !== 0 || c !== 0;
      pen.setTransform(a, b, c, d, x - a * at[0] - c * at[1], y - b * at[0] - d * at[1]);
      pen.drawImage(shown.bitmap, left, top, width, height);
      pen.setTransform(1, 0, 0, 1, 0, 0);
    }
    for (const [style, width] of /** @type {const} */ ([["#000", 3], ["#fff", 1]])) {
      pen.strokeStyle = style;
      pen.lineWidth = width * devicePixelRatio;
      pen.beginPath();
      const open = 6 * devicePixelRatio;
      for (const [dx, dy] of /** @type {const} */ ([[1, 0], [-1, 0], [0, 1], [0, -1]])) {
        pen.moveTo(x + dx * open, y + dy * open);
        pen.lineTo(x + dx * canvas.width, y + dy * canvas.height);
      }
      pen.stroke();
    }
  }

  // ---- the hand: the picture follows it, so that what is in the middle goes the other way, as finely as it is magnified ----

  /** @type {{pointer: number, x: number, y: number}|null} */
  let press = null;
  canvas.addEventListener("pointerdown", (event) => {
    if (seen === null || event.button !== 0 || !event.isPrimary) return;
    press = { pointer: event.pointerId, x: event.clientX, y: event.clientY };
    canvas.setPointerCapture(event.pointerId);
    event.preventDefault();
  });
  canvas.addEventListener("pointermove", (event) => {
    if (press === null || seen === null || press.pointer !== event.pointerId) return;
    const [dx, dy] = [(event.clientX - press.x) * devicePixelRatio, (event.clientY - press.y) * devicePixelRatio];
    press = { ...press, x: event.clientX, y: event.clientY };
    const [[a, b], [c, d]] = seen.steps;
    const all = a * d - b * c;
    if (all !== 0) shift([-(d * dx - c * dy) / all, -(a * dy - b * dx) / all]);
  });
  const up = () => {
    press = null;
  };
  canvas.addEventListener("pointerup", up);
  canvas.addEventListener("pointercancel", up);
  canvas.addEventListener("wheel", (event) => {
    event.preventDefault();
    zoom(Math.exp(-event.deltaY * 0.0018));
  }, { passive: false });

  new ResizeObserver(() => {
    canvas.width = Math.round(canvas.clientWidth * devicePixelRatio);
    canvas.height = Math.round(canvas.clientHeight * devicePixelRatio);
    want();
    paint();
  }).observe(canvas);

  return {
    element,
    show(next, label) {
      seen = next;
      if (next === null) {
        pictures.forget();
        wanted = "";
      }
      canvas.setAttribute("aria-label", label);
      setText(caption, label);
      want();
      paint();
    },
  };
}
