// Handing over, in words and names: what can be saved as what, the names of files, their sizes. Pure.

import { fileNameOf } from "./picture-file.js";
import { mapsInView } from "./state.js";

/** @typedef {import("./state.js").State} State */
/** @typedef {import("./handing-state.js").HandWhat} HandWhat */
/** @typedef {import("./handing-state.js").LeftOut} LeftOut */
/** @typedef {import("./handing-state.js").ShareHow} ShareHow */
/** One thing that can be saved. `as`: the formats, each with the call's own words.
 * @typedef {{value: string, text: string, detail: string, as: {value: string, text: string, detail: string, what: string, options: Record<string, unknown>, name: string}[]}} Exported */

/** @type {{value: LeftOut, text: string}[]} */
export const LEFT_OUT = [
  { value: "photo", text: "the photo" },
  { value: "file names", text: "file names" },
  { value: "notes", text: "notes" },
  { value: "coordinates", text: "coordinates" },
  { value: "object", text: "the object’s name" },
];

/** What is left out, as the word of a sentence: "nothing", "the photo and notes", "all five". @param {LeftOut[]} chosen */
export function leftOutText(chosen) {
  const texts = LEFT_OUT.filter(({ value }) => chosen.includes(value)).map(({ text }) => text);
  if (texts.length === 0) return "nothing";
  if (texts.length === LEFT_OUT.length) return "all of it";
  return texts.length === 1 ? String(texts[0]) : `${texts.slice(0, -1).join(", ")} and ${texts.at(-1)}`;
}

/** A size in words: "640 kB", "12.3 MB". @param {number} bytes */
export function sizeText(bytes) {
  const [unit, by] = bytes < 1e6 ? ["kB", 1e3] : bytes < 1e9 ? ["MB", 1e6] : ["GB", 1e9];
  const value = bytes / by;
  return `${value >= 100 || unit === "kB" ? Math.max(1, Math.round(value)) : Number(value.toPrecision(3))}\u202f${unit}`;
}

/** The name of a file: after the object, as far as that may be said. @param {State} state @param {HandWhat} what */
export function handFileName({ about, share_how }, what) {
  const object = what === "share" && share_how.leave_out.includes("object") ? "" : about?.object.trim() ?? "";
  const [word, ending] = { study: ["study", "limner.zip"], report: ["report", "html"], share: ["shared", "html"], export: ["export", "txt"], reproduce: ["findings", "txt"] }[what];
  return named(`${object} ${word}`, String(ending));
}

/** @param {string} title @param {string} ending */
function named(title, ending) {
  return fileNameOf(title).replace(/\.png$/, `.${ending}`);
}

/** What can be saved now, the most likely first. @param {State} state
 * @returns {Exported[]} */
export function exportsOf(state) {
  const format = (/** @type {string} */ value, /** @type {string} */ text, /** @type {string} */ what, /** @type {Record<string, unknown>} */ options, /** @type {string} */ name, detail = "") => ({ value, text, detail, what, options, name });
  const seen = mapsInView(state);
  /** @type {Exported[]} */
  const list = [];
  const maps = [...state.maps].sort((a, b) => Number(seen.includes(b.id)) - Number(seen.includes(a.id)));
  for (const map of maps) {
    list.push({ value: `map ${map.id}`, text: `the map ${map.label}`, detail: "its values", as: [
      format("tiff", "TIFF", "map", { map: map.id, format: "tiff" }, named(map.label, "tif"), "32-bit float, with its resolution"),
      format("npy", "NPY", "map", { map: map.id, format: "npy" }, named(map.label, "npy"), "32-bit float"),
    ] });
  }
  return list;
}

/** What is chosen now: what is to be saved and as what, the first of each where nothing (or what is gone) is chosen. @param {State} state
 * @returns {{exported: Exported, format: Exported["as"][number], all: Exported[]}|null} */
export function exportChosen(state) {
  const all = exportsOf(state);
  const exported = all.find(({ value }) => value === state.exported.what) ?? all[0];
  const format = exported?.as.find(({ value }) => value === state.exported.as) ?? exported?.as[0];
  return exported === undefined || format === undefined ? null : { exported, format, all };
}

/** The call that the sentence makes. @param {State} state
 * @returns {{what: any, options: any, name: string}|null} */
export function exportOf(state) {
  const chosen = exportChosen(state);
  return chosen === null ? null : { what: chosen.format.what, options: chosen.format.options, name: chosen.format.name };
}
