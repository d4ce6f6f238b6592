// Handing over, in words and names: what can be saved as what, the names of files, their sizes. Pure.

import { isAsKept } from "./findings-state.js";
import { fileNameOf } from "./picture-file.js";
import { mapsInView } from "./state.js";

/** @typedef {import("./state.js").State} State */
/** @typedef {import("./handing-state.js").HandWhat} HandWhat */
/** @typedef {import("./handing-state.js").LeftOut} LeftOut */
/** @typedef {import("./handing-state.js").ShareHow} ShareHow */
/** @typedef {import("./types.js").ExportKind} ExportKind */
/** @typedef {{value: string, text: string, detail: string}} Choice */

/** @type {{value: LeftOut, text: string}[]} */
export const LEFT_OUT = [
  { value: "photo", text: "the photo" },
  { value: "file names", text: "file names" },
  { value: "notes", text: "notes" },
  { value: "coordinates", text: "coordinates" },
  { value: "object", text: "what is said of the object" },
];

/** What is left out, as the word of a sentence: "nothing", "the photo and notes", "all five". @param {LeftOut[]} chosen */
export function leftOutText(chosen) {
  const texts = LEFT_OUT.filter(({ value }) => chosen.includes(value)).map(({ text }) => text);
  if (texts.length === 0) return "nothing";
  if (texts.length === LEFT_OUT.length) return "all five";
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

/** What a kind of file is of: what can be chosen for it, the most likely first; null where it needs nothing, empty where what it needs is not there.
 * @param {State} state @param {ExportKind} kind
 * @returns {Choice[]|null} */
export function subjectsOf(state, { what, needs }) {
  const choice = (/** @type {string} */ value, /** @type {string} */ text, detail = "") => ({ value, text, detail });
  switch (needs) {
    case "map": {
      const seen = mapsInView(state);
      const first = state.maps.toSorted((a, b) => Number(seen.includes(b.id)) - Number(seen.includes(a.id)));
      return first.map(({ id, label, file }) => choice(id, label, state.maps.some((other) => other.id !== id && other.label === label) ? file : ""));
    }
    case "region":
      return state.regions.toSorted((a, b) => Number(b.id === state.unfolded) - Number(a.id === state.unfolded)).map(({ id, name, area_text }) => choice(id, name, area_text));
    case "spectrum":
      return state.spectra.map(({ id, name }) => choice(id, name));
    case "answer":
      if (state.answer === null) return [];
      // Pixels and lines are the core's, which does not hold what is only shown as it was kept.
      if (isAsKept(state) && ["raster", "profile"].includes(what)) return [];
      if (what === "table" && state.answer.table === null) return [];
      if (what === "profile" && !(state.answer.plots ?? []).some((plot) => plot.kind === "profile")) return [];
      return what === "raster" ? state.answer.shows.map(({ show, label }) => choice(show, label)) : [choice(state.answer.id, "this answer")];
    default:
      return null;
  }
}

/** What the sentence says now: the kind of file, of what, as what; the first of each where nothing (or what is gone) is chosen.
 * @param {State} state
 * @returns {{kinds: ExportKind[], kind: ExportKind, of: Choice|null, subjects: Choice[], format: ExportKind["formats"][number]|null, lies: string|null}|null} */
export function exportChosen(state) {
  const kinds = state.export_kinds.filter((kind) => kind.what !== "picture" && subjectsOf(state, kind)?.length !== 0);
  const { exported } = state;
  const kind = kinds.find(({ what }) => what === exported.what) ?? kinds[0];
  if (kind === undefined) return null;
  const subjects = subjectsOf(state, kind) ?? [];
  const of = subjects.find(({ value }) => value === exported.of) ?? subjects[0] ?? null;
  const format = kind.formats.find((one) => one.format === exported.as) ?? kind.formats[0] ?? null;
  const lies = kind.what !== "mask" ? null : state.maps.some(({ id }) => id === exported.lies) ? exported.lies : "";
  return { kinds, kind, of, subjects, format, lies };
}

/** Formats for other programs, which have to be told which way up the pixels are. */
const PLAIN = ["npy", "npz", "csv"];

/** The call that the sentence makes. @param {State} state
 * @returns {{what: any, options: any, name: string}|null} */
export function exportOf(state) {
  const chosen = exportChosen(state);
  if (chosen === null) return null;
  const { kind, of, format, lies } = chosen;
  /** @type {Record<string, unknown>} */
  const options = {};
  if (format !== null && kind.formats.length > 1) options.format = format.format;
  if (of !== null && kind.needs === "answer") options.answer = state.answer?.id;
  else if (of !== null) options[kind.needs] = of.value;
  if (of !== null && kind.what === "raster") options.raster = of.value;
  if (lies !== null && (lies !== "" || PLAIN.includes(format?.format ?? ""))) options.as_file_of = lies;
  return { what: kind.what, options, name: named([of?.text ?? "", kind.label].join(" "), format?.ending ?? "txt") };
}
