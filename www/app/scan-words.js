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

/** A map where its scan is said already: without what tells it from that of another. @param {MapSummary} map
 * @returns {string} */
export function labelInScan(map) {
  const more = ` (${scanWord(scanOf(map))})`;
  return scanOf(map) > 0 && map.label.endsWith(more) ? map.label.slice(0, -more.length) : map.label;
}

/** @param {string} text */
export function capital(text) {
  return text.charAt(0).toUpperCase() + text.slice(1);
}
