// Colours of a photo while a region is made of them: what is picked, what is left out, and how. Pure; places are in pixels of the grid.

/** @typedef {import("./types.js").RegionSettings} RegionSettings */
/** @typedef {import("./types.js").RegionSummary} RegionSummary */
/** @typedef {import("./types.js").PhotoSummary} PhotoSummary */
/** @typedef {import("./drawing.js").Point} Point */

/** `leaves_out`: the next place that is picked is one whose colour is not wanted. `edits`: the region that is changed.
 * @typedef {{photo: string, edits: string|null, at: Point[], except: Point[], leaves_out: boolean, alike: number, connected: boolean, smallest_px: number, rim: boolean}} Picking */
/** @typedef {"at"|"except"} Kind */

/** Where the slider of what still counts as alike begins and ends: CIEDE2000. */
export const ALIKE = Object.freeze({ least: 1, most: 30, step: 0.5, start: 6 });
export const MOST_SPECK = 9999;
/** With Shift an arrow goes this far. */
const FAR = 10;

/** The photos that lie on the maps. @param {PhotoSummary[]} photos */
export function laidPhotos(photos) {
  return photos.filter(({ alignment }) => alignment && alignment.trouble === "");
}

/** Nothing is picked yet. Of several photos the one that is looked at, else the first.
 * @param {PhotoSummary[]} photos @param {string|null} seen
 * @returns {Picking|null} null where no photo lies on the maps */
export function begunPicking(photos, seen) {
  const laid = laidPhotos(photos);
  const photo = laid.find(({ id }) => id === seen) ?? laid[0];
  if (photo === undefined) return null;
  return { photo: photo.id, edits: null, at: [], except: [], leaves_out: false, alike: ALIKE.start, connected: true, smallest_px: 0, rim: true };
}

/** A region that was made of colours, to be changed; null if it was not, or cannot be now.
 * @param {RegionSummary} region
 * @returns {Picking|null} */
export function pickingOf({ id, colour }) {
  if (!colour || colour.at.length === 0) return null;
  const { photo, at, except, alike, connected, smallest_px, rim } = colour;
  return { photo, edits: id, at, except, leaves_out: false, alike, connected, smallest_px, rim };
}

/** A place was picked. @param {Picking} picking @param {Point} at @param {boolean} [other] the other way than `leaves_out` says
 * @returns {Picking} */
export function picked(picking, at, other = false) {
  // The first colour is always one that is wanted.
  const out = picking.leaves_out !== other && picking.at.length > 0;
  const place = /** @type {Point} */ (at.map((value) => Math.round(value * 100) / 100));
  return out ? { ...picking, except: [...picking.except, place] } : { ...picking, at: [...picking.at, place] };
}

/** @param {Picking} picking @param {Kind} kind @param {number} index
 * @returns {Picking} */
export function unpicked(picking, kind, index) {
  return { ...picking, [kind]: picking[kind].toSpliced(index, 1) };
}

/** Without what was picked last. @param {Picking} picking
 * @returns {Picking} */
export function takenBack(picking) {
  const kind = picking.except.length > 0 && (picking.leaves_out || picking.at.length < 2) ? "except" : "at";
  return unpicked(picking, kind, picking[kind].length - 1);
}

/** As the core takes it; null as long as nothing is picked. @param {Picking} picking
 * @returns {RegionSettings|null} */
export function colourSettings({ photo, at, except, alike, connected, smallest_px, rim }) {
  return at.length === 0 ? null : { colour: { photo, at, except, alike, connected, smallest_px, rim } };
}

/** What was typed as the smallest patch; null if it is no number of pixels. @param {string} text
 * @returns {number|null} */
export function speckOf(text) {
  const typed = text.trim();
  if (typed === "") return 0;
  const value = Number(typed);
  return Number.isInteger(value) && value >= 0 && value <= MOST_SPECK ? value : null;
}

/** Where the mark of the keyboard goes; null if the key does not move it. The first arrow only shows it.
 * @param {Point|null} mark @param {string} key @param {boolean} far with Shift @param {Point} start @param {{width: number, height: number}} grid
 * @returns {Point|null} the middle of a pixel */
export function markAfter(mark, key, far, start, { width, height }) {
  const arrow = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] }[key];
  if (arrow === undefined) return null;
  const by = mark === null ? 0 : far ? FAR : 1;
  const [x, y] = mark ?? start;
  const within = (/** @type {number} */ value, /** @type {number} */ length) => Math.min(length - 1, Math.max(0, Math.floor(value))) + 0.5;
  return [within(x + (arrow[0] ?? 0) * by, width), within(y + (arrow[1] ?? 0) * by, height)];
}
