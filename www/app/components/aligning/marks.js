// What is painted over the two pictures while a photo is aligned: points with their numbers, whiskers, the photo's outline, the object's edges.

import { toCanvas } from "../../camera.js";
import { across, endOf, enlarged, judged, lacking, proposedPlace, waiting } from "../../aligning-state.js";

/** @typedef {import("../../camera.js").Camera} Camera */
/** @typedef {import("../../aligning-state.js").Aligning} Aligning */
/** @typedef {import("../../aligning-state.js").Side} Side */
/** @typedef {import("../../plane.js").Place} Place */
/** @typedef {import("../../types.js").ObjectText} ObjectText */
/** `cursor`: where the keys have gone on this side, if it is to be seen.
 * @typedef {{aligning: Aligning, side: Side, object: ObjectText|null, cursor: Place|null}} Marked */

/** Whiskers are drawn up to about so long, in pixels of the page. */
const WHISKER = 60;
const RING = { usual: 5, chosen: 9 };

/** How many times errors are enlarged on the maps. @param {Aligning} aligning @param {Camera} camera */
export function factorOf(aligning, camera) {
  return enlarged(aligning, (WHISKER * devicePixelRatio) / camera.scale);
}

/** @param {CanvasRenderingContext2D} pen @param {Camera} camera @param {Marked} marked */
export function paintMarks(pen, camera, { aligning, side, object, cursor }) {
  const { canvas } = pen;
  const ratio = devicePixelRatio;
  const out = (/** @type {Place} */ at) => toCanvas(camera, ...at, canvas);
  pen.save();
  pen.lineJoin = "round";

  /** Light on dark, so that it is seen on any ground. @param {Path2D} path @param {number} width @param {number[]} [dash] */
  function stroke(path, width, dash = []) {
    pen.setLineDash([]);
    pen.strokeStyle = "#000";
    pen.lineWidth = (width + 2) * ratio;
    pen.stroke(path);
    pen.setLineDash(dash.map((one) => one * ratio));
    pen.strokeStyle = "#fff";
    pen.lineWidth = width * ratio;
    pen.stroke(path);
    pen.setLineDash([]);
  }

  /** @param {(Place|null)[]} places on this side @param {boolean} closed */
  function line(places, closed = false) {
    const path = new Path2D();
    places.forEach((at, index) => {
      if (at !== null) path[index === 0 ? "moveTo" : "lineTo"](...out(at));
    });
    if (closed) path.closePath();
    return path;
  }

  /** Open in the middle, so that the detail stays to be seen. @param {Place} at @param {number} from @param {number} to */
  function cross(at, from, to) {
    const path = new Path2D();
    const [x, y] = out(at);
    for (const [dx, dy] of /** @type {const} */ ([[1, 0], [-1, 0], [0, 1], [0, -1]])) {
      path.moveTo(x + dx * from * ratio, y + dy * from * ratio);
      path.lineTo(x + dx * to * ratio, y + dy * to * ratio);
    }
    return path;
  }

  /** @param {Place} at @param {number} radius */
  function ring(at, radius) {
    const path = new Path2D();
    path.arc(...out(at), radius * ratio, 0, 2 * Math.PI);
    return path;
  }

  /** @param {Place} at @param {string} text @param {boolean} strong */
  function name(at, text, strong) {
    const [x, y] = out(at);
    pen.font = `${strong ? 700 : 500} ${12 * ratio}px sans-serif`;
    pen.textAlign = "left";
    pen.textBaseline = "alphabetic";
    pen.lineWidth = 4 * ratio;
    pen.strokeStyle = "#000";
    pen.fillStyle = "#fff";
    pen.strokeText(text, x + 8 * ratio, y - 6 * ratio);
    pen.fillText(text, x + 8 * ratio, y - 6 * ratio);
  }

  const { alignment, found, edges } = aligning;
  if (side === "maps") {
    const corners = found !== null ? found.corners : alignment?.trouble === "" ? alignment.corners : [];
    if (corners.length > 0 && corners.every(Boolean)) stroke(line(corners, true), 1, found === null ? [] : [6, 4]);
    if (edges === null) whiskers();
  }
  drawEdges();
  if (edges === null) drawPoints();
  if (cursor !== null) stroke(cross(cursor, 3, 14), 2);
  pen.restore();

  function whiskers() {
    const factor = factorOf(aligning, camera);
    judged(aligning).forEach((point, index) => {
      const to = aligning.points[index]?.to;
      if (!point || !to) return;
      const end = (/** @type {[number, number]} */ [dx, dy]) => /** @type {Place} */ ([to[0] + dx * factor, to[1] + dy * factor]);
      if (point.left_out_px) stroke(line([to, end(point.left_out_px)]), 1, [3, 3]);
      if (point.error_px) stroke(line([to, end(point.error_px)]), 2);
    });
  }

  function drawPoints() {
    aligning.points.forEach((point, index) => {
      const at = point[endOf(side)];
      const is_chosen = index === aligning.chosen;
      if (at === null) return;
      stroke(ring(at, is_chosen ? RING.chosen : RING.usual), 1.5);
      if (is_chosen) stroke(cross(at, 3, 14), 1.5);
      name(at, String(index + 1), is_chosen);
    });
    const proposed = lacking(aligning) === side ? proposedPlace(aligning) : null;
    if (proposed === null) return;
    stroke(ring(proposed, RING.chosen), 1.5, [3, 3]);
    name(proposed, String(waiting(aligning) + 1), false);
  }

  function drawEdges() {
    const places = edges?.places ?? (object === null ? [] : [object.at, object.across, object.down]);
    const here = places.map((at) => (side === "maps" ? at : across(aligning, "maps", at)));
    const [corner, along, down] = here;
    for (const end of [along, down]) if (corner && end) stroke(line([corner, end]), 1);
    if (edges === null) return;
    here.forEach((at, index) => {
      if (at === null) return;
      stroke(ring(at, index === edges.chosen ? RING.chosen : RING.usual), 1.5);
      if (index === edges.chosen) stroke(cross(at, 3, 14), 1.5);
      name(at, /** @type {const} */ (["corner", "across", "down"])[index] ?? "", index === edges.chosen);
    });
  }
}
