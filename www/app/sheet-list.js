// How the sheet is ordered: element maps, detectors of one line folded, auxiliary maps, other scans, maps made here. Pure.

import { scanOf, scanWord } from "./scan-words.js";

/** @typedef {import("./types.js").MapSummary} MapSummary */
/** A map on the sheet. Where it stands for the maps of all detectors of its line: `of` are all of them, itself first, and `is_open` says
 * whether the others follow it.
 * @typedef {{map: MapSummary, of: MapSummary[], is_open: boolean}} Place */
/** `scans`: what was read of other scans than the first, by number.
 * @typedef {{elements: Place[], auxiliary: Place[], scans: {field: number, places: Place[]}[], made: Place[]}} Sheet */

/** From here on the sheet has a field to find maps in. */
export const MANY_MAPS = 20;

/** @param {MapSummary} map */
export function isElementMap(map) {
  return (map.role ?? "element") === "element";
}

/** @param {MapSummary[]} maps @param {string} filter as typed @param {Set<string>} open ids of maps whose detectors are unfolded
 * @returns {Sheet} */
export function sheetOf(maps, filter, open) {
  const alone = (/** @type {MapSummary} */ map) => ({ map, of: [map], is_open: false });
  const found = maps.filter((map) => matches(map, filter));
  const all_read = found.filter(({ derived }) => !derived);
  const read = all_read.filter((map) => scanOf(map) === 0);
  const others = [...new Set(all_read.map(scanOf))].filter((field) => field > 0).sort((a, b) => a - b);
  return {
    elements: folded(read.filter(isElementMap), open),
    auxiliary: read.filter((map) => !isElementMap(map)).map(alone),
    scans: others.map((field) => {
      const of = all_read.filter((map) => scanOf(map) === field);
      return { field, places: [...folded(of.filter(isElementMap), open), ...of.filter((map) => !isElementMap(map)).map(alone)] };
    }),
    made: found.filter(({ derived }) => Boolean(derived)).map(alone),
  };
}

/** @param {MapSummary[]} maps @param {Set<string>} open
 * @returns {Place[]} */
function folded(maps, open) {
  /** @type {Set<string>} */
  const placed = new Set();
  return maps.flatMap((map) => {
    if (placed.has(map.id)) return [];
    const others = maps.filter(({ id }) => id !== map.id && (map.group ?? []).includes(id) && !placed.has(id));
    const of = [map, ...others];
    for (const { id } of of) placed.add(id);
    const is_open = of.length > 1 && open.has(map.id);
    const rest = is_open ? others.map((other) => ({ map: other, of: [other], is_open: false })) : [];
    return [{ map, of, is_open }, ...rest];
  });
}

/** Whether every word that was typed begins a word of what the sheet says of the map; "other" and "aux" find all that are of no element line.
 * @param {MapSummary} map @param {string} filter
 * @returns {boolean} */
export function matches(map, filter) {
  const typed = filter.toLowerCase().split(/\s+/).filter(Boolean);
  const said = [map.label, map.kind, map.kind_text ?? "", map.role ?? "", isElementMap(map) ? "" : "auxiliary other", map.derived ? "made here" : "", ...map.marks]
    .join(" ").toLowerCase().split(/[\s,()]+/);
  const file = map.file.toLowerCase();
  // Two letters are an element; only more of them are looked for inside a file's name.
  return typed.every((word) => said.some((one) => one.startsWith(word)) || (word.length > 2 && file.includes(word)));
}

/** The word for the kind that most element maps have in common, so that only the others need to say theirs; empty where none is common.
 * @param {MapSummary[]} maps
 * @returns {{text: string, is_of_all: boolean}} */
export function commonKind(maps) {
  const texts = maps.filter((map) => isElementMap(map) && !map.derived).map(({ kind_text }) => kind_text ?? "");
  const count = (/** @type {string} */ text) => texts.filter((one) => one === text).length;
  const text = [...new Set(texts)].find((one) => one !== "" && count(one) * 2 > texts.length) ?? "";
  return { text, is_of_all: text !== "" && count(text) === texts.length };
}

/** What stands below a map: its kind unless all have it, what it is if it is no element map, and what to know before using it.
 * @param {MapSummary} map @param {MapSummary[]} maps @param {string} common @param {number} [of_detectors] how many it stands for
 * @returns {{quiet: string[], caution: string[]}} */
export function marksOf(map, maps, common, of_detectors = 1) {
  const kind_text = map.kind_text ?? "";
  const shape_only = map.kind === "display copy";
  const is_named = map.label === map.role || map.label.endsWith(`(${map.role})`);
  const role = isElementMap(map) || is_named ? [] : [belongsText(map, maps)];
  const kind = kind_text === "" || kind_text === common || kind_text === map.role || kind_text === "auxiliary" ? [] : [kind_text];
  // Two maps of one line are told apart by their files.
  const twice = map.detector == null && !map.derived && maps.some((other) => other.id !== map.id && other.label === map.label && !other.derived && scanOf(other) === scanOf(map));
  // Under the heading of its scan nothing more is said of that.
  const said = new Set([...(map.derived ? [] : [scanWord(scanOf(map))]), kind_text, map.kind, ...kind_text.split(", "), map.role]);
  return {
    quiet: [...role, ...(shape_only || !isElementMap(map) ? [] : kind), ...(map.detector == null || of_detectors > 1 || map.label.includes(`detector ${map.detector}`) ? [] : [`detector\u00a0${map.detector}`]), ...(twice ? [map.file] : [])],
    caution: [...(shape_only ? kind : []), ...together(map.marks.filter((mark) => !said.has(mark) && !(mark === "no element" && !isElementMap(map))))],
  };
}

/** Marks of one kind say it once: "overlap Pb, Hg", and of very many the first. */
const OF_KIND = /^(overlap|escape|pile-up) (\p{Lu}\p{Ll}?)$/u;
const MOST_OF_KIND = 3;

/** @param {string[]} marks
 * @returns {string[]} */
export function together(marks) {
  const kinds = new Set(marks.map((mark) => OF_KIND.exec(mark)?.[1] ?? mark));
  return [...kinds].map((kind) => {
    const of = marks.flatMap((mark) => {
      const found = OF_KIND.exec(mark);
      return found?.[1] === kind ? [found[2] ?? ""] : [];
    });
    if (of.length === 0) return kind;
    return `${kind}\u00a0${of.slice(0, MOST_OF_KIND).join(", ")}${of.length > MOST_OF_KIND ? "\u00a0…" : ""}`;
  });
}

/** "fit error of Fe K", or the role alone. @param {MapSummary} map @param {MapSummary[]} maps */
export function belongsText(map, maps) {
  const owner = maps.find(({ id }) => id === map.belongs_to);
  return owner === undefined ? map.role ?? "" : `${map.role} of ${owner.label}`;
}

/** The sum of exactly these maps, if it was made. @param {MapSummary[]} of @param {MapSummary[]} maps */
export function sumOf(of, maps) {
  const ids = new Set(of.map(({ id }) => id));
  return maps.find(({ derived }) => derived != null && derived.how === "sum" && derived.of.length === ids.size && derived.of.every((id) => ids.has(id))) ?? null;
}
