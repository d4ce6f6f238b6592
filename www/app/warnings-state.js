// Line warnings: what lines of other elements do in the map that a view shows. Pure; every sentence is the core's.

/** @typedef {import("./state.js").State} State */
/** @typedef {import("./types.js").LineWarning} LineWarning */

/** `warnings_open`: the list is unfolded below the picture. @typedef {{warnings: LineWarning[], warnings_open: boolean}} WarningsState */
/** @typedef {{type: "warnings", warnings: LineWarning[]} | {type: "warnings_open", open: boolean}} WarningsChange */

/** @type {WarningsState} */
export const WARNINGS_START = Object.freeze({ warnings: [], warnings_open: false });

/** @template {{type: string}} Any
 * @param {Any} change
 * @returns {change is Extract<Any, WarningsChange>} */
export function isOfWarnings(change) {
  return change.type === "warnings" || change.type === "warnings_open";
}

/** @param {State} state @param {WarningsChange} change
 * @returns {State} */
export function warningsChanged(state, change) {
  if (change.type === "warnings_open") return { ...state, warnings_open: change.open };
  // The picture of shares is drawn anew: it rests on what the warnings do.
  const same = JSON.stringify(state.warnings) === JSON.stringify(change.warnings);
  return same ? state : { ...state, warnings: change.warnings };
}

/** The warnings of the map that the active view shows alone. @param {Pick<State, "warnings"|"mode"|"map">} state
 * @returns {LineWarning[]} */
export function warningsSeen({ warnings, mode, map }) {
  return mode === "map" || mode === "overlap" ? warnings.filter((warning) => warning.map === map) : [];
}

/** Those that the map's marks on the sheet tell of, and the others, which can make little of what it shows.
 * @param {LineWarning[]} warnings @param {string[]} marks
 * @returns {{much: LineWarning[], little: LineWarning[]}} */
export function byWeight(warnings, marks) {
  const is_marked = (/** @type {LineWarning} */ { mark }) => marks.includes(mark);
  return { much: warnings.filter(is_marked), little: warnings.filter((one) => !is_marked(one)) };
}

/** "1 warning: " and what the first of them says; where all are of little weight, how many there are.
 * @param {{much: LineWarning[], little: LineWarning[]}} of
 * @returns {{count: string, text: string}} */
export function warningsHead({ much, little }) {
  if (much.length === 0) return { count: "", text: `Overlaps of little weight: ${little.length}` };
  return { count: much.length === 1 ? "1 warning: " : `${much.length} warnings: `, text: much[0]?.text ?? "" };
}

/** What a consequence and its check rest on; nothing where that is not known. @param {LineWarning} warning */
export function warningBasis({ basis = "", source = "" }) {
  return [basis, source].filter((text) => text !== "").join(": ");
}
