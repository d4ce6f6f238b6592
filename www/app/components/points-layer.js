// Points over the pictures of all views: numbered rings where an answer proposes to measure, small filled marks where another technique
// measured. What a ring is about stands in the answer, which also shows it by keys.

import { toCanvas } from "../camera.js";
import { labelPlaces, marksOf } from "../point-marks.js";

/** @typedef {import("../state.js").State} State */
/** @typedef {import("../camera.js").Camera} Camera */
/** @typedef {import("../point-marks.js").PointMark} PointMark */
/** @typedef {import("./pane.js").Pane} Pane */
/** `painted`: all views have to be painted; `read`: the values at a place are wanted aloud.
 * @typedef {{painted: () => void, read: (x: number, y: number) => void}} Hooks */

/** In pixels of the page. */
const RING = 8;
const CHOSEN = 12;
const DOT = 3.5;
const LETTERS = 12;

/** @param {Pane[]} panes @param {Hooks} hooks
 * @returns {{update: (state: State) => void, paint: (pen: CanvasRenderingContext2D, camera: Camera, plane: {on_grid: boolean}) => void}} */
export function createPointsLayer(panes, hooks) {
  /** @type {State|null} */
  let state = null;
  /** @type {PointMark[]} */
  let marks = [];
  /** @type {string|null} */
  let font = null;

  const half = (/** @type {PointMark} */ { is_proposed, chosen }) => (is_proposed ? (chosen ? CHOSEN : RING) : DOT) * devicePixelRatio;

  /** @param {CanvasRenderingContext2D} pen @param {Camera} camera @param {{on_grid: boolean}} plane */
  function paint(pen, camera, { on_grid }) {
    const { canvas } = pen;
    const here = on_grid ? marks : [];
    canvas.dataset.points = here.map(({ label }) => label).join(", ");
    if (here.length === 0) return;
    const ratio = devicePixelRatio;
    pen.save();
    const placed = here.map((mark) => {
      const [x, y] = toCanvas(camera, ...mark.at, canvas);
      pen.font = lettering(canvas, mark);
      return { mark, x, y, half: half(mark), width: pen.measureText(mark.label).width, height: LETTERS * 1.2 * ratio };
    });
    for (const { mark, x, y, half } of placed) {
      pen.beginPath();
      pen.arc(x, y, half, 0, 2 * Math.PI);
      // Light on dark, so that it is seen on any ground.
      const width = mark.chosen ? 2.5 : 1.5;
      for (const [colour, extra] of /** @type {const} */ ([["#000", 2], ["#fff", 0]])) {
        pen.strokeStyle = colour;
        pen.lineWidth = (width + extra) * ratio;
        pen.stroke();
      }
      if (mark.is_proposed) continue;
      pen.fillStyle = "#fff";
      pen.fill();
    }
    labelPlaces(placed, canvas).forEach((place, index) => {
      const one = placed[index];
      if (one === undefined || (place === null && !one.mark.is_proposed)) return;
      // Where rings crowd, a number stands in its ring.
      const at = place ?? { x: one.x - one.width / 2, y: one.y + one.height * 0.3 };
      pen.font = lettering(canvas, one.mark);
      pen.lineJoin = "round";
      pen.lineWidth = 4 * ratio;
      pen.strokeStyle = "#000";
      pen.strokeText(one.mark.label, at.x, at.y);
      pen.fillStyle = "#fff";
      pen.fillText(one.mark.label, at.x, at.y);
    });
    pen.restore();
  }

  /** @param {HTMLCanvasElement} canvas @param {PointMark} mark */
  function lettering(canvas, { is_proposed }) {
    font ??= getComputedStyle(canvas).fontFamily;
    return `${is_proposed ? 700 : 500} ${LETTERS * devicePixelRatio}px ${font}`;
  }

  return {
    update(next) {
      const before = state;
      state = next;
      marks = marksOf(next);
      const keys = /** @type {const} */ (["answer", "asking", "points", "place", "outlines"]);
      if (before !== null && keys.every((key) => before[key] === next[key])) return;
      hooks.painted();
      const chosen = before?.place === next.place ? undefined : marks.find((mark) => mark.chosen);
      const pane = panes[next.active];
      if (chosen === undefined || pane === undefined) return;
      pane.stage.scrollIntoView({ block: "nearest" });
      pane.reveal(...chosen.at);
      hooks.read(Math.floor(chosen.at[0]), Math.floor(chosen.at[1]));
    },
    paint,
  };
}
