// Values along a line over the picture, one curve for each map, with their bands. Curves differ in colour and in how they are dashed; pointing at a
// name brings its curve out.

import { el } from "../../dom.js";
import { bandOf, pathOf, spread, styleOf } from "../../plotting.js";
import { createFrame } from "./frame.js";

/** @typedef {import("../../types.js").ProfilePlot} ProfilePlot */

/** @type {number[][]} */
const DASHES = [[], [7, 4], [2, 3], [9, 3, 2, 3]];
/** What the curves keep that are not pointed at. */
const FADED = 0.15;
const LABEL_PX = 17;
const DOT_PX = 2;

/** @param {ProfilePlot} plot @param {() => void} save the values along the line, as a file
 * @returns {import("./plot.js").Drawn} */
export function createProfile(plot, save) {
  const labels = el("div", { class: "profile-labels", attrs: { "aria-hidden": "true" } });
  /** The curve whose name is pointed at. @type {number|null} */
  let lit = null;
  const shown = (/** @type {number} */ index) => (lit === null || lit === index ? 1 : FADED);
  const frame = createFrame(plot, ({ pen, width, height, colour }) => {
    plot.series.forEach((one, index) => {
      const path = new Path2D(bandOf(one.points, one.low, one.high, width, height));
      pen.globalAlpha = 0.16 * shown(index);
      pen.fillStyle = colour(`plot-${styleOf(index).colour + 1}`);
      pen.fill(path);
    });
    plot.series.forEach((one, index) => {
      pen.globalAlpha = shown(index);
      pen.strokeStyle = pen.fillStyle = colour(`plot-${styleOf(index).colour + 1}`);
      pen.lineWidth = lit === index ? 2.5 : 1.75;
      pen.setLineDash(DASHES[styleOf(index).dash] ?? []);
      pen.stroke(new Path2D(pathOf(one.points, width, height)));
      pen.setLineDash([]);
      // A point between two gaps is no line and would not be seen.
      one.points.forEach((point, at) => {
        if (point === null || one.points[at - 1] || one.points[at + 1]) return;
        pen.fillRect(point[0] * width - DOT_PX, (1 - point[1]) * height - DOT_PX, 2 * DOT_PX, 2 * DOT_PX);
      });
    });
    pen.globalAlpha = 1;
    place(height);
  }, "plot-profile");
  frame.field.parentElement?.append(labels);
  // Where its curve ends each map is named; which curve that is, the colour and dashes before the name say too.
  const names = plot.series.map(({ label }, index) => {
    const swatch = el("canvas", { class: "profile-swatch" });
    const point = (/** @type {number|null} */ at) => () => {
      lit = at;
      frame.redraw();
    };
    return { element: el("span", { class: "profile-label", on: { pointerenter: point(index), pointerleave: point(null) } }, [swatch, label]), swatch, index };
  });
  labels.append(...names.map(({ element }) => element));

  function place(/** @type {number} */ height) {
    const ends = plot.series.map(({ points }) => (1 - (points.findLast((point) => point !== null)?.[1] ?? 0.5)) * height);
    const at = spread(ends, LABEL_PX, height);
    const style = getComputedStyle(frame.field);
    for (const { element, swatch, index } of names) {
      element.style.top = `${at[index]}px`;
      swatch.width = Math.round(18 * devicePixelRatio);
      swatch.height = Math.round(8 * devicePixelRatio);
      const pen = swatch.getContext("2d");
      if (pen === null) continue;
      pen.setTransform(devicePixelRatio, 0, 0, devicePixelRatio, 0, 0);
      pen.strokeStyle = style.getPropertyValue(`--plot-${styleOf(index).colour + 1}`);
      pen.lineWidth = 1.75;
      pen.setLineDash(DASHES[styleOf(index).dash] ?? []);
      pen.beginPath();
      pen.moveTo(0, 4);
      pen.lineTo(18, 4);
      pen.stroke();
    }
  }

  if (plot.note !== "") frame.element.append(el("p", { class: "plot-note", text: plot.note }));
  frame.element.append(el("button", { class: "quiet-button table-save", text: "Save the values as CSV", attrs: { type: "button" }, on: { click: save } }));
  return { element: frame.element, redraw: frame.redraw };
}
