// A region made of others, as a sentence and as the call that it becomes. Pure.

import { numberOf } from "./axis.js";

/** @typedef {import("./types.js").RegionSettings} RegionSettings */
/** @typedef {import("./types.js").RegionSummary} RegionSummary */
/** @typedef {import("./deriving.js").Part} Part */
/** @typedef {import("./deriving.js").Values} Values */
/** @typedef {"and"|"or"|"without"|"grown"|"shrunk"} How */

/** @type {{value: How, text: string, detail: string}[]} */
const OF_TWO = [
  { value: "and", text: "and", detail: "what lies in both" },
  { value: "or", text: "or", detail: "what lies in either" },
  { value: "without", text: "without", detail: "what lies in the first only" },
];
/** @type {{value: How, text: string, detail: string}[]} */
const OF_ONE = [
  { value: "grown", text: "grown by", detail: "so many pixels outward" },
  { value: "shrunk", text: "shrunk by", detail: "so many pixels inward" },
];

/** What stands in the sentence; what was chosen and is gone is chosen anew.
 * @param {RegionSummary[]} regions at least one @param {Values} values
 * @returns {{first: string, way: How, second: string, by: string}} */
export function chosenOf(regions, values) {
  const there = (/** @type {unknown} */ id) => regions.find((region) => region.id === id)?.id;
  const a = there(values.first) ?? regions[0]?.id ?? "";
  const others = regions.filter(({ id }) => id !== a);
  const ways = others.length > 0 ? [...OF_TWO, ...OF_ONE] : OF_ONE;
  const how = (ways.find(({ value }) => value === values.way) ?? /** @type {{value: How}} */ (ways[0])).value;
  const b = others.find(({ id }) => id === values.second)?.id ?? others[0]?.id ?? "";
  return { first: a, way: how, second: b, by: typeof values.by === "string" ? values.by : "1" };
}

/** @param {RegionSummary[]} regions @param {Values} values
 * @returns {Part[]} */
export function combineParts(regions, values) {
  const { first: a, way: how } = chosenOf(regions, values);
  const choice = (/** @type {RegionSummary} */ { id, name, area_text }) => ({ value: id, text: name, detail: area_text });
  const others = regions.filter(({ id }) => id !== a);
  const ways = others.length > 0 ? [...OF_TWO, ...OF_ONE] : OF_ONE;
  /** @type {Part[]} */
  const start = [{ setting: "first", kind: "choice", label: "The region to begin with", choices: regions.map(choice) }, " ", { setting: "way", kind: "choice", label: "How it is combined", choices: ways }, " "];
  const of_one = OF_ONE.some(({ value }) => value === how);
  return of_one ? [...start, { setting: "by", kind: "number", start: "1", label: "How many pixels" }, " pixels."]
    : [...start, { setting: "second", kind: "choice", label: "The other region", choices: others.map(choice) }, "."];
}

/** @param {RegionSummary[]} regions @param {Values} values
 * @returns {RegionSettings|{message: string}} what to make, or what is wrong */
export function combined(regions, values) {
  const { first: a, way: how, second: b, by } = chosenOf(regions, values);
  if (how !== "grown" && how !== "shrunk") return { combine: { how, of: [a, b] } };
  const by_px = numberOf(by);
  return by_px === null || by_px <= 0 || !Number.isInteger(by_px) ? { message: "Give a whole number of pixels, for example 2." } : { combine: { how, of: [a], by_px } };
}
