// What is to be done next while a photo is aligned, in words. Pure.

import { MARKS, isLaying, lacking, proposedPlace, waiting } from "./aligning-state.js";

/** @typedef {import("./aligning-state.js").Aligning} Aligning */

/** Where the two places of a point are, in words. @param {Aligning} aligning */
export function sidesOf({ scan }) {
  return scan === null ? { photo: "in the photo", maps: "on the maps" } : { photo: `in the ${scan.label}`, maps: "in the first scan" };
}

/** @param {Aligning} aligning */
export function nextWords(aligning) {
  const { edges, points, chosen } = aligning;
  if (edges !== null) {
    const { length } = edges.places;
    if (length < MARKS.length) return `Set ${MARKS[length]} of the object: click it, or move the cross with the arrows and press Enter.`;
    if (edges.chosen === null) return "The object’s edges are marked. [ and ] choose a mark to move it; Escape is done with them.";
    return `${sentence(MARKS[edges.chosen] ?? "")}: arrows move it by 1 pixel, with Shift by a tenth. Escape is done with it.`;
  }
  if (!isLaying(aligning)) return "Mark the object’s edges, or leave by “Done”.";
  const sides = sidesOf(aligning);
  const half = waiting(aligning);
  if (half >= 0) {
    const side = lacking(aligning) ?? "maps";
    const proposed = proposedPlace(aligning) !== null;
    return `Point ${half + 1} waits for its place ${sides[side]}${proposed ? ". Where it is expected is drawn broken: Enter sets it there; correct it first if it is not the same detail" : ": click the same detail there, or move the cross with the arrows and press Enter"}. Escape drops it.`;
  }
  if (chosen !== null) return `Point ${chosen + 1}: arrows move it by 1 pixel, with Shift by a tenth. Enter is done with it, Delete removes it.`;
  if (points.length === 0) return `Set the same detail in both pictures: click it ${sides.photo} and then ${sides.maps}, or move the cross with the arrows and press Enter.`;
  return "Click a detail in either picture for a new point, or move the cross with the arrows and press Enter. [ and ] choose a point.";
}

/** @param {string} text */
function sentence(text) {
  return text.charAt(0).toUpperCase() + text.slice(1);
}

/** A place as it is said aloud. @param {[number, number]} at */
export function placeWords([x, y]) {
  const one = (/** @type {number} */ v) => String(Math.round(v * 10) / 10);
  return `${one(x)}, ${one(y)}`;
}
