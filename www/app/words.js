// The core's words as they stand on the page. Pure.

/** @typedef {import("./types.js").MapSummary} MapSummary */
/** @typedef {import("./types.js").RegionSummary} RegionSummary */

/** "Fe K" never ends a line with "Fe", nor "4 × 4" with "4 ×", "20 %" with "20" or "0.2 – 0.3" with its dash.
 * @param {string} text @param {MapSummary[]} maps
 * @returns {string} */
export function unbroken(text, maps) {
  const labels = new Set(maps.filter(({ element }) => element !== null).map(({ label }) => label));
  return [...labels].reduce((whole, label) => whole.replaceAll(label, label.replaceAll(" ", "\u00a0")),
    text.replaceAll(" × ", "\u00a0×\u00a0").replaceAll(" %", "\u00a0%").replace(/(?<=\d) – (?=[−\d])/g, "\u00a0–\u2060\u00a0"));
}

/** The name of a file of figures: "apart Ti K Fe K table.csv". Nothing in it that a system forbids in names.
 * @param {{answer: import("./types.js").Answer|null, maps: MapSummary[]}} state @param {string} id @param {string} what
 * @returns {string} */
export function tableFileName({ answer, maps }, id, what) {
  if (answer === null || answer.id !== id) return `${what}.csv`;
  const named = Object.values(answer.settings).flat().flatMap((value) => maps.filter((map) => map.id === value).map(({ label }) => label));
  const name = [answer.question, ...new Set(named.slice(0, 4)), what].join(" ").replace(/[^\p{L}\p{N} ._-]/gu, "");
  return `${name}.csv`;
}

/** Which maps a region was made from; nothing where its text names them already.
 * @param {Pick<RegionSummary, "text"|"makers"|"makers_text">} region @param {MapSummary[]} maps
 * @returns {string} */
export function makersText({ text, makers, makers_text }, maps) {
  const is_named = (/** @type {string} */ maker) => maps.some(({ id, label }) => id === maker && text.includes(label));
  return makers.every(is_named) ? "" : makers_text;
}
