// The kinds of maps and what maps other than those of an element line are, with what each means. The words are the core's.

/** The words before and after are left out where there is no room; `text` where the core's word needs another on the page.
 * @type {Record<string, {before: string, after: string, meaning: string, text?: string}>} */
export const KINDS = {
  window: { before: "a ", after: " map", meaning: "counts in an energy window" },
  net: { before: "a ", after: " map", meaning: "counts, background taken off" },
  fitted: { before: "a ", after: " map", meaning: "peak areas of a fit" },
  rate: { before: "a ", after: " map", meaning: "counts per second" },
  normalised: { before: "a ", after: " map", meaning: "divided by a reference" },
  quantified: { before: "a ", after: " map", meaning: "wt %, ppm, µg/cm²" },
  "display copy": { before: "a ", after: "", meaning: "a picture of the map: shape only" },
  auxiliary: { before: "", after: "", meaning: "sums, scatter, times, errors of a fit", text: "no element line" },
};

/** A kind as it stands on the page. @param {string} kind */
export function kindWord(kind) {
  return KINDS[kind]?.text ?? kind;
}

/** @type {Record<string, string>} */
export const ROLES = {
  element: "the map of an element line",
  sum: "all counts, or those of many lines",
  "coherent scatter": "scattered without loss of energy",
  "incoherent scatter": "scattered with loss of energy",
  "live time": "how long each pixel was counted",
  "fit error": "how uncertain a fit is",
  "fit quality": "how well a fit agrees",
  current: "current of the tube or ring",
};
