// What answers lay over the pictures: the pixels of a rectangle in the joint plot, lit, and the line of a profile, which is drawn there too.

import { el } from "../dom.js";
import { keptAs } from "../asking.js";
import { toCanvas, toMap } from "../camera.js";
import { begun, inGrid, isLine, keyed } from "../line-drawing.js";

/** @typedef {import("../state.js").State} State */
/** @typedef {import("../asking.js").Line} Line */
/** @typedef {import("../state.js").Target} Target */
/** @typedef {import("../camera.js").Camera} Camera */
/** @typedef {import("./pane.js").Pane} Pane */
/** @typedef {import("../line-drawing.js").Point} Point */
/** @typedef {import("../types.js").Raster} Raster */

/** Red, green, blue and opacity of what is lit and of what is not. */
const LIT = [255, 214, 92, 150];
const UNLIT = [0, 0, 0, 120];
const HELP = "Drag from one end of the line to the other. Or by keys: arrows move the cross, with Shift farther; Enter sets one end, then the other; Escape leaves.";

/** @param {Pane[]} panes @param {import("../controller.js").Send} send @param {() => void} painted all views have to be painted
 * @returns {{help: HTMLElement, paint: (pen: CanvasRenderingContext2D, camera: Camera, target: Target) => void, update: (state: State) => void}} */
export function createOverView(panes, send, painted) {
  /** @type {State|null} */
  let state = null;
  /** @type {{mask: Raster, bitmap: HTMLCanvasElement}|null} */
  let lit = null;
  /** @type {import("../line-drawing.js").Drawing|null} */
  let drawing = null;
  const surface = el("div", { class: "over-surface", attrs: { tabindex: 0, role: "application", "aria-label": "Line over the picture", "aria-description": HELP, hidden: true } });
  const help = el("p", { class: "over-help", text: HELP, attrs: { hidden: true } });

  // ---- painting ----

  /** @param {CanvasRenderingContext2D} pen @param {Camera} camera @param {Target} target */
  function paint(pen, camera, target) {
    if (state === null || !target.on_grid) return;
    const { canvas } = pen;
    const out = (/** @type {Point} */ [x, y]) => toCanvas(camera, x, y, canvas);
    pen.save();
    if (lit !== null) {
      const [left, top] = out([0, 0]);
      const [right, bottom] = out([lit.mask.width, lit.mask.height]);
      pen.imageSmoothingEnabled = false;
      pen.drawImage(lit.bitmap, Math.round(left), Math.round(top), Math.round(right) - Math.round(left), Math.round(bottom) - Math.round(top));
    }
    const line = lineOf(state);
    const across = (camera.scale * (1 + camera.aspect)) / 2;
    if (drawing?.from) strokeLine(pen, out(drawing.from), out(drawing.at), (line?.width_px ?? 1) * across);
    else if (line !== null && drawing === null) strokeLine(pen, out(line.from), out(line.to), line.width_px * across);
    if (drawing !== null && canvas === active()?.canvas) cross(pen, out(drawing.at));
    pen.restore();
  }

  /** Light on dark, so that it is seen on any ground; its ends across, as wide as what is read, and named.
   * @param {CanvasRenderingContext2D} pen @param {Point} from on the canvas @param {Point} to @param {number} width */
  function strokeLine(pen, [ax, ay], [bx, by], width) {
    const long = Math.hypot(bx - ax, by - ay) || 1;
    const half = Math.max(5 * devicePixelRatio, width / 2);
    const [nx, ny] = [(-(by - ay) / long) * half, ((bx - ax) / long) * half];
    const path = new Path2D();
    path.moveTo(ax, ay);
    path.lineTo(bx, by);
    for (const [x, y] of [[ax, ay], [bx, by]]) {
      path.moveTo(x + nx, y + ny);
      path.lineTo(x - nx, y - ny);
    }
    for (const [style, width] of /** @type {const} */ ([["#000", 4], ["#fff", 2]])) {
      pen.strokeStyle = style;
      pen.lineWidth = width * devicePixelRatio;
      pen.stroke(path);
    }
    pen.font = `600 ${13 * devicePixelRatio}px sans-serif`;
    pen.textAlign = "center";
    pen.textBaseline = "middle";
    pen.lineWidth = 4 * devicePixelRatio;
    pen.strokeStyle = "#000";
    pen.fillStyle = "#fff";
    const away = 14 * devicePixelRatio;
    for (const [text, x, y, sign] of /** @type {const} */ ([["start", ax, ay, -1], ["end", bx, by, 1]])) {
      const at = /** @type {const} */ ([x + (sign * away * 1.6 * (bx - ax)) / long, y + (sign * away * (by - ay)) / long]);
      pen.strokeText(text, ...at);
      pen.fillText(text, ...at);
    }
  }

  /** @param {CanvasRenderingContext2D} pen @param {Point} at */
  function cross(pen, [x, y]) {
    const arm = 9 * devicePixelRatio;
    for (const [style, width] of /** @type {const} */ ([["#000", 4], ["#fff", 2]])) {
      pen.strokeStyle = style;
      pen.lineWidth = width * devicePixelRatio;
      pen.beginPath();
      pen.moveTo(x - arm, y);
      pen.lineTo(x + arm, y);
      pen.moveTo(x, y - arm);
      pen.lineTo(x, y + arm);
      pen.stroke();
    }
  }

  // ---- a line by hand ----

  const active = () => panes[state?.active ?? 0];

  /** The maps' plane in the active view; null where it shows a photo or nothing. */
  function plane() {
    const target = active()?.target() ?? null;
    return target?.on_grid ? target : null;
  }

  /** @param {PointerEvent} event @returns {Point|null} */
  function placeOf(event) {
    const [pane, target] = [active(), plane()];
    if (pane === undefined || target === null) return null;
    const box = surface.getBoundingClientRect();
    return inGrid(toMap(pane.camera(), (event.clientX - box.left) * devicePixelRatio, (event.clientY - box.top) * devicePixelRatio, pane.canvas), target);
  }

  /** @param {{from: Point, to: Point}} ends */
  function finish(ends) {
    const setting = state?.drawing_line;
    const width_px = (state && lineOf(state)?.width_px) || 1;
    if (setting != null) send({ type: "line_drawn", setting, line: { ...ends, width_px } });
  }

  surface.addEventListener("pointerdown", (event) => {
    const at = placeOf(event);
    if (event.button !== 0 || at === null) return;
    surface.setPointerCapture(event.pointerId);
    drawing = { at, from: at };
    painted();
  });
  surface.addEventListener("pointermove", (event) => {
    const at = placeOf(event);
    if (drawing === null || at === null || !surface.hasPointerCapture(event.pointerId)) return;
    drawing = { ...drawing, at };
    painted();
  });
  surface.addEventListener("pointerup", () => {
    if (drawing?.from == null) return;
    const { from, at } = drawing;
    if (isLine(from, at)) return finish({ from, to: at });
    drawing = { at, from: null };
    painted();
  });
  surface.addEventListener("keydown", (event) => {
    const target = plane();
    if (drawing === null || target === null || event.ctrlKey || event.metaKey || event.altKey) return;
    const did = keyed(drawing, event.key, event.shiftKey, target);
    if (did === null) return;
    event.preventDefault();
    event.stopPropagation();
    if ("line" in did) return finish(did.line);
    if ("left" in did) return send({ type: "draw_line", setting: null });
    drawing = did.drawing;
    active()?.reveal(...drawing.at);
    painted();
  });

  // ---- state ----

  function light(/** @type {Raster|null} */ mask) {
    if (mask === (lit?.mask ?? null)) return;
    lit = null;
    if (mask === null) return;
    const bitmap = el("canvas");
    bitmap.width = mask.width;
    bitmap.height = mask.height;
    const pixels = new Uint8ClampedArray(mask.data.length * 4);
    for (let pixel = 0; pixel < mask.data.length; pixel += 1) pixels.set(mask.data[pixel] ? LIT : UNLIT, pixel * 4);
    bitmap.getContext("2d")?.putImageData(new ImageData(pixels, mask.width, mask.height), 0, 0);
    lit = { mask, bitmap };
  }

  return {
    help,
    paint,
    update(next) {
      const before = state;
      const [had_lit, had_line] = [lit, state && lineOf(state)];
      state = next;
      light(next.brush?.lit?.mask ?? null);
      const stage = panes[next.active]?.stage ?? null;
      const on = next.drawing_line !== null && stage !== null;
      help.hidden = !on;
      if (on && (drawing === null || surface.parentElement !== stage)) {
        stage.append(surface);
        drawing = begun(panes[next.active]?.target() ?? { width: 0, height: 0 });
        surface.hidden = false;
        surface.focus();
      } else if (!on && drawing !== null) {
        drawing = null;
        const had_focus = surface.contains(document.activeElement);
        surface.hidden = true;
        surface.remove();
        if (had_focus) document.querySelector(/** @type {"button"} */ (`.sentence-setting[data-setting="${before?.drawing_line}"]`))?.focus();
      }
      if (lit !== had_lit || lineOf(next) !== had_line || before?.drawing_line !== next.drawing_line) painted();
    },
  };
}

/** The line of the question that is asked now. @param {State} state
 * @returns {Line|null} */
function lineOf({ question, questions, settings }) {
  const parts = questions.find(({ key }) => key === question)?.parts ?? [];
  const setting = parts.find((part) => part.setting !== undefined && part.kind === "line")?.setting;
  const line = setting === undefined ? null : settings[keptAs(question, setting)];
  return typeof line === "object" && line !== null && "from" in line ? line : null;
}
