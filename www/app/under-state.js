// The photo that is seen with the maps: which, how much of it, and how a photo alone lies. Pure.

import { arranged } from "./subjects.js";

/** @typedef {import("./state.js").State} State */
/** @typedef {import("./types.js").PhotoSummary} PhotoSummary */
/** @typedef {import("./types.js").PictureSettings} PictureSettings */

/** Where a line divides the pictures, maps before it and the photo after it: 0 to 1 along x (it stands upright) or y (it lies flat).
 * @typedef {{at: number, along: "x"|"y"}} Divide */
/** `mix`: the photo's share of the light; it is kept while a line divides.
 * @typedef {{photo: string, mix: number, divide: Divide|null}} Under */
/** `photo_under` is seen in every view of maps. `photo_as_taken`: a photo alone is seen in its own pixels, although it is aligned.
 * @typedef {{photo_under: Under|null, photo_as_taken: boolean}} UnderState */
/** @typedef {{type: "photo_under", under: Under|null} | {type: "photo_as_taken", on: boolean} | {type: "side_by_side", photo: string}} UnderChange */

/** @type {UnderState} */
export const UNDER_START = Object.freeze({ photo_under: null, photo_as_taken: false });
export const MIX_START = 0.5;
/** @type {Divide} */
export const DIVIDE_START = Object.freeze({ at: 0.5, along: "x" });

/** @type {UnderChange["type"][]} */
const TYPES = ["photo_under", "photo_as_taken", "side_by_side"];

/** @template {{type: string}} Any
 * @param {Any} change
 * @returns {change is Extract<Any, UnderChange>} */
export function isOfUnder(change) {
  return TYPES.some((one) => one === change.type);
}

/** @param {State} state @param {UnderChange} change
 * @returns {State} */
export function underChanged(state, change) {
  switch (change.type) {
    case "photo_under": {
      const photo_under = keptUnder(change.under, state.photos);
      // It is seen with maps, so a view that shows a photo alone turns to them.
      const mode = photo_under !== null && state.photo_under === null && state.mode === "photo" ? "map" : state.mode;
      return { ...state, photo_under, mode };
    }
    case "photo_as_taken":
      return { ...state, photo_as_taken: change.on };
    case "side_by_side": {
      const two = arranged(state, 2);
      const other = 1 - two.active;
      const views = two.views.map((view, index) => (index === other ? { ...view, mode: /** @type {const} */ ("photo"), photo: change.photo } : view));
      return { ...two, views, mode: two.mode === "photo" ? "map" : two.mode, photo_under: null, photo_as_taken: false };
    }
  }
}

/** @param {PhotoSummary|undefined} photo */
export function isAligned(photo) {
  return photo?.alignment != null && photo.alignment.trouble === "";
}

/** What is left of it when these photos are there.
 * @param {Under|null} under @param {PhotoSummary[]} photos
 * @returns {Under|null} */
export function keptUnder(under, photos) {
  return under !== null && isAligned(photos.find(({ id }) => id === under.photo)) ? under : null;
}

/** A photo alone lies on the maps. @param {State} state @param {PhotoSummary} photo */
export function isLaid(state, photo) {
  return isAligned(photo) && !state.photo_as_taken && state.maps.length > 0;
}

/** Whether the active view shows what lies on the maps: maps, or a photo that is laid on them. @param {State} state */
export function isOnMaps(state) {
  const photo = state.photos.find(({ id }) => id === state.photo);
  return state.mode !== "photo" || (photo !== undefined && isLaid(state, photo));
}

/** What it adds to the settings of a picture of maps of this size; nothing to maps that do not lie on the grid, as those of another scan.
 * @param {State} state @param {{width: number, height: number}} size @param {string[]} ids of the maps
 * @returns {{photo?: string, mix?: number, divide?: number, divide_along?: "x"|"y"}} */
export function underSettings({ photo_under, grid, maps }, { width, height }, ids) {
  const is_other_scan = maps.some(({ id, field }) => ids.includes(id) && (field ?? 0) > 0);
  if (photo_under === null || is_other_scan || width !== grid?.width || height !== grid.height) return {};
  const { photo, mix, divide } = photo_under;
  return divide === null ? { photo, mix } : { photo, divide: divide.at, divide_along: divide.along };
}

/** The photo's share of the light in words. @param {number} mix */
export function mixText(mix) {
  return `${Math.round(mix * 100)}\u202f%`;
}

/** A share, moved by a key; null for a key that does not move it.
 * @param {number} at @param {string} key @param {boolean} far
 * @returns {number|null} */
export function stepped(at, key, far) {
  const step = far ? 0.1 : 0.01;
  const to = { ArrowLeft: at - step, ArrowUp: at - step, ArrowRight: at + step, ArrowDown: at + step, PageUp: at - 0.1, PageDown: at + 0.1, Home: 0, End: 1 }[key];
  return to === undefined ? null : Math.min(1, Math.max(0, Math.round(to * 1000) / 1000));
}

/** A line at a share of one window, as a share of a part of it: what is saved is divided where what is seen is.
 * @param {number} at @param {"x"|"y"} along @param {{x: number, y: number, width: number, height: number}} window
 * @param {{x: number, y: number, width: number, height: number}} part */
export function dividedIn(at, along, window, part) {
  const [start, length] = along === "x" ? [window.x - part.x, window.width] : [window.y - part.y, window.height];
  return Math.min(1, Math.max(0, (start + at * length) / (along === "x" ? part.width : part.height)));
}
