// The frame of a plot with two axes: a field for lines on a canvas in the screen's own pixels, ticks and titles as text around it.

import { el } from "../../dom.js";
import { endOf, ticksThatFit } from "../../plotting.js";

/** @typedef {import("../../types.js").PlotAxis} PlotAxis */
/** `unit`: pixels of the page for one share of the width and height.
 * @typedef {{pen: CanvasRenderingContext2D, width: number, height: number, colour: (name: string) => string}} Paper */

/** A letter of the tick labels, about. */
const LETTER_PX = 7;
/** Air between two tick labels. */
const AIR_PX = 10;

/** @param {{label: string, x: PlotAxis, y: PlotAxis, note: string}} plot @param {(paper: Paper) => void} draw @param {string} [kind] a class
 * @returns {{element: HTMLElement, field: HTMLElement, redraw: () => void}} */
export function createFrame({ label, x, y, note }, draw, kind = "") {
  const canvas = el("canvas", { class: "plot-canvas", attrs: { role: "img", "aria-label": [label, note].filter(Boolean).join(". ") } });
  const field = el("div", { class: "plot-field" }, [canvas]);
  const x_ticks = el("div", { class: "plot-x-ticks", attrs: { "aria-hidden": "true" } });
  const y_ticks = el("div", { class: "plot-y-ticks", attrs: { "aria-hidden": "true" } }, y.ticks.map(({ at, text }) => placed("plot-tick", text, "bottom", at)));
  // The labels themselves say how wide their column is.
  const y_room = el("div", { class: "plot-y-room", attrs: { "aria-hidden": "true" } }, y.ticks.map(({ text }) => el("span", { text })));
  const element = el("figure", { class: `plot ${kind}`.trim() }, [
    ...(label === "" ? [] : [el("figcaption", { class: "plot-label", text: label })]),
    el("div", { class: "plot-frame" }, [
      el("p", { class: "plot-title plot-y-title", text: y.label }),
      el("div", { class: "plot-y" }, [y_room, y_ticks]), field, x_ticks,
      el("p", { class: "plot-title plot-x-title", text: x.label }),
    ]),
  ]);

  function redraw() {
    const { clientWidth: width, clientHeight: height } = field;
    if (width === 0 || height === 0) return;
    canvas.width = Math.round(width * devicePixelRatio);
    canvas.height = Math.round(height * devicePixelRatio);
    const pen = canvas.getContext("2d");
    if (pen === null) return;
    pen.setTransform(canvas.width / width, 0, 0, canvas.height / height, 0, 0);
    const style = getComputedStyle(field);
    const colour = (/** @type {string} */ name) => style.getPropertyValue(`--${name}`).trim();
    for (const { at } of x.ticks) stroke(pen, colour("hairline"), 1, [[crisp(at * width), height], [crisp(at * width), height - 4]]);
    for (const { at } of y.ticks) stroke(pen, colour("hairline"), 1, [[0, crisp((1 - at) * height)], [4, crisp((1 - at) * height)]]);
    draw({ pen, width, height, colour });
    const fitting = ticksThatFit(x.ticks, width, (text) => text.length * LETTER_PX + AIR_PX);
    x_ticks.replaceChildren(...fitting.map(({ at, text }) => placed("plot-tick", text, "left", at)));
  }
  new ResizeObserver(redraw).observe(field);
  return { element, field, redraw };
}

/** A text at a share of its axis. @param {string} kind @param {string} text @param {"left"|"bottom"} side @param {number} at */
function placed(kind, text, side, at) {
  const span = el("span", { class: kind, text });
  span.style[side] = `${at * 100}%`;
  const end = side === "left" ? endOf(at) : undefined;
  if (end !== undefined) span.dataset.end = end;
  return span;
}

/** In the middle of a pixel, where a line of one pixel is sharp. @param {number} at */
export function crisp(at) {
  return Math.round(at - 0.5) + 0.5;
}

/** @param {CanvasRenderingContext2D} pen @param {string} colour @param {number} width @param {[number, number][]} points @param {number[]} [dash] */
export function stroke(pen, colour, width, points, dash = []) {
  pen.strokeStyle = colour;
  pen.lineWidth = width;
  pen.setLineDash(dash);
  pen.beginPath();
  points.forEach(([x, y], index) => (index === 0 ? pen.moveTo(x, y) : pen.lineTo(x, y)));
  pen.stroke();
  pen.setLineDash([]);
}
