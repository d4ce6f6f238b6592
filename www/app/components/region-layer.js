// Regions over the pictures of all views, as lines of one width; and the hand that draws them, by mouse, pen, touch or keys.

import { toCanvas, toMap } from "../camera.js";
import { begun, dragged, edited, isInside, keyed, lineOf, pressed, released, shapeOf } from "../drawing.js";
import { outlinesOf } from "../mask-outline.js";
import { newestOnly } from "../newest.js";

/** @typedef {import("../state.js").State} State */
/** @typedef {import("../camera.js").Camera} Camera */
/** @typedef {import("../drawing.js").Drawing} Drawing */
/** @typedef {import("../drawing.js").Point} Point */
/** @typedef {import("./pane.js").Pane} Pane */
/** @typedef {import("../mask-outline.js").Mask} RegionMask */
/** @typedef {import("../types.js").RegionSettings} RegionSettings */
/** @typedef {import("../types.js").RegionSummary} RegionSummary */
/** @typedef {import("../types.js").RegionWithMask} RegionWithMask */
/** @typedef {{region: (id: string) => Promise<RegionWithMask>, preview_region: (settings: RegionSettings) => Promise<RegionWithMask>}} Services */
/** `painted`: all views have to be painted; `read`: the values at a place are wanted aloud; `told`: there is something else to say about
 * the drawing (`area`: how large it is by now, null: as before).
 * @typedef {{painted: () => void, read: (x: number, y: number) => void, told: (area: string|null, drawing: Drawing|null) => void}} Hooks */
/** @typedef {{of: RegionSummary, path: Path2D|null}} Outline */
/** @typedef {{left: number, right: number, top: number, bottom: number}} Box */

/** How far off the hand may be, in pixels of the page. */
const REACH = 9;
const REACH_OF_A_FINGER = 20;
const HANDLE = 4;
const WIDTHS = { usual: 1.5, lit: 3 };

/** @param {Pane[]} panes @param {import("../controller.js").Send} send @param {Services} services @param {Hooks} hooks
 * @returns {{update: (state: State) => void, paint: (pen: CanvasRenderingContext2D, camera: Camera, plane: {on_grid: boolean}) => void, act: (key: string) => void, listen: (pane: Pane) => void}} */
export function createRegionLayer(panes, send, services, hooks) {
  /** @type {State|null} */
  let state = null;
  /** @type {Drawing|null} */
  let drawing = null;
  /** The mark is where keys took it, so it has to be drawn. */
  let by_keys = false;
  /** @type {Map<string, Outline>} */
  const outlines = new Map();
  /** @type {{mask: RegionMask, path: Path2D}|null} */
  let proposed = null;
  /** @type {string|null} */
  let font = null;

  // ---- outlines ----

  /** @param {Point[][]} lines @param {boolean} closed */
  function pathOf(lines, closed = true) {
    const path = new Path2D();
    for (const [first, ...others] of lines) {
      if (first === undefined) continue;
      path.moveTo(...first);
      for (const at of others) path.lineTo(...at);
      if (closed) path.closePath();
    }
    return path;
  }

  /** @param {RegionMask} mask */
  function pathOfMask(mask) {
    const path = new Path2D();
    for (const line of outlinesOf(mask)) {
      path.moveTo(line[0] ?? 0, line[1] ?? 0);
      for (let at = 2; at < line.length; at += 2) path.lineTo(line[at] ?? 0, line[at + 1] ?? 0);
      path.closePath();
    }
    return path;
  }

  /** Drawn ones at once; of the others the old outline stays until the new mask has come. @param {RegionSummary[]} regions */
  function wantOutlines(regions) {
    for (const id of outlines.keys()) if (!regions.some((region) => region.id === id)) outlines.delete(id);
    for (const region of regions) {
      const had = outlines.get(region.id);
      if (had?.of === region) continue;
      const shape = edited(region, { width: 0, height: 0 });
      outlines.set(region.id, { of: region, path: shape === null ? had?.path ?? null : pathOf([shape.points]) });
      if (shape !== null) continue;
      services.region(region.id).then(({ mask }) => {
        if (outlines.get(region.id)?.of !== region) return;
        outlines.set(region.id, { of: region, path: pathOfMask(mask) });
        hooks.painted();
      }, () => {
        // It was taken away meanwhile; the list says so.
        if (outlines.get(region.id)?.of === region) outlines.delete(region.id);
      });
    }
  }

  // ---- painting ----

  /** Light on dark, so that it is seen on any ground. @param {CanvasRenderingContext2D} pen @param {Path2D} path on the canvas @param {number} width */
  function stroke(pen, path, width) {
    for (const [colour, extra] of /** @type {const} */ ([["#000", 2], ["#fff", 0]])) {
      pen.strokeStyle = colour;
      pen.lineWidth = (width + extra) * devicePixelRatio;
      pen.stroke(path);
    }
  }

  /** @param {CanvasRenderingContext2D} pen @param {Camera} camera @param {{on_grid: boolean}} target */
  function paint(pen, camera, { on_grid }) {
    pen.canvas.dataset.regions = "";
    if (state === null || !on_grid) return;
    const { canvas } = pen;
    const [left, top] = toCanvas(camera, 0, 0, canvas);
    const matrix = new DOMMatrix([camera.scale, 0, 0, camera.scale * camera.aspect, left, top]);
    const onCanvas = (/** @type {Path2D} */ path) => {
      const there = new Path2D();
      there.addPath(path, matrix);
      return there;
    };
    pen.save();
    pen.lineJoin = "round";
    const seen = seenRegions(state);
    canvas.dataset.regions = seen.map(({ id }) => id).join(" ");
    for (const region of seen) {
      const path = outlines.get(region.id)?.path;
      if (path) stroke(pen, onCanvas(path), region.id === state.lit ? WIDTHS.lit : WIDTHS.usual);
    }
    if (proposed !== null && state.proposal !== null) dashed(pen, onCanvas(proposed.path));
    if (drawing !== null) paintDrawing(pen, drawing, camera, onCanvas);
    /** @type {Box[]} */
    const taken = [];
    // The one that is pointed at has the first choice of places.
    for (const region of seen.toReversed()) name(pen, region, camera, region.id === state.lit, taken);
    pen.restore();
  }

  /** What is not kept yet. @param {CanvasRenderingContext2D} pen @param {Path2D} path */
  function dashed(pen, path) {
    stroke(pen, path, WIDTHS.usual);
    pen.setLineDash([5 * devicePixelRatio, 4 * devicePixelRatio]);
    pen.strokeStyle = "#000";
    pen.stroke(path);
    pen.setLineDash([]);
  }

  /** Those that are in sight, the one that is pointed at on top. @param {State} state */
  function seenRegions({ regions, outlines: on, unseen, lit, drawing: drawn }) {
    if (!on) return regions.filter(({ id }) => id === lit);
    return regions.filter(({ id }) => id !== drawn?.edits && (!unseen.includes(id) || id === lit)).sort((a, b) => Number(a.id === lit) - Number(b.id === lit));
  }

  /** Above what it names, in it, or below, where no other name stands; nowhere if there is no such place.
   * @param {CanvasRenderingContext2D} pen @param {RegionSummary} region @param {Camera} camera @param {boolean} lit @param {Box[]} taken */
  function name(pen, { name: text, bounds }, camera, lit, taken) {
    const ratio = devicePixelRatio;
    const { canvas } = pen;
    const [left, top] = toCanvas(camera, bounds.x, bounds.y, canvas);
    const [right, bottom] = toCanvas(camera, bounds.x + bounds.width, bounds.y + bounds.height, canvas);
    if (right < 0 || bottom < 0 || left > canvas.width || top > canvas.height) return;
    pen.font = `${lit ? 700 : 500} ${12 * ratio}px ${(font ??= getComputedStyle(canvas).fontFamily)}`;
    const width = pen.measureText(text).width;
    const x = Math.max(4 * ratio, Math.min(left, canvas.width - width - 4 * ratio));
    const high = 13 * ratio;
    const lines = [top - 5 * ratio, Math.max(top, 0) + 15 * ratio, bottom + 15 * ratio].filter((line) => line > high && line < canvas.height - 4 * ratio);
    const y = lines.find((line) => taken.every((box) => x > box.right || x + width < box.left || line < box.top || line - high > box.bottom));
    if (y === undefined) return;
    taken.push({ left: x, right: x + width, top: y - high, bottom: y });
    pen.lineWidth = 4 * ratio;
    pen.strokeStyle = "#000";
    pen.strokeText(text, x, y);
    pen.fillStyle = "#fff";
    pen.fillText(text, x, y);
  }

  /** @param {CanvasRenderingContext2D} pen @param {Drawing} now @param {Camera} camera @param {(path: Path2D) => Path2D} onCanvas */
  function paintDrawing(pen, now, camera, onCanvas) {
    const { points, closed } = lineOf(now);
    stroke(pen, onCanvas(pathOf([points], closed)), WIDTHS.usual);
    const ratio = devicePixelRatio;
    const square = (/** @type {Point} */ at, /** @type {number} */ half, /** @type {string} */ fill) => {
      const [x, y] = toCanvas(camera, ...at, pen.canvas);
      const size = half * ratio;
      pen.fillStyle = "#000";
      pen.fillRect(x - size - ratio, y - size - ratio, 2 * (size + ratio), 2 * (size + ratio));
      pen.fillStyle = fill;
      pen.fillRect(x - size, y - size, 2 * size, 2 * size);
    };
    const whole = now.edits && now.chosen === points.length && by_keys;
    if (now.edits) now.points.forEach((at, index) => square(at, index === now.chosen && by_keys || whole ? HANDLE + 2 : HANDLE, "#fff"));
    // Where it closes.
    else if (now.tool === "polygon" && now.points[0]) square(now.points[0], HANDLE, "#fff");
    if (now.edits || now.mark === null || !by_keys) return;
    const [x, y] = toCanvas(camera, ...now.mark, pen.canvas);
    const cross = new Path2D();
    for (const [dx, dy] of /** @type {const} */ ([[1, 0], [-1, 0], [0, 1], [0, -1]])) {
      cross.moveTo(x + dx * 3 * ratio, y + dy * 3 * ratio);
      cross.lineTo(x + dx * 13 * ratio, y + dy * 13 * ratio);
    }
    stroke(pen, cross, 2);
  }

  // ---- drawing ----

  const areas = newestOnly(
    (/** @type {RegionSettings} */ shape) => services.preview_region(shape),
    ({ area_text }) => hooks.told(area_text, drawing),
    () => hooks.told("", drawing),
  );
  let measured = "";

  /** @param {Drawing|null} next */
  function take(next) {
    if (next === null || next === drawing) return;
    drawing = next;
    if (next.end === "gone") return send({ type: "stop_drawing" });
    const shape = shapeOf(next);
    if (next.end === "done" && shape !== null) return send({ type: "region_drawn", shape });
    measure(shape);
    hooks.painted();
  }

  /** How large it is by now, once for each shape. @param {RegionSettings|null} shape */
  function measure(shape) {
    const now = JSON.stringify(shape);
    if (now === measured) return hooks.told(null, drawing);
    measured = now;
    if (shape !== null) return areas.ask(shape);
    areas.forget();
    hooks.told("", drawing);
  }

  /** @param {State} next */
  function followDrawing({ drawing: wanted, regions, grid, region_trouble }) {
    if (wanted === null || grid === null) {
      drawing = null;
      measured = "";
      return;
    }
    if (wanted !== state?.drawing) {
      const region = regions.find(({ id }) => id === wanted.edits);
      drawing = wanted.edits === null ? begun(wanted.tool, grid) : region ? edited(region, grid) : null;
      by_keys = false;
      measured = "";
      areas.forget();
      measure(drawing === null ? null : shapeOf(drawing));
    } else if (drawing !== null && drawing.end !== "" && region_trouble !== null && region_trouble !== state.region_trouble) {
      // It was refused: a polygon can be mended, anything else is begun anew.
      drawing = { ...drawing, end: "", hold: null, points: drawing.edits || drawing.tool === "polygon" ? drawing.points : [] };
    }
  }

  /** @param {Pane} pane */
  function listen(pane) {
    const { canvas, stage } = pane;
    const canDraw = () => drawing !== null && drawing.end === "" && pane.target()?.on_grid === true;
    const at = (/** @type {PointerEvent} */ event) => {
      const box = canvas.getBoundingClientRect();
      return toMap(pane.camera(), (event.clientX - box.left) * devicePixelRatio, (event.clientY - box.top) * devicePixelRatio, canvas);
    };
    const reach = (/** @type {PointerEvent} */ event) => {
      const pixels = (event.pointerType === "touch" ? REACH_OF_A_FINGER : REACH) * devicePixelRatio;
      const { scale, aspect } = pane.camera();
      return /** @type {Point} */ ([pixels / scale, pixels / (scale * aspect)]);
    };
    let down = -1;
    // Before the picture's own: what draws does not move the picture. Whatever draws nothing does.
    stage.addEventListener("pointerdown", (event) => {
      if (!canDraw() || drawing === null || event.button !== 0 || !event.isPrimary) return;
      const next = pressed(drawing, at(event), reach(event));
      if (drawing.edits && next.hold === null) return;
      by_keys = false;
      down = event.pointerId;
      canvas.setPointerCapture(down);
      canvas.focus({ preventScroll: true, focusVisible: false });
      event.preventDefault();
      event.stopPropagation();
      take(next);
    }, true);
    stage.addEventListener("pointermove", (event) => {
      if (!canDraw() || drawing === null || !event.isPrimary || (event.buttons !== 0 && down !== event.pointerId)) return;
      by_keys = false;
      canvas.classList.toggle("view-grips", drawing.edits && (pressed(drawing, at(event), reach(event)).hold !== null || isInside(drawing.points, at(event))));
      for (const one of event.getCoalescedEvents?.() ?? []) if (drawing.hold?.kind === "pen") take(dragged(drawing, at(one), reach(event)));
      take(dragged(drawing, at(event), reach(event)));
    }, true);
    const up = (/** @type {PointerEvent} */ event) => {
      if (down !== event.pointerId) return;
      down = -1;
      event.stopPropagation();
      if (canDraw() && drawing !== null) take(released(drawing, at(event), reach(event)));
    };
    stage.addEventListener("pointerup", up, true);
    stage.addEventListener("pointercancel", up, true);
    stage.addEventListener("keydown", (event) => {
      if (!canDraw() || event.ctrlKey || event.metaKey || event.altKey) return;
      const { x, y } = pane.camera();
      if (!press(event.key, event.shiftKey, [x, y])) return;
      event.preventDefault();
      event.stopPropagation();
      const place = drawing === null ? null : drawing.edits ? drawing.points[drawing.chosen] ?? null : drawing.mark;
      if (place === null || !event.key.startsWith("Arrow") && !event.key.startsWith("Page")) return;
      pane.reveal(...place);
      hooks.read(...place);
    }, true);
  }

  /** @param {string} key @param {boolean} far @param {Point} start @returns {boolean} */
  function press(key, far, start) {
    const next = drawing === null ? null : keyed(drawing, key, far, start);
    if (next === null) return false;
    by_keys = key !== "Escape";
    take(next);
    return true;
  }

  return {
    update(next) {
      const before = state;
      followDrawing(next);
      state = next;
      if (before?.regions !== next.regions) wantOutlines(next.regions);
      const mask = next.proposal?.preview?.mask ?? null;
      if (mask === null) proposed = null;
      else if (proposed?.mask !== mask) proposed = { mask, path: pathOfMask(mask) };
      for (const { canvas } of panes) {
        canvas.classList.toggle("view-drawing", drawing !== null);
        if (drawing === null) canvas.classList.remove("view-grips");
      }
      const keys = /** @type {const} */ (["regions", "outlines", "unseen", "lit", "drawing", "proposal", "region_trouble"]);
      if (before === null || keys.some((key) => before[key] !== next[key])) hooks.painted();
    },
    paint,
    listen,
    act: (key) => void press(key, false, [0, 0]),
  };
}
