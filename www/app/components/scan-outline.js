// The borders of other scans over the pictures of the first, as thin lines with their names.

import { toCanvas } from "../camera.js";
import { capital } from "../scan-words.js";
import { isLaidScan } from "../scans-state.js";

/** @typedef {import("../plane.js").Place} Place */

/** @param {CanvasRenderingContext2D} pen @param {import("../camera.js").Camera} camera @param {{on_grid: boolean}} target
 * @param {import("../state.js").State} state */
export function paintScans(pen, camera, { on_grid }, { fields, outlines, compared }) {
  const { canvas } = pen;
  const laid = on_grid && outlines ? fields.filter(isLaidScan) : [];
  canvas.dataset.scans = laid.map(({ label }) => label).join(", ");
  for (const { label, maps, alignment } of laid) {
    // As finely as it was compared; its corners alone where it was not.
    const found = compared?.found ?? null;
    const places = found !== null && maps.includes(found.second) ? found.outline : alignment?.corners ?? [];
    outline(pen, camera, places.filter((at) => at !== null), capital(label));
  }
}

/** Light on dark, so that it is seen on any ground. @param {CanvasRenderingContext2D} pen @param {import("../camera.js").Camera} camera
 * @param {Place[]} places on the grid @param {string} name */
function outline(pen, camera, places, name) {
  if (places.length < 3) return;
  const ratio = devicePixelRatio;
  const path = new Path2D();
  for (const [index, at] of places.entries()) path[index === 0 ? "moveTo" : "lineTo"](...toCanvas(camera, ...at, pen.canvas));
  path.closePath();
  pen.save();
  pen.lineJoin = "round";
  for (const [style, width] of /** @type {const} */ ([["#000", 3], ["#fff", 1]])) {
    pen.strokeStyle = style;
    pen.lineWidth = width * ratio;
    pen.stroke(path);
  }
  const [x, y] = /** @type {Place} */ (places.map((at) => toCanvas(camera, ...at, pen.canvas)).reduce((best, at) => (at[0] + at[1] < best[0] + best[1] ? at : best)));
  pen.font = `500 ${12 * ratio}px ${getComputedStyle(pen.canvas).fontFamily}`;
  const width = pen.measureText(name).width;
  const left = Math.max(4 * ratio, Math.min(x + 5 * ratio, pen.canvas.width - width - 4 * ratio));
  const base = Math.max(16 * ratio, Math.min(y + 16 * ratio, pen.canvas.height - 6 * ratio));
  pen.lineWidth = 4 * ratio;
  pen.strokeStyle = "#000";
  pen.strokeText(name, left, base);
  pen.fillStyle = "#fff";
  pen.fillText(name, left, base);
  pen.restore();
}
