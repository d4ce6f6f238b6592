// Two maps against each other: how many pixels have which values of both. A rectangle drawn in it lights its pixels in the picture, and a
// region of the picture is marked in it.

import { el, setAttribute, setText } from "../../dom.js";
import { dragged, keyed } from "../../brush.js";
import { binPixels, colourOf, spread } from "../../plotting.js";
import { createFrame, stroke } from "./frame.js";

/** @typedef {import("../../state.js").State} State */
/** @typedef {import("../../types.js").JointPlot} JointPlot */
/** @typedef {import("../../types.js").Raster} Raster */
/** @typedef {import("../../brush.js").Brush} Brush */
/** @typedef {import("../../brush.js").Place} Place */

const LABEL_PX = 16;

/** @param {JointPlot} plot @param {string} answer @param {import("../../controller.js").Send} send
 * @returns {import("./plot.js").Drawn} */
export function createJoint(plot, answer, send) {
  const bins = el("canvas", { class: "joint-bins", attrs: { "aria-hidden": "true" } });
  const marked_bins = el("canvas", { class: "joint-bins", attrs: { "aria-hidden": "true" } });
  const labels = el("div", { class: "joint-labels", attrs: { "aria-hidden": "true" } });
  const frame_box = el("div", { class: "joint-brush", attrs: { hidden: true } });
  const surface = el("div", { class: "joint-surface", attrs: { tabindex: 0, role: "application", "aria-label": "Rectangle in the plot", "aria-description":
    "Arrows move a rectangle, Shift and arrows change its size, Escape takes it away. Its pixels are lit in the picture." } });
  const frame = createFrame(plot, ({ pen, width, height, colour }) => {
    for (const { points } of plot.lines) {
      const [first] = points;
      // Levels lie along the axes; what goes across is how the two maps go together.
      const is_level = first !== undefined && (points.every(([u]) => u === first[0]) || points.every(([, v]) => v === first[1]));
      stroke(pen, colour(is_level ? "edge" : "accent"), is_level ? 1 : 1.5, points.map(([u, v]) => [u * width, (1 - v) * height]), is_level ? [4, 3] : []);
    }
    placeLabels(width, height);
    drawBins();
  }, "plot-joint");
  frame.field.prepend(bins, marked_bins);
  frame.field.append(labels, frame_box, surface);

  const legend = el("p", { class: "joint-legend", attrs: { hidden: true } });
  const lit = el("span", { class: "joint-lit", attrs: { role: "status" } });
  const keep = el("button", { class: "quiet-button", text: "Keep as region", attrs: { type: "button" }, on: { click: () => send({ type: "keep_brush" }) } });
  const clear = el("button", { class: "quiet-button", text: "Clear", attrs: { type: "button" }, on: { click: () => {
    set(null);
    surface.focus();
  } } });
  frame.element.append(legend, el("p", { class: "joint-said" }, [lit, keep, clear]));

  /** @type {Raster|null} */
  let counts = null;
  /** @type {Raster|null} */
  let marked = null;
  /** @type {Brush|null} */
  let brush = null;
  /** @type {Place|null} */
  let began = null;

  // ---- drawing ----

  function drawBins() {
    const style = getComputedStyle(frame.field);
    fill(bins, counts, style.getPropertyValue("color"));
    fill(marked_bins, marked, style.getPropertyValue("--plot-2-rgb"));
  }

  /** @param {HTMLCanvasElement} canvas @param {Raster|null} raster @param {string} colour */
  function fill(canvas, raster, colour) {
    canvas.hidden = raster === null;
    if (raster === null) return;
    canvas.width = raster.width;
    canvas.height = raster.height;
    canvas.getContext("2d")?.putImageData(new ImageData(binPixels(raster.data, colourOf(colour)), raster.width, raster.height), 0, 0);
  }

  /** Names of the lines, at their upper right ends, and of the clouds, where they are. @param {number} width @param {number} height */
  function placeLabels(width, height) {
    const named = plot.lines.filter(({ label, points }) => label !== "" && points.length > 0);
    const upright = named.filter(({ points }) => points.every(([u]) => u === points[0]?.[0]));
    const others = named.filter((line) => !upright.includes(line));
    const end = (/** @type {[number, number][]} */ points) => points.reduce((far, point) => (point[0] > far[0] ? point : far));
    const tops = spread(others.map(({ points }) => (1 - end(points)[1]) * height - LABEL_PX / 2), LABEL_PX, height);
    labels.replaceChildren(
      ...others.map(({ label, points }, index) => {
        const text = el("span", { class: "joint-label joint-label-end", text: label });
        text.style.right = `${(1 - end(points)[0]) * width + 3}px`;
        text.style.top = `${tops[index]}px`;
        return text;
      }),
      ...upright.map(({ label, points }, index) => {
        const at = (points[0]?.[0] ?? 0) * width;
        const text = el("span", { class: "joint-label", text: label });
        // On the side where there is room for it; one below the other, should two levels lie close.
        if (at > width * 0.6) text.style.right = `${width - at + 3}px`;
        else text.style.left = `${at + 3}px`;
        text.style.top = `${LABEL_PX * (index + 0.5)}px`;
        return text;
      }),
      ...(plot.marks ?? []).map(({ label, at: [u, v] }) => {
        const text = el("span", { class: "joint-mark", text: label });
        text.style.left = `${u * 100}%`;
        text.style.top = `${(1 - v) * 100}%`;
        return text;
      }),
    );
  }

  function drawBrush() {
    frame_box.hidden = brush === null;
    if (brush === null) return;
    const [left, low] = brush.from;
    const [right, high] = brush.to;
    frame_box.style.left = `${left * 100}%`;
    frame_box.style.bottom = `${low * 100}%`;
    frame_box.style.width = `${(right - left) * 100}%`;
    frame_box.style.height = `${(high - low) * 100}%`;
  }

  // ---- brushing ----

  function set(/** @type {Brush|null} */ next) {
    brush = next;
    drawBrush();
    send({ type: "brush", answer, brush });
  }

  /** @param {PointerEvent} event @returns {Place} */
  function placeOf(event) {
    const box = surface.getBoundingClientRect();
    return [(event.clientX - box.left) / box.width, 1 - (event.clientY - box.top) / box.height];
  }

  surface.addEventListener("pointerdown", (event) => {
    if (event.button !== 0) return;
    surface.setPointerCapture(event.pointerId);
    began = placeOf(event);
  });
  surface.addEventListener("pointermove", (event) => {
    if (began === null) return;
    const next = dragged(began, placeOf(event));
    if (next !== null) set(next);
  });
  const over = (/** @type {PointerEvent} */ event) => {
    // A press without a drag puts the rectangle away.
    if (began !== null && dragged(began, placeOf(event)) === null && brush !== null) set(null);
    began = null;
  };
  surface.addEventListener("pointerup", over);
  surface.addEventListener("pointercancel", () => (began = null));
  surface.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    const next = keyed(brush, event.key, event.shiftKey);
    if (next === undefined) return;
    event.preventDefault();
    event.stopPropagation();
    if (next !== brush) set(next);
  });

  // ---- state ----

  return {
    element: frame.element,
    redraw: frame.redraw,
    update(state) {
      const now = state.rasters[plot.raster] ?? null;
      const here = state.marked?.answer === answer ? state.marked : null;
      if (now !== counts || (here?.bins ?? null) !== marked) {
        counts = now;
        marked = here?.bins ?? null;
        drawBins();
      }
      legend.hidden = here === null;
      setText(legend, here === null ? "" : `Coloured: ${here.label}`);
      const held = state.brush?.answer === answer ? state.brush : null;
      if (began === null && JSON.stringify(held && [held.from, held.to]) !== JSON.stringify(brush && [brush.from, brush.to])) {
        brush = held === null ? null : { from: held.from, to: held.to };
        drawBrush();
      }
      const kept = held?.name ? `Kept as ${held.name}.` : "";
      setText(lit, held === null ? "Drag in the plot to light up its pixels in the picture." : held.trouble || kept || held.lit?.text || "");
      keep.hidden = held === null || held.lit === null || held.name !== "";
      clear.hidden = held === null;
      setAttribute(surface, "aria-valuetext", held?.lit?.text ?? false);
    },
  };
}
