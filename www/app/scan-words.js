// Which scan a map belongs to, as a number and in words. Pure.

/** @typedef {import("./types.js").MapSummary} MapSummary */

/** @param {MapSummary|undefined} map
 * @returns {number} 0 is the first scan */
export function scanOf(map) {
  return map?.field ?? 0;
}

/** @param {number} field @returns {string} as the core says it */
export function scanWord(field) {
  return field === 0 ? "first scan" : field === 1 ? "second scan" : `scan ${field + 1}`;
}

/** @param {string} text */
export function capital(text) {
  return text.charAt(0).toUpperCase() + text.slice(1);
}
