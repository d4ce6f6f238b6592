// What answers lay over the pictures: the pixels of a rectangle in the joint plot, lit, and the line of a profile, which is drawn there too.

import { el } from "../dom.js";
import { keptAs } from "../asking.js";
import { begun, inGrid, isLine, keyed } from "../line-drawing.js";

/** @typedef {import("../state.js").State} State */
/** @typedef {import("../asking.js").Line} Line */
/** @typedef {import("./pane.js").Pane} Pane */
/** @typedef {import("../line-drawing.js").Point} Point */
/** @typedef {import("../types.js").Raster} Raster */

/** Red, green, blue and opacity of what is lit and of what is not. */
const LIT = [255, 214, 92, 150];
const UNLIT = [0, 0, 0, 120];
const HELP = "Drag from one end of the line to the other. Or by keys: arrows move the cross, with Shift farther; Enter sets one end, then the other; Escape leaves.";

/** @param {Pane[]} panes @param {import("../controller.js").Send} send
 * @returns {{draw: () => void, update: (state: State) => void}} */
export function createOverView(panes, send) {
  /** @type {State|null} */
  let state = null;
  /** @type {{mask: Raster, bitmap: HTMLCanvasElement}|null} */
  let lit = null;
  /** @type {import("../line-drawing.js").Drawing|null} */
  let drawing = null;

  const layers = panes.map((pane) => {
    const canvas = el("canvas", { class: "over-view", attrs: { "aria-hidden": "true" } });
    pane.canvas.after(canvas);
    // The picture's own size is set first: it was there first.
    new ResizeObserver(() => drawOn(layer)).observe(pane.canvas);
    const layer = { pane, canvas };
    return layer;
  });
  const surface = el("div", { class: "over-surface", attrs: { tabindex: 0, role: "application", "aria-label": "Line over the picture", "aria-description": HELP, hidden: true } });
  surface.append(el("p", { class: "over-help", text: HELP }));

  // ---- places ----

  /** Pixels of the grid to those of a pane's canvas and back; null where it shows no map. @param {Pane} pane */
  function placing(pane) {
    const [target, view] = [pane.target(), pane.window()];
    if (target === null || view === null || !target.readable || view.height === undefined) return null;
    const [across, down] = [pane.canvas.width / view.width, pane.canvas.height / view.height];
    return {
      target,
      out: (/** @type {Point} */ [x, y]) => /** @type {Point} */ ([(x - view.x) * across, (y - view.y) * down]),
      into: (/** @type {Point} */ [x, y]) => /** @type {Point} */ ([x / across + view.x, y / down + view.y]),
      across, down,
    };
  }

  // ---- drawing ----

  /** @param {{pane: Pane, canvas: HTMLCanvasElement}} layer */
  function drawOn({ pane, canvas }) {
    const { width, height } = pane.canvas;
    if (canvas.width !== width || canvas.height !== height) {
      canvas.width = width;
      canvas.height = height;
    }
    const pen = canvas.getContext("2d");
    if (pen === null) return;
    pen.clearRect(0, 0, width, height);
    const place = placing(pane);
    if (place === null || state === null) return;
    if (lit !== null) {
      const [left, top] = place.out([0, 0]);
      const [right, bottom] = place.out([lit.mask.width, lit.mask.height]);
      pen.imageSmoothingEnabled = false;
      pen.drawImage(lit.bitmap, Math.round(left), Math.round(top), Math.round(right) - Math.round(left), Math.round(bottom) - Math.round(top));
    }
    const line = lineOf(state);
    if (drawing?.from) strokeLine(pen, place, { from: drawing.from, to: drawing.at, width_px: line?.width_px ?? 1 });
    else if (line !== null && drawing === null) strokeLine(pen, place, line);
    if (drawing !== null && pane.canvas.parentElement === surface.parentElement) cross(pen, place.out(drawing.at));
  }

  function draw() {
    for (const layer of layers) drawOn(layer);
  }

  /** Light on dark, so that it is seen on any ground; its ends across, as wide as what is read, and A and B beside them.
   * @param {CanvasRenderingContext2D} pen @param {NonNullable<ReturnType<typeof placing>>} place @param {Line} line */
  function strokeLine(pen, place, { from, to, width_px }) {
    const [ax, ay] = place.out(from);
    const [bx, by] = place.out(to);
    const long = Math.hypot(bx - ax, by - ay) || 1;
    const half = Math.max(5 * devicePixelRatio, (width_px * (place.across + place.down)) / 4);
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

  /** @param {PointerEvent} event @returns {Point|null} */
  function placeOf(event) {
    const pane = active();
    const place = pane === undefined ? null : placing(pane);
    if (place === null) return null;
    const box = surface.getBoundingClientRect();
    return inGrid(place.into([(event.clientX - box.left) * devicePixelRatio, (event.clientY - box.top) * devicePixelRatio]), place.target);
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
    draw();
  });
  surface.addEventListener("pointermove", (event) => {
    const at = placeOf(event);
    if (drawing === null || at === null || !surface.hasPointerCapture(event.pointerId)) return;
    drawing = { ...drawing, at };
    draw();
  });
  surface.addEventListener("pointerup", () => {
    if (drawing?.from == null) return;
    const { from, at } = drawing;
    if (isLine(from, at)) return finish({ from, to: at });
    drawing = { at, from: null };
    draw();
  });
  surface.addEventListener("keydown", (event) => {
    const pane = active();
    const place = pane === undefined ? null : placing(pane);
    if (drawing === null || place === null || event.ctrlKey || event.metaKey || event.altKey) return;
    const did = keyed(drawing, event.key, event.shiftKey, place.target);
    if (did === null) return;
    event.preventDefault();
    event.stopPropagation();
    if ("line" in did) return finish(did.line);
    if ("left" in did) return send({ type: "draw_line", setting: null });
    drawing = did.drawing;
    draw();
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
    draw,
    update(next) {
      const before = state;
      state = next;
      light(next.brush?.lit?.mask ?? null);
      const stage = panes[next.active]?.canvas.parentElement ?? null;
      const on = next.drawing_line !== null && stage !== null;
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
      draw();
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
