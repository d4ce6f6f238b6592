// Which map is shown before the user has chosen one. Pure.

/** @typedef {import("./types.js").MapSummary} MapSummary */

/** A map whose largest value is within this many square roots of counts of its median shows nothing but background, however many pixels it has.
 * Only what is shown first hangs on it. */
const OF_BACKGROUND = 8;

/** The first map that shows something, element lines before the rest; without one the first of all.
 * @param {MapSummary[]} maps
 * @returns {string|null} */
export function firstToShow(maps) {
  const shows = (/** @type {MapSummary} */ { median, high }) => high !== null && median !== null && high > median + OF_BACKGROUND * Math.sqrt(Math.max(median, 1));
  const first = maps.find((map) => map.element !== null && shows(map)) ?? maps.find(shows) ?? maps[0];
  return first?.id ?? null;
}
