// The core's words as they stand on the page. Pure.

/** @typedef {import("./types.js").MapSummary} MapSummary */

/** "Fe K" never ends a line with "Fe", nor "4 × 4" with "4 ×".
 * @param {string} text @param {MapSummary[]} maps
 * @returns {string} */
export function unbroken(text, maps) {
  const labels = new Set(maps.filter(({ element }) => element !== null).map(({ label }) => label));
  return [...labels].reduce((whole, label) => whole.replaceAll(label, label.replaceAll(" ", "\u00a0")), text.replaceAll(" × ", "\u00a0×\u00a0"));
}
