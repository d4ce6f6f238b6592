// Whether something lies over a passage: the pairs of lines that can tell, other layers that would do the same, how deep each line is seen.

import { el } from "../../dom.js";
import { fold, list, part } from "./parts.js";

/** @typedef {import("../../types.js").CoveredFound} CoveredFound */
/** @typedef {(text: string) => string} Whole */

/** @param {CoveredFound} found @param {Whole} whole @param {boolean} has_table whether the pairs stand in a table already
 * @returns {HTMLElement[]} */
export function coveredParts({ pairs, layer, others, depth }, whole, has_table) {
  const lines = (/** @type {CoveredFound["pairs"]} */ some) => list("found-lines", some.map(({ pair, text }) => el("li", { text: whole(text || pair) })));
  const silent = pairs.filter(({ usable }) => !usable);
  const folded = fold(silent.length === 1 ? "1 pair that says nothing here" : `${silent.length} pairs that say nothing here`, lines(silent));
  return [
    ...(has_table ? folded : part("Pairs of lines", [...lines(pairs.filter(({ usable }) => usable)), ...folded])),
    ...(layer === null ? [] : part("The layer assumed", [named(layer, whole)])),
    ...part("What else would weaken it so", list("found-list", others.map((other) => el("li", {}, [named(other, whole)])))),
    ...part("How deep half the signal comes from", list("found-lines", depth.map(({ line, text }) => el("li", { text: whole(text || line) })))),
  ];
}

/** @param {{name: string, text: string}} layer @param {Whole} whole */
function named({ name, text }, whole) {
  return el("p", {}, [el("strong", { class: "found-name", text: name }), " ", whole(text)]);
}
