// Spectra of regions: their list, one that is being added, and the one that is seen. Pure.

import { numberOf } from "./scan-fields.js";

/** @typedef {import("./state.js").State} State */
/** @typedef {import("./types.js").SpectrumHow} SpectrumHow */
/** @typedef {import("./types.js").SpectrumPlot} SpectrumPlot */
/** @typedef {import("./types.js").SpectrumSummary} SpectrumSummary */

/** A file that was chosen for a region, null for the whole field. `asks`: its energies have to be typed. */
/** @typedef {{region: string|null, file: File, how: SpectrumHow, asks: boolean, busy: boolean, message: string}} Adding */
/** @typedef {{id: string, plot: SpectrumPlot|null, message: string}} SpectrumShown */
/** `elements`: as they were typed last, for whichever spectrum is seen.
 * @typedef {{spectra: SpectrumSummary[], spectrum_adding: Adding|null, spectrum_shown: SpectrumShown|null, spectrum_elements: string,
 *   spectrum_trouble: {region: string|null, message: string}|null}} SpectraState */
/** @typedef {{type: "spectra", spectra: SpectrumSummary[]} | {type: "spectrum_adding", adding: Adding|null} | {type: "spectrum_shown", shown: SpectrumShown|null}
 *   | {type: "spectrum_elements", text: string} | {type: "spectrum_failed", trouble: SpectraState["spectrum_trouble"]}} SpectraChange */

/** @type {SpectraState} */
export const SPECTRA_START = Object.freeze({ spectra: [], spectrum_adding: null, spectrum_shown: null, spectrum_elements: "", spectrum_trouble: null });

/** @type {SpectraChange["type"][]} */
const TYPES = ["spectra", "spectrum_adding", "spectrum_shown", "spectrum_elements", "spectrum_failed"];

/** @template {{type: string}} Any
 * @param {Any} change
 * @returns {change is Extract<Any, SpectraChange>} */
export function isOfSpectra(change) {
  return TYPES.some((one) => one === change.type);
}

/** @param {State} state @param {SpectraChange} change
 * @returns {State} */
export function spectraChanged(state, change) {
  switch (change.type) {
    case "spectra": {
      const there = change.spectra.some(({ id }) => id === state.spectrum_shown?.id);
      return { ...state, spectra: change.spectra, spectrum_shown: there ? state.spectrum_shown : null };
    }
    case "spectrum_adding":
      return { ...state, spectrum_adding: change.adding, spectrum_trouble: null };
    case "spectrum_shown":
      return { ...state, spectrum_shown: change.shown };
    case "spectrum_elements":
      return { ...state, spectrum_elements: change.text };
    case "spectrum_failed":
      return { ...state, spectrum_trouble: change.trouble };
  }
}

/** The spectra that stand with a region; those of no region that is there stand with the whole field.
 * @param {SpectrumSummary[]} spectra @param {string|null} region @param {{id: string}[]} regions
 * @returns {SpectrumSummary[]} */
export function spectraOf(spectra, region, regions) {
  return spectra.filter((one) => (regions.some(({ id }) => id === one.region) ? one.region : null) === region);
}

/** Symbols as they are typed, one after the other, however they are parted. @param {string} text
 * @returns {string[]} */
export function symbolsOf(text) {
  return text.split(/[^\p{L}\p{N}]+/u).filter(Boolean);
}

/** The energies as typed, in keV, or what is still to be typed. @param {string} first @param {string} step
 * @returns {{first_kev: number, step_kev: number}|{message: string}} */
export function energiesOf(first, step) {
  const [first_kev, step_kev] = [numberOf(first, "keV"), numberOf(step, "keV")];
  if (first_kev === null || step_kev === null || Number.isNaN(first_kev) || Number.isNaN(step_kev)) {
    return { message: "Give both energies as numbers in keV, for example 0 and 0.01." };
  }
  return { first_kev, step_kev };
}

/** More rows of labels than this would take the room of the spectrum. */
const MOST_ROWS = 4;

/** Where each label stands, so that none covers another: the strongest lines choose first, each the lowest row that is free there. What finds no
 * room has no label.
 * @param {{at: number, width: number, weight: number}[]} labels their middle and width in pixels @param {number} length of the axis @param {number} [air]
 * @returns {({row: number, left: number}|null)[]} row 0 is the lowest */
export function labelRows(labels, length, air = 6) {
  /** @type {{from: number, to: number}[][]} */
  const rows = Array.from({ length: MOST_ROWS }, () => []);
  /** @type {({row: number, left: number}|null)[]} */
  const placed = labels.map(() => null);
  const order = labels.map((_, index) => index).sort((a, b) => (labels[b]?.weight ?? 0) - (labels[a]?.weight ?? 0) || a - b);
  for (const index of order) {
    const { at, width } = /** @type {{at: number, width: number}} */ (labels[index]);
    const left = Math.max(0, Math.min(length - width, at - width / 2));
    const row = rows.findIndex((taken) => taken.every(({ from, to }) => left >= to + air || left + width + air <= from));
    if (row < 0) continue;
    rows[row]?.push({ from: left, to: left + width });
    placed[index] = { row, left };
  }
  return placed;
}
