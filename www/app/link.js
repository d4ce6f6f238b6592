// What all views share: where the picture stands, the place that is pointed at, and the pixel that the keyboard reads. Pure.

import { fit } from "./camera.js";

/** @typedef {import("./camera.js").Camera} Camera */
/** @typedef {import("./camera.js").Source} Source */
/** @typedef {import("./camera.js").Size} Size */
/** @typedef {Source & {plane: string}} Place */
/** A place in pixels of a plane.
 * @typedef {{plane: string, x: number, y: number}} Spot */

/** Maps, overlay and answers lie in one plane and move together; a photo has its own.
 * @typedef {{camera: (place: Place, canvas: Size) => Camera, look: (plane: string, camera: Camera) => void, refit: (plane: string) => void, refit_all: () => void,
 *   pointed: Spot|null, pointed_in: number, cursor: Spot|null}} Link */

/** @param {() => number} margin around a fitted picture, in canvas pixels
 * @returns {Link} */
export function createLink(margin) {
  /** Only what was moved; what is fitted follows the size of each canvas. @type {Map<string, Camera>} */
  const moved = new Map();
  return {
    camera: (place, canvas) => moved.get(place.plane) ?? fit(place, canvas, margin()),
    look(plane, camera) {
      if (camera.fitted) moved.delete(plane);
      else moved.set(plane, camera);
    },
    refit: (plane) => void moved.delete(plane),
    refit_all: () => moved.clear(),
    pointed: null,
    pointed_in: -1,
    cursor: null,
  };
}
