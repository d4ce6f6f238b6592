// The data of a scan: which fields there are, how they are typed, and what they say. Pure. What can be, the core knows.

import { stepOf, stepText } from "./typed.js";

/** @typedef {import("./types.js").Scan} Scan */
/** @typedef {import("./types.js").Grid} Grid */
/** @typedef {Exclude<keyof Scan, "text">} ScanKey */
/** @typedef {{key: ScanKey, label: string, unit: string, is_number: boolean, example: string, choices?: string[]}} Field */

/** @type {Field[]} */
export const FIELDS = [
  { key: "anode", label: "Anode", unit: "", is_number: false, example: "Rh" },
  { key: "kv", label: "Voltage", unit: "kV", is_number: true, example: "50" },
  { key: "current_ua", label: "Current", unit: "µA", is_number: true, example: "200" },
  { key: "filter", label: "Filter", unit: "", is_number: false, example: "0.1 mm Al" },
  { key: "dwell_ms", label: "Time per pixel", unit: "ms", is_number: true, example: "50" },
  { key: "beam_um", label: "Beam width", unit: "µm", is_number: true, example: "500" },
  { key: "incidence_deg", label: "Beam to surface", unit: "°", is_number: true, example: "90" },
  { key: "takeoff_deg", label: "Detector to surface", unit: "°", is_number: true, example: "45" },
  { key: "distance_mm", label: "Object to detector", unit: "mm", is_number: true, example: "10" },
  { key: "detectors", label: "Detectors", unit: "", is_number: true, example: "2" },
  { key: "path", label: "X-rays go through", unit: "", is_number: false, example: "", choices: ["air", "helium", "vacuum"] },
  { key: "resolution_ev", label: "Line width at Mn Kα", unit: "eV", is_number: true, example: "140" },
  { key: "own_lines", label: "Lines of the instrument", unit: "", is_number: false, example: "Rh L, Ar K" },
  { key: "date", label: "Date", unit: "", is_number: false, example: "2024-05-14" },
];

/** A number with point or comma, with or without its unit; null for an empty text, NaN for what is no number.
 * @param {string} text @param {string} [unit]
 * @returns {number|null} */
export function numberOf(text, unit = "") {
  const typed = text.trim().replaceAll("−", "-");
  const bare = unit !== "" && typed.toLowerCase().endsWith(unit.toLowerCase()) ? typed.slice(0, -unit.length).trim() : typed;
  if (bare === "") return null;
  return /^-?(\d+([.,]\d*)?|[.,]\d+)$/.test(bare) ? Number(bare.replace(",", ".")) : NaN;
}

/** The whole scan with one field as typed, or the sentence that asks for a number.
 * @param {Scan} scan @param {Field} field @param {string} text
 * @returns {{scan: Scan}|{message: string}} */
export function withField(scan, { key, label, unit, is_number, example }, text) {
  if (!is_number) return { scan: { ...scan, [key]: text.trim() === "" ? null : text.trim() } };
  const value = numberOf(text, unit);
  if (Number.isNaN(value)) return { message: `${label}: give a number${unit === "" ? "" : ` in ${unit}`}, for example ${example}.` };
  return { scan: { ...scan, [key]: value } };
}

/** As it stands in its field. @param {Scan|null} scan @param {ScanKey} key */
export function fieldText(scan, key) {
  const value = scan?.[key] ?? null;
  return value === null ? "" : Array.isArray(value) ? value.join(", ") : String(value);
}

/** The step as it stands in its field. @param {Grid|null} grid */
export function stepFieldText(grid) {
  return grid?.step_x_um != null && grid.step_y_um !== null ? stepText(grid.step_x_um, grid.step_y_um) : "";
}

/** What `set_grid` is to be told: an empty field forgets what was stated; null for what is no step. @param {string} text */
export function stepSettings(text) {
  return text.trim() === "" ? { step_x_um: null, step_y_um: null } : stepOf(text);
}

/** What is to be known before a field is filled in. @type {Partial<Record<ScanKey, string>>} */
export const NOTES = {
  kv: "Work with X-ray sources follows the local rules for radiation protection.",
  resolution_ev: "Full width at half maximum, as the detector’s sheet or a spectrum says it. What counts as one peak depends on it.",
  own_lines: "As a scan of nothing shows them, with commas: Rh L, Ar K, Fe K. They are no evidence of what the object holds.",
};
