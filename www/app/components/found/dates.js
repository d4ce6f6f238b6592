// What speaks against the years that are proposed: materials and elements with their years of use, innocent explanations first.

import { el } from "../../dom.js";
import { sortedDates, verdictBeside, verdictOf } from "../../materials.js";
import { fold, head, list, part } from "./parts.js";

/** @typedef {import("../../types.js").DatesFound} DatesFound */
/** @typedef {import("../../types.js").DateRow} DateRow */
/** @typedef {(text: string) => string} Whole */

/** @param {DatesFound} found @param {Whole} whole
 * @returns {HTMLElement[]} */
export function datesParts({ rows }, whole) {
  const { open, folds } = sortedDates(rows);
  return part("Years of use", [
    ...list("found-list", open.map((row) => dated(row, verdictOf(row), whole))),
    ...folds.flatMap(({ text, rows }) => fold(text, list("found-list", rows.map((row) => dated(row, verdictBeside(row), whole))))),
  ]);
}

/** @param {DateRow} row @param {string} verdict what is not said already by the line that folds it away @param {Whole} whole */
function dated(row, verdict, whole) {
  return el("li", { class: "found-dated" }, [
    head(row.name, verdict, whole),
    el("p", { class: "found-remark" }, [whole(row.years_text), ...(row.basis === "" ? [] : [" ", el("span", { class: "found-basis", text: `(${row.basis})` })])]),
    ...(row.explanations.length === 0 ? [] : [el("p", { class: "found-causes", text: "What could explain it:" })]),
    ...list("found-reasons", row.explanations.map((text) => el("li", { text: whole(text) })), "ol"),
    ...(row.source === "" ? [] : fold("Where the years stand", [el("p", { class: "found-remark", text: whole(row.source) })])),
  ]);
}
