// Other scans than the first: which there are, and how bright one was found to be against the first. Pure.

import { scanOf } from "./scan-words.js";
import { isElementMap } from "./sheet-list.js";

/** @typedef {import("./state.js").State} State */
/** @typedef {import("./types.js").Field} Field */
/** @typedef {import("./types.js").MapSummary} MapSummary */
/** @typedef {import("./types.js").Overlap} Overlap */

/** A map of another scan and one of the first. @typedef {{map: string, first: string|null}} Pair */
/** `of`: what the maps and the alignment were; what was found is told of that alone.
 * @typedef {{of: string, busy: boolean, found: Overlap|null, trouble: string}} Compared */
/** @typedef {{fields: Field[], compared: Compared|null}} ScansState */
/** @typedef {{type: "compared", compared: Compared|null}} ScansChange */

/** @type {ScansState} */
export const SCANS_START = Object.freeze({ fields: [], compared: null });

/** What of a scan can be looked at: its element maps as they were read; where there are none, all of it.
 * @param {MapSummary[]} maps @param {number} field
 * @returns {MapSummary[]} */
export function mapsOfScan(maps, field) {
  const all = maps.filter((map) => scanOf(map) === field);
  const read = all.filter((map) => isElementMap(map) && !map.derived);
  return read.length > 0 ? read : all;
}

/** The map of the first scan that a map of another is seen beside: of the same line, else the first one. @param {MapSummary[]} maps @param {string} id
 * @returns {string|null} */
export function besideOf(maps, id) {
  const map = maps.find((one) => one.id === id);
  const first = mapsOfScan(maps, 0);
  const same = first.find(({ element, line }) => element !== null && element === map?.element && line === map.line);
  return (same ?? first[0])?.id ?? null;
}

/** What the first maps of a scan to be seen are: one whose line the first scan has too, if there is one.
 * @param {MapSummary[]} maps @param {number} field
 * @returns {Pair|null} null where the scan has no maps */
export function pairOf(maps, field) {
  const own = mapsOfScan(maps, field);
  const pairs = own.map(({ id }) => ({ map: id, first: besideOf(maps, id) }));
  const line = (/** @type {string|null} */ id) => maps.find((map) => map.id === id)?.line ?? null;
  return pairs.find(({ map, first }) => line(map) !== null && line(map) === line(first)) ?? pairs[0] ?? null;
}

/** @param {Field|undefined} field */
export function isLaidScan(field) {
  return field?.alignment != null && field.alignment.trouble === "";
}

/** What a comparison of two maps is of: another alignment, another name, kind or step is another comparison.
 * @param {State} state @param {Pair} pair
 * @returns {string} */
export function comparisonOf({ maps, fields, grid }, { map, first }) {
  const one = maps.find(({ id }) => id === map);
  const { alignment } = fields.find(({ field }) => field === scanOf(one)) ?? { alignment: null };
  return JSON.stringify([one, maps.find(({ id }) => id === first), alignment, grid?.step_x_um, grid?.step_y_um]);
}

/** What was found of two maps as they and their alignment are now. @param {State} state @param {Pair} pair
 * @returns {Compared|null} */
export function comparedOf(state, pair) {
  return state.compared !== null && state.compared.of === comparisonOf(state, pair) ? state.compared : null;
}
