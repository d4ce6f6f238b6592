// What all views share: where the picture stands, the place that is pointed at, and the pixel that the keyboard reads. Pure.

import { fit } from "./camera.js";

/** @typedef {import("./camera.js").Camera} Camera */
/** @typedef {import("./camera.js").Source} Source */
/** @typedef {import("./camera.js").Size} Size */
/** @typedef {Source & {plane: string}} Place */
/** A place in pixels of a plane.
 * @typedef {{plane: string, x: number, y: number}} Spot */

/** Maps, overlay and answers lie in one plane and move together; a photo has its own.
 * @typedef {{camera: (place: Place, canvas: Size) => Camera, look: (plane: string, camera: Camera) => void, refit: (plane: string) => void,
 *   pointed: Spot|null, pointed_in: number, cursor: Spot|null}} Link */

/** Room around a fitted picture, in canvas pixels for each pixel of the page. */
const MARGIN = 20;

/** @param {() => number} density canvas pixels for each pixel of the page
 * @returns {Link} */
export function createLink(density) {
  /** Only what was moved; what is fitted follows the size of each canvas. @type {Map<string, Camera>} */
  const moved = new Map();
  return {
    camera: (place, canvas) => moved.get(place.plane) ?? fit(place, canvas, MARGIN * density()),
    look(plane, camera) {
      if (camera.fitted) moved.delete(plane);
      else moved.set(plane, camera);
    },
    refit: (plane) => void moved.delete(plane),
    pointed: null,
    pointed_in: -1,
    cursor: null,
  };
}
