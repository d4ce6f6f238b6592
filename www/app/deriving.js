// What can be made of maps, as sentences with settings, and the calls that they become. Pure. Whether it can be made, the core knows.

import { numberOf } from "./scan-fields.js";
import { isElementMap } from "./sheet-list.js";

/** @typedef {import("./types.js").MapSummary} MapSummary */
/** A setting of the sentence: one map, several of them, a number, some places, or one of a few words. `optional` ones may stay open; `detail`
 * tells what a choice means.
 * @typedef {{setting: string, kind: "map"|"maps", open: string, optional?: boolean}} MapPart
 * @typedef {{setting: string, kind: "number"|"places"|"name", start: string, label: string, open?: string}} TypedPart
 * @typedef {{setting: string, kind: "choice", label: string, choices: {value: string, text: string, detail?: string}[]}} ChoicePart
 * @typedef {string|MapPart|TypedPart|ChoicePart} Part */
/** What is typed and chosen: ids of maps, texts of numbers, values of choices.
 * @typedef {Record<string, string[]|string|undefined>} Values */
/** @typedef {{key: string, label: string, meaning: string, of_many: boolean, parts: Part[]}} Making `of_many`: several maps become one */
/** @typedef {{calls: Record<string, unknown>[]}|{message: string}|{open: string}} Built what to derive, or what is wrong, or what is still to be chosen */

/** @type {MapPart} */
const THESE = { setting: "of", kind: "maps", open: "which maps" };
/** @type {Part[]} */
const ALONG = [{ setting: "direction", kind: "choice", label: "Which way the lines of the scan run", choices: [{ value: "across", text: "across" }, { value: "down", text: "down" }] }];
const number = (/** @type {string} */ setting, /** @type {string} */ start, /** @type {string} */ label, open = "") => /** @type {TypedPart} */ ({ setting, kind: "number", start, label, open });

/** @type {Making[]} */
export const MAKINGS = [
  { key: "sum", label: "the sum", meaning: "of detectors, or of lines of one element", of_many: true, parts: [" of ", THESE, "."] },
  { key: "subtract", label: "the difference", meaning: "one map less k times another", of_many: false,
    parts: [": ", { setting: "a", kind: "map", open: "a map" }, " less ", number("k", "1", "Factor k"), " times ", { setting: "b", kind: "map", open: "another map" }, "."] },
  { key: "divide", label: "the quotient", meaning: "one map divided by another", of_many: false,
    parts: [": ", THESE, " divided by ", { setting: "b", kind: "map", open: "another map" }, ", which is ",
      { setting: "by", kind: "choice", label: "What it is divided by", choices: [{ value: "map", text: "a map like it" }, { value: "live_time", text: "the live time" }, { value: "current", text: "the current" }, { value: "scatter", text: "scattered radiation" }] }, "."] },
  { key: "dwell", label: "counts per second", meaning: "counts divided by the time of a pixel", of_many: false, parts: [" of ", THESE, ", each pixel counted for ", number("seconds", "", "Seconds for each pixel", "how many"), " seconds."] },
  { key: "dead_time", label: "the true rate", meaning: "for a detector that rests after each count", of_many: false,
    parts: [" of ", THESE, ", the detector resting ", number("tau_us", "", "Rest after each count in µs", "how many"), " µs after each count, each pixel counted for ", number("dwell_s", "", "Seconds for each pixel", "how many"),
      " seconds, with all its counts in ", { setting: "b", kind: "map", open: "the same map", optional: true }, "."] },
  { key: "bin", label: "larger pixels", meaning: "less noise, less detail", of_many: false, parts: [" of ", THESE, ", ", number("by", "2", "Pixels on each side"), " times as wide and high, as ",
    { setting: "take", kind: "choice", label: "What becomes of each block", choices: [{ value: "", text: "suits the kind", detail: "sums of counts, means of the rest" }, { value: "sum", text: "sums" }, { value: "mean", text: "means" }] }, "."] },
  { key: "smooth", label: "a smoothed picture", meaning: "for looking only", of_many: false, parts: [" of ", THESE, ", ",
    { setting: "filter", kind: "choice", label: "How it is smoothed", choices: [{ value: "gaussian", text: "spread over", detail: "a bell-shaped mean" }, { value: "median", text: "by medians over", detail: "of 3 × 3 pixels" }] },
    " ", number("sigma_px", "1", "Pixels"), " px, for looking only."] },
  { key: "line_shift", label: "moved lines", meaning: "where every second line lies beside its place", of_many: false, parts: [" of ", THESE, ": every second one from the ",
    { setting: "lines", kind: "choice", label: "Which lines move", choices: [{ value: "odd", text: "2nd" }, { value: "even", text: "1st" }] },
    ", running ", ...ALONG, ", moved by this many pixels: ", number("shift_px", "", "Pixels, to the right or downward", "what is found"), "."] },
  { key: "line_drift", label: "levelled lines", meaning: "where lines differ in brightness", of_many: false, parts: [" of ", THESE, ", running ", ...ALONG, ", brought to the level of the ", number("window", "9", "How many lines around"), " lines around."] },
  { key: "turn_round", label: "even line ends", meaning: "where the scanner stood longer as it turned", of_many: false, parts: [" of ", THESE, ", the lines running ", ...ALONG, ": the longer dwell at their ends divided out."] },
  { key: "hot_pixels", label: "a copy without hot pixels", meaning: "single pixels that you name", of_many: false, parts: [" of ", THESE, ": the pixels at ",
    { setting: "pixels", kind: "places", start: "", label: "Places as x y, separated by commas: 12 40, 13 40", open: "x y, x y" }, " ",
    { setting: "as", kind: "choice", label: "What stands there then", choices: [{ value: "blank", text: "made blank" }, { value: "median", text: "replaced by their neighbours" }] }, "."] },
];

/** @param {string} key
 * @returns {Making} */
export function makingOf(key) {
  return MAKINGS.find((making) => making.key === key) ?? /** @type {Making} */ (MAKINGS[0]);
}

/** What stands for a setting as long as nothing is typed or chosen. @param {Exclude<Part, string>} part */
function start(part) {
  if (part.kind === "choice") return part.choices[0]?.value ?? "";
  return "start" in part ? part.start : undefined;
}

/** The settings of a sentence, with those that hold where nothing was chosen. What a map is divided by follows from what it is.
 * @param {Making} making @param {Values} values @param {MapSummary[]} maps
 * @returns {Values} */
export function valuesOf(making, values, maps) {
  /** @type {Values} */
  const all = Object.fromEntries(making.parts.flatMap((part) => (typeof part === "string" ? [] : [[part.setting, values[part.setting] ?? start(part)]])));
  if (making.key === "divide" && values.by === undefined) {
    const role = maps.find(({ id }) => id === all.b)?.role ?? "";
    all.by = role === "live time" ? "live_time" : role === "current" ? "current" : role.endsWith("scatter") ? "scatter" : "map";
  }
  // Only maps that are still there.
  const there = (/** @type {unknown} */ id) => maps.some((map) => map.id === id);
  for (const part of making.parts) {
    if (typeof part === "string") continue;
    const value = all[part.setting];
    if (part.kind === "map" && !there(value)) all[part.setting] = undefined;
    if (part.kind === "maps") all[part.setting] = (Array.isArray(value) ? value : []).filter(there);
  }
  return all;
}

/** Places as they are typed: "12 40, 13 40" or "12,40; 13,40"; null for what is none.
 * @param {string} text
 * @returns {[number, number][]|null} */
export function placesOf(text) {
  const numbers = text.replace(/[xy()=:]/gi, " ").split(/[\s,;]+/).filter(Boolean);
  if (numbers.length === 0 || numbers.length % 2 !== 0 || !numbers.every((one) => /^\d+$/.test(one))) return null;
  return Array.from({ length: numbers.length / 2 }, (_, index) => [Number(numbers[2 * index]), Number(numbers[2 * index + 1])]);
}

/** The calls that the sentence becomes: one for each of its maps, or one for all of them.
 * @param {Making} making @param {Values} chosen as `valuesOf` gives them @param {string} [name] the user's own
 * @returns {Built} */
export function built(making, chosen, name = "") {
  /** @type {Record<string, unknown>} */
  const fields = { how: making.key };
  for (const part of making.parts) {
    if (typeof part === "string") continue;
    const value = chosen[part.setting];
    switch (part.kind) {
      case "map":
        if (value === undefined && !part.optional) return { open: part.open };
        break;
      case "maps":
        if (!Array.isArray(value) || value.length === 0) return { open: part.open };
        break;
      case "choice":
        if (value !== "" && value !== undefined) fields[part.setting] = value;
        break;
      case "places": {
        if (typeof value !== "string" || value.trim() === "") return { open: "pixels" };
        const places = placesOf(value);
        if (places === null) return { message: "Name each pixel by its x and y, whole numbers, for example 12 40, 13 40." };
        fields[part.setting] = places;
        break;
      }
      case "number": {
        const typed = numberOf(typeof value === "string" ? value : "");
        if (Number.isNaN(typed)) return { message: `${part.label}: give a number.` };
        if (typed !== null) fields[part.setting] = typed;
        else if (making.key !== "line_shift") return { open: part.label.toLowerCase() };
        break;
      }
    }
  }
  if (making.key === "smooth" && fields.filter === "median") delete fields.sigma_px;
  const of = Array.isArray(chosen.of) ? chosen.of : [];
  const b = typeof chosen.b === "string" ? [chosen.b] : [];
  if (making.of_many && of.length < 2) return { open: "at least two maps" };
  const each = making.of_many ? [of] : making.key === "subtract" ? [[String(chosen.a), ...b]] : of.map((id) => [id, ...b]);
  const named = name.trim() === "" || each.length > 1 ? {} : { name: name.trim() };
  return { calls: each.map((maps) => ({ ...fields, of: maps, ...named })) };
}

/** Several maps in words: "Fe K", "Fe K and Ti K", "all 16 maps", "Fe K and 3 more".
 * @param {string[]} ids @param {MapSummary[]} maps
 * @returns {string} */
export function manyText(ids, maps) {
  const labels = ids.flatMap((id) => maps.filter((map) => map.id === id).map(({ label }) => label));
  const all = maps.filter((map) => isElementMap(map) && !map.derived);
  if (ids.length > 2 && ids.length === all.length && all.every(({ id }) => ids.includes(id))) return `all ${ids.length} element maps`;
  if (labels.length <= 2) return labels.join(" and ");
  return `${labels[0]} and ${labels.length - 1} more`;
}
