// Whether something lies over a passage: the pairs of lines that can tell, other layers that would do the same, how deep each line is seen.

import { el } from "../../dom.js";
import { figuresOfPair } from "../../materials.js";
import { fold, head, list, part } from "./parts.js";

/** @typedef {import("../../types.js").CoveredFound} CoveredFound */
/** @typedef {import("../../types.js").Table} Table */
/** @typedef {(text: string) => string} Whole */

/** Other layers in sight; the core names first what is thought of first. */
const OTHERS = 4;

/** @param {CoveredFound} found @param {Table|null} table @param {Whole} whole
 * @returns {HTMLElement[]} */
export function coveredParts({ pairs, layer, others, depth }, table, whole) {
  const pair = (/** @type {CoveredFound["pairs"][number]} */ one) => el("li", { class: "found-dated" }, [
    head(one.pair, "", whole),
    ...(one.text === "" ? [] : [el("p", { class: "found-remark", text: whole(one.text) })]),
    ...(one.usable ? figures(one, table, whole) : []),
  ]);
  const silent = pairs.filter(({ usable }) => !usable);
  const lines = (/** @type {string[]} */ texts) => list("found-lines", texts.map((text) => el("li", { text: whole(text) })));
  const would = others.map(({ name, text }) => text || name);
  return [
    ...part("Pairs of lines", [
      ...list("found-list", pairs.filter(({ usable }) => usable).map(pair)),
      ...fold(silent.length === 1 ? "1 pair that says nothing here" : `${silent.length} pairs that say nothing here`, list("found-list", silent.map(pair))),
    ]),
    ...(layer ? part("The layer assumed", [el("p", { text: whole([layer.name, layer.text].filter((text) => text !== "").join(": ")) })]) : []),
    ...part("What else would weaken it so", [...lines(would.slice(0, OTHERS)), ...fold(`${would.length - OTHERS} more`, lines(would.slice(OTHERS)))]),
    ...part("How deep half the signal comes from", lines(depth.map(({ line, text }) => text || line))),
  ];
}

/** @param {CoveredFound["pairs"][number]} pair @param {Table|null} table @param {Whole} whole */
function figures(pair, table, whole) {
  const rows = figuresOfPair(pair, table).map(({ label, text }) => el("div", {}, [el("dt", { text: whole(label) }), el("dd", { text: whole(text) })]));
  return rows.length === 0 ? [] : [el("dl", { class: "found-states" }, rows)];
}
