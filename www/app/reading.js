// Which values of a read-out stand on the page and which are folded away. Pure.

/** @typedef {import("./types.js").ReadValue} ReadValue */
/** @typedef {import("./types.js").ReadOut} ReadOut */

/** This many values are still found at a glance. */
export const AT_A_GLANCE = 12;

/** Of a region only the maps in view are told beside their values at the place, as long as there are any.
 * @template {{map: string}} Value
 * @param {Value[]} values @param {string[]} in_view @param {boolean} all
 * @returns {Value[]} */
export function regionValues(values, in_view, all) {
  const first = values.filter(({ map }) => in_view.includes(map));
  return all || first.length === 0 ? foldedValues(values, in_view, all).shown : first;
}

/** The maps in view first, in the order of the view, then the others in the order of the sheet; of many only the first.
 * @template {{map: string}} Value
 * @param {Value[]} values @param {string[]} in_view @param {boolean} all
 * @returns {{shown: Value[], folded: number}} */
export function foldedValues(values, in_view, all) {
  const place = new Map(in_view.map((map, index) => [map, index]));
  const first = values.filter(({ map }) => place.has(map)).sort((a, b) => (place.get(a.map) ?? 0) - (place.get(b.map) ?? 0));
  if (values.length <= AT_A_GLANCE) return { shown: values, folded: 0 };
  const rest = values.filter(({ map }) => !place.has(map));
  const shown = all ? [...first, ...rest] : first.length > 0 ? first : rest.slice(0, AT_A_GLANCE);
  return { shown, folded: values.length - shown.length };
}

/** Where it is, and in which of the named regions, as one line.
 * @param {Pick<ReadOut, "text"|"regions"|"more_regions">} read_out
 * @returns {string} */
export function placeText({ text, regions = [], more_regions = "" }) {
  return [text, ...regions.map((region) => region.text), more_regions].filter((part) => part !== "").join(" · ");
}
