// Colours of a photo are picked on the picture, by pointer or by keys; the picked places are marked on it.

import { toCanvas, toMap } from "../camera.js";
import { markAfter, picked, takenBack } from "../picking.js";

/** @typedef {import("../state.js").State} State */
/** @typedef {import("../camera.js").Camera} Camera */
/** @typedef {import("../picking.js").Picking} Picking */
/** @typedef {import("../drawing.js").Point} Point */
/** @typedef {import("./pane.js").Pane} Pane */
/** `painted`: all views have to be painted; `read`: the values at a place are wanted aloud.
 * @typedef {{painted: () => void, read: (x: number, y: number) => void}} Hooks */

const HALF = 5;

/** @param {Pane[]} panes @param {import("../controller.js").Send} send @param {Hooks} hooks
 * @returns {{update: (state: State) => void, paint: (pen: CanvasRenderingContext2D, camera: Camera, plane: {on_grid: boolean}) => void, listen: (pane: Pane) => void}} */
export function createColourLayer(panes, send, hooks) {
  /** @type {State|null} */
  let state = null;
  /** Where the keys are. @type {Point|null} */
  let mark = null;

  /** @param {CanvasRenderingContext2D} pen @param {Path2D} path @param {number} width */
  function stroke(pen, path, width) {
    for (const [colour, extra] of /** @type {const} */ ([["#000", 2], ["#fff", 0]])) {
      pen.strokeStyle = colour;
      pen.lineWidth = (width + extra) * devicePixelRatio;
      pen.stroke(path);
    }
  }

  /** @param {CanvasRenderingContext2D} pen @param {Camera} camera @param {{on_grid: boolean}} target */
  function paint(pen, camera, { on_grid }) {
    const picking = state?.picking ?? null;
    if (picking === null || !on_grid) return;
    const ratio = devicePixelRatio;
    const half = HALF * ratio;
    pen.save();
    for (const kind of /** @type {const} */ (["at", "except"])) {
      for (const place of picking[kind]) {
        const [x, y] = toCanvas(camera, ...place, pen.canvas);
        const path = new Path2D();
        path.rect(x - half, y - half, 2 * half, 2 * half);
        // A line through it: left out.
        if (kind === "except") {
          path.moveTo(x - half, y + half);
          path.lineTo(x + half, y - half);
        }
        stroke(pen, path, 1.5);
      }
    }
    if (mark !== null) {
      const [x, y] = toCanvas(camera, ...mark, pen.canvas);
      const cross = new Path2D();
      for (const [dx, dy] of /** @type {const} */ ([[1, 0], [-1, 0], [0, 1], [0, -1]])) {
        cross.moveTo(x + dx * 3 * ratio, y + dy * 3 * ratio);
        cross.lineTo(x + dx * 13 * ratio, y + dy * 13 * ratio);
      }
      stroke(pen, cross, 2);
    }
    pen.restore();
  }

  /** @param {Pane} pane */
  function listen(pane) {
    const { canvas, stage } = pane;
    const now = () => (pane.target()?.on_grid === true ? state?.picking ?? null : null);
    // Before the picture's own: what picks does not move the picture.
    stage.addEventListener("pointerdown", (event) => {
      const picking = now();
      if (picking === null || state?.grid == null || event.button !== 0 || !event.isPrimary) return;
      const box = canvas.getBoundingClientRect();
      const at = toMap(pane.camera(), (event.clientX - box.left) * devicePixelRatio, (event.clientY - box.top) * devicePixelRatio, canvas);
      event.preventDefault();
      event.stopPropagation();
      canvas.focus({ preventScroll: true, focusVisible: false });
      mark = null;
      const { width, height } = state.grid;
      if (at[0] < 0 || at[1] < 0 || at[0] >= width || at[1] >= height) return;
      send({ type: "pick", picking: picked(picking, at, event.altKey) });
    }, true);
    stage.addEventListener("keydown", (event) => {
      const picking = now();
      if (picking === null || state?.grid == null || event.ctrlKey || event.metaKey) return;
      const { x, y } = pane.camera();
      const moved = event.altKey ? null : markAfter(mark, event.key, event.shiftKey, [x, y], state.grid);
      if (moved !== null) {
        mark = moved;
        pane.reveal(...moved);
        hooks.read(Math.floor(moved[0]), Math.floor(moved[1]));
        hooks.painted();
      } else if (event.key === "Escape") send({ type: "pick", picking: null });
      else if ((event.key === "Enter" || event.key === " ") && mark !== null) send({ type: "pick", picking: picked(picking, mark, event.altKey) });
      else if (event.key === "Backspace" && picking.at.length + picking.except.length > 0) send({ type: "pick", picking: takenBack(picking) });
      else return;
      event.preventDefault();
      event.stopPropagation();
    }, true);
  }

  return {
    update(next) {
      const had = state?.picking ?? null;
      state = next;
      if (next.picking === null) mark = null;
      if (had === next.picking) return;
      for (const { canvas } of panes) canvas.classList.toggle("view-picking", next.picking !== null);
      hooks.painted();
    },
    paint,
    listen,
  };
}
