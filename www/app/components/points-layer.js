// Points over the pictures of all views: numbered rings where an answer proposes to measure, small filled marks where another technique
// measured. What a ring is about stands in the answer, which also shows it by keys. A mark is chosen by pressing it, and the place of a
// new one is given here, by pointer or by keys.

import { toCanvas, toMap } from "../camera.js";
import { labelPlaces, marksOf, pointUnder } from "../point-marks.js";
import { markMoved, placeOn } from "../points-state.js";

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
const DOT_CHOSEN = 6;
/** How far off the hand may be, and how far it may slip while it presses. */
const REACH = 9;
const REACH_OF_A_FINGER = 20;
const SLIP = 4;
const LETTERS = 12;

/** @param {Pane[]} panes @param {import("../controller.js").Send} send @param {Hooks} hooks
 * @returns {{update: (state: State) => void, paint: (pen: CanvasRenderingContext2D, camera: Camera, plane: {on_grid: boolean}) => void, listen: (pane: Pane) => void}} */
export function createPointsLayer(panes, send, hooks) {
  /** @type {State|null} */
  let state = null;
  /** @type {PointMark[]} */
  let marks = [];
  /** @type {string|null} */
  let font = null;
  /** Where the keys are while a place is given. @type {[number, number]|null} */
  let cross = null;

  const half = (/** @type {PointMark} */ { is_proposed, chosen }) => (is_proposed ? (chosen ? CHOSEN : RING) : chosen ? DOT_CHOSEN : DOT) * devicePixelRatio;

  /** @param {CanvasRenderingContext2D} pen @param {Camera} camera @param {{on_grid: boolean}} plane */
  function paint(pen, camera, { on_grid }) {
    const { canvas } = pen;
    const here = on_grid ? marks : [];
    canvas.dataset.points = here.map(({ label }) => label).join(", ");
    const ratio = devicePixelRatio;
    if (on_grid && cross !== null) paintCross(pen, toCanvas(camera, ...cross, canvas));
    if (here.length === 0) return;
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

  /** Open in the middle, so that the pixel stays to be seen. @param {CanvasRenderingContext2D} pen @param {[number, number]} at on the canvas */
  function paintCross(pen, [x, y]) {
    const [from, to] = [3 * devicePixelRatio, 13 * devicePixelRatio];
    pen.save();
    for (const [style, width] of /** @type {const} */ ([["#000", 4], ["#fff", 2]])) {
      pen.strokeStyle = style;
      pen.lineWidth = width * devicePixelRatio;
      pen.beginPath();
      for (const [dx, dy] of /** @type {const} */ ([[1, 0], [-1, 0], [0, 1], [0, -1]])) {
        pen.moveTo(x + dx * from, y + dy * from);
        pen.lineTo(x + dx * to, y + dy * to);
      }
      pen.stroke();
    }
    pen.restore();
  }

  /** @param {Pane} pane */
  function listen(pane) {
    const { canvas, stage } = pane;
    const on_grid = () => pane.target()?.on_grid === true;
    const placeOf = (/** @type {PointerEvent} */ event) => {
      const box = canvas.getBoundingClientRect();
      return toMap(pane.camera(), (event.clientX - box.left) * devicePixelRatio, (event.clientY - box.top) * devicePixelRatio, canvas);
    };
    const under = (/** @type {PointerEvent} */ event) => {
      const { scale, aspect } = pane.camera();
      const pixels = (event.pointerType === "touch" ? REACH_OF_A_FINGER : REACH) * devicePixelRatio;
      return pointUnder(marks, placeOf(event), [pixels / scale, pixels / (scale * aspect)]);
    };
    /** Whether the hand is at something else. */
    const busy = () => state === null || state.drawing !== null || state.picking !== null || state.drawing_line !== null;
    /** Where the pointer went down on a mark. @type {{x: number, y: number, id: string}|null} */
    let down = null;
    // Before the picture's own: what gives a place does not move the picture. What chooses a mark may.
    stage.addEventListener("pointerdown", (event) => {
      down = null;
      if (busy() || !on_grid() || event.button !== 0 || !event.isPrimary) return;
      if (state?.placing == null) {
        const id = under(event);
        down = id === null ? null : { x: event.clientX, y: event.clientY, id };
        return;
      }
      const at = state.grid === null ? null : placeOn(placeOf(event), state.grid);
      event.preventDefault();
      event.stopPropagation();
      canvas.focus({ preventScroll: true, focusVisible: false });
      if (at !== null) send({ type: "place_point", at });
    }, true);
    stage.addEventListener("pointermove", (event) => {
      canvas.classList.toggle("view-on-point", !busy() && state?.placing == null && on_grid() && event.buttons === 0 && under(event) !== null);
    }, true);
    stage.addEventListener("pointerup", (event) => {
      if (down !== null && Math.hypot(event.clientX - down.x, event.clientY - down.y) <= SLIP) send({ type: "show_point", id: down.id });
      down = null;
    }, true);
    stage.addEventListener("keydown", (event) => {
      if (state?.placing == null || state.grid === null || !on_grid() || event.ctrlKey || event.metaKey || event.altKey) return;
      const { x, y } = pane.camera();
      // One that is there moves from where it is.
      const start = state.points.find(({ id }) => id === state?.placing?.moves)?.at ?? [x, y];
      const moved = markMoved(cross, event.key, event.shiftKey, start, state.grid);
      if (moved !== null) {
        cross = moved;
        pane.reveal(...moved);
        hooks.read(Math.floor(moved[0]), Math.floor(moved[1]));
        hooks.painted();
      } else if (event.key === "Escape") send({ type: "stop_placing" });
      else if ((event.key === "Enter" || event.key === " ") && cross !== null) send({ type: "place_point", at: cross });
      else return;
      event.preventDefault();
      event.stopPropagation();
    }, true);
  }

  /** @param {HTMLCanvasElement} canvas @param {PointMark} mark */
  function lettering(canvas, { is_proposed, chosen }) {
    font ??= getComputedStyle(canvas).fontFamily;
    return `${is_proposed || chosen ? 700 : 500} ${LETTERS * devicePixelRatio}px ${font}`;
  }

  return {
    update(next) {
      const before = state;
      state = next;
      marks = marksOf(next);
      if (next.placing === null) cross = null;
      if ((before?.placing ?? null) !== next.placing) for (const { canvas } of panes) canvas.classList.toggle("view-picking", next.placing !== null || next.picking !== null);
      const keys = /** @type {const} */ (["answer", "asking", "points", "place", "outlines", "placing", "point_lit", "point_shown"]);
      if (before !== null && keys.every((key) => before[key] === next[key])) return;
      hooks.painted();
      const asked = before?.place === next.place ? undefined : marks.find((mark) => mark.chosen && mark.is_proposed);
      const shown = (before?.point_shown ?? null) === next.point_shown ? undefined : marks.find(({ id }) => id !== undefined && id === next.point_shown?.id);
      const chosen = asked ?? shown;
      const pane = panes[next.active];
      if (chosen === undefined || pane === undefined) return;
      pane.stage.scrollIntoView({ block: "nearest" });
      pane.reveal(...chosen.at);
      hooks.read(Math.floor(chosen.at[0]), Math.floor(chosen.at[1]));
    },
    paint,
    listen,
  };
}
