// What a question's sentence says: its settings, what can be chosen for each, and what the core is asked with. Pure.

import { manyText } from "./deriving.js";

/** @typedef {import("./state.js").State} State */
/** @typedef {import("./types.js").Question} Question */
/** @typedef {import("./types.js").QuestionPart} QuestionPart */
/** @typedef {import("./types.js").SettingPart} SettingPart */
/** @typedef {import("./types.js").MapSummary} MapSummary */
/** A straight line over the picture, in pixels of the grid.
 * @typedef {{from: [number, number], to: [number, number], width_px: number}} Line */
/** @typedef {string|number|string[]|Line|null} Value */
/** @typedef {Record<string, Value>} Chosen */
/** @typedef {{id: string, name: string, area_text?: string}} Region */
/** @typedef {{value: string, text: string, detail: string}} Choice */

/** What these say holds in every question: chosen for one, it stands in the next. All else belongs to its question alone.
 * @type {Record<string, string>} */
const SHARED = { map: "a", a: "a", b: "b", region: "region", background: "background", floor: "floor", rim_px: "rim_px", from: "from", to: "to" };
/** Settings that are years. */
export const YEARS = ["from", "to"];
/** The value of a choice that leaves a setting to the core. No id and no name begins so. */
export const OPEN = "";
/** What was chosen is no longer there. */
export const GONE = Symbol("gone");

/** Under which name a choice is kept. @param {string|null} question @param {string} setting @param {string} [map] the one that it is said of */
export function keptAs(question, setting, map) {
  const name = SHARED[setting] ?? `${question} ${setting}`;
  return map === undefined ? name : `${name} of ${map}`;
}

/** @param {State} state @returns {Region[]} */
export function regionsOf(state) {
  return state.regions ?? [];
}

/** @param {State} state
 * @returns {Question|null} */
export function questionOf(state) {
  return state.questions.find(({ key }) => key === state.question) ?? null;
}

/** The sentence that is asked now: the question's own, or another form of it.
 * @param {State} state
 * @returns {{key: string, parts: QuestionPart[], more: QuestionPart[], rest: QuestionPart[], settings: Record<string, number>}|null} */
export function formOf(state) {
  const question = questionOf(state);
  if (question === null) return null;
  const { parts, more = [], rest = [], key, settings = {} } = question.forms?.find((form) => form.key === state.forms[question.key]) ?? { ...question, key: "", settings: {} };
  return { key, parts, more, rest, settings };
}

/** What is chosen for a part; undefined where nothing is. A map or region that is gone is not replaced in silence: that would be another
 * question.
 * @param {State} state @param {SettingPart} part
 * @returns {Value|undefined|typeof GONE} */
export function valueOf(state, part) {
  const of = mapOf(state, part);
  if (part.of && of === undefined) return undefined;
  const value = state.settings[keptAs(state.question, part.setting, of)];
  const is_map = (/** @type {unknown} */ id) => state.maps.some((map) => map.id === id);
  const is_region = (/** @type {unknown} */ id) => regionsOf(state).some((region) => region.id === id);
  if (value === undefined || value === null || value === OPEN) return undefined;
  switch (part.kind) {
    case "map":
    case "second map":
      return is_map(value) ? value : undefined;
    case "region":
      return is_region(value) ? value : GONE;
    case "maps":
    case "regions": {
      const list = Array.isArray(value) ? value.filter(part.kind === "maps" ? is_map : is_region) : [];
      return list.length > 0 ? list : undefined;
    }
    default:
      return value;
  }
}

/** The map that a setting is said of, if it is said of one and that is chosen. @param {State} state @param {SettingPart} part */
export function mapOf(state, part) {
  const value = part.of ? state.settings[keptAs(state.question, part.of)] : undefined;
  return state.maps.find(({ id }) => id === value)?.id;
}

/** Whether something was chosen for any of these. @param {State} state @param {QuestionPart[]} parts */
export function isAnyChosen(state, parts) {
  return parts.some((part) => part.setting !== undefined && valueOf(state, part) !== undefined);
}

/** What can be chosen for a part from a list; empty where there is nothing to choose.
 * @param {State} state @param {SettingPart} part
 * @returns {Choice[]} */
export function choicesOf(state, part) {
  const open = { value: OPEN, text: part.text, detail: "" };
  if (part.choices) {
    // What stands there before anything is chosen is a choice too: the way back to it.
    const back = part.needed === true || part.text === "" || part.choices.some(({ value, text }) => value === OPEN || text === part.text) ? [] : [open];
    return [...back, ...part.choices.map(({ value, text, detail = "" }) => ({ value, text, detail }))];
  }
  switch (part.kind) {
    case "map":
    case "maps":
      return state.maps.map((map) => ofMap(map, state.maps));
    case "second map": {
      const first = state.maps.find(({ id }) => id === mapOf(state, part));
      const others = state.maps.filter((map) => first !== undefined && first.element !== null && map.id !== first.id && map.element === first.element);
      return others.length === 0 ? [] : [open, ...others.map((map) => ofMap(map, state.maps))];
    }
    case "region":
      // Where a region is needed, nothing stands for having none.
      if (part.needed) return regionsOf(state).map(ofRegion);
      // After the last region was taken away, the way back to the whole field.
      return regionsOf(state).length === 0 && valueOf(state, part) !== GONE ? [] : [open, ...regionsOf(state).map(ofRegion)];
    case "regions":
      return regionsOf(state).map(ofRegion);
    default:
      return [];
  }
}

/** Two maps of one line are told apart by their files, which otherwise would only be noise. @param {MapSummary} map @param {MapSummary[]} maps */
function ofMap(map, maps) {
  return { value: map.id, text: map.label, detail: maps.filter(({ label }) => label === map.label).length > 1 ? map.file : map.largest };
}

/** @param {Region} region */
function ofRegion({ id, name, area_text = "" }) {
  return { value: id, text: name, detail: area_text };
}

/** The word that stands for a part, and whether it is still to be chosen.
 * @param {State} state @param {SettingPart} part @param {boolean} first whether it is the first map of the sentence
 * @returns {{text: string, open: boolean}} */
export function wordOf(state, part, first) {
  const value = valueOf(state, part);
  if (value === GONE) return { text: "a region (the one chosen is gone)", open: true };
  switch (part.kind) {
    case "maps":
      return Array.isArray(value) ? { text: manyText(value, state.maps), open: false } : { text: part.text, open: part.needed === true };
    case "regions":
      return Array.isArray(value) ? { text: regionsText(value, regionsOf(state)), open: false } : { text: part.text, open: part.needed === true };
    case "line":
      return { text: value === undefined ? part.text : "the line drawn", open: false };
    default: {
      const text = choicesOf(state, part).find((choice) => choice.value === value && value !== undefined)?.text;
      if (text !== undefined) return { text, open: false };
      if (part.kind !== "map") return { text: part.text, open: part.needed === true };
      return { text: part.text || (first ? "a map" : "another map"), open: true };
    }
  }
}

/** Several regions in words: "Sea", "Sea and Rose", "all 4 regions", "Sea and 3 more".
 * @param {string[]} ids @param {Region[]} regions */
export function regionsText(ids, regions) {
  const names = regions.filter(({ id }) => ids.includes(id)).map(({ name }) => name);
  if (names.length > 2 && names.length === regions.length) return `all ${names.length} regions`;
  return names.length <= 2 ? names.join(" and ") : `${names[0]} and ${names.length - 1} more`;
}

/** A number as it stands in its field: in its unit.
 * @param {State} state @param {SettingPart} part */
export function numberText(state, part) {
  const value = valueOf(state, part);
  const { per = 1 } = part;
  if (typeof value === "number") return String(Number((value / per).toPrecision(9))).replace("-", "−");
  return part.start == null ? "" : String(part.start);
}

/** What is typed into a number's field, as the setting wants it; null leaves it to the core; or what is wrong.
 * @param {SettingPart} part @param {string} text
 * @returns {number|null|{message: string}} */
export function typedNumber({ setting, per = 1, low = -Infinity, high = Infinity, start = null, unit = "" }, text) {
  const bare = text.replace(/[\s\u00a0\u202f]/g, "").replace(unit, "").replace("−", "-").replace(",", ".");
  if (bare === "") return null;
  const typed = Number(bare);
  const within = high < Infinity ? `between ${low} and ${high}` : low > -Infinity ? `from ${low} on` : "";
  // "1,640" is no year, and must not become one.
  if (YEARS.includes(setting) && !/^-?\d+$/.test(bare)) return { message: "Give a year as a whole number without marks, such as 1640." };
  if (!Number.isFinite(typed) || typed < low || typed > high) return { message: `Give a number${within === "" ? "" : ` ${within}`}.` };
  return typed === start ? null : Number((typed * per).toPrecision(12));
}

/** What to ask the core, once all of the sentence that is needed is chosen; null before. What is not chosen is left to the core's defaults.
 * @param {State} state
 * @returns {{question: string, settings: Record<string, unknown>}|null} */
export function readyToAsk(state) {
  const question = questionOf(state);
  const form = formOf(state);
  if (question === null || form === null || !question.ready) return null;
  /** @type {Record<string, unknown>} */
  const settings = { ...form.settings };
  for (const part of [...form.parts, ...form.more, ...form.rest]) {
    if (part.setting === undefined) continue;
    const value = valueOf(state, part);
    if (value === GONE) return null;
    if (value === undefined) {
      if (part.kind === "map" || part.needed) return null;
    } else if (part.of) {
      const held = /** @type {Record<string, unknown>} */ (settings[part.setting] ?? {});
      settings[part.setting] = { ...held, [String(settings[part.of])]: value };
    } else settings[part.setting] = value;
  }
  return { question: question.key, settings };
}

/** The choices that stay when maps are gone: those of other things, and of maps that are there.
 * @param {Question[]} questions @param {Chosen} settings @param {(id: string) => boolean} there
 * @returns {Chosen} */
export function keptChoices(questions, settings, there) {
  const of_maps = new Set(questions.flatMap((question) => [question, ...(question.forms ?? [])].flatMap(({ parts, more = [], rest = [] }) =>
    [...parts, ...more, ...rest].flatMap((part) => (part.setting !== undefined && part.kind === "map" && !part.of ? [keptAs(question.key, part.setting)] : [])))));
  return Object.fromEntries(Object.entries(settings).filter(([name, value]) => !of_maps.has(name) || (typeof value === "string" && there(value))));
}
