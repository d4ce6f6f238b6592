// Small valid instances of what the core gives.

export const map = (id, label, more = {}) => ({ id, file: `${label}.tif`, page: 0, title: label, element: label.split(" ")[0], line: label.split(" ")[1] ?? null,
  kind: "window", width: 150, height: 110, low: 0, high: 90, median: 3, blank: 0, saturated: 0, file_sha256: id, label, largest: "to 90", marks: [], ...more });
export const photo = (id) => ({ id, file: `${id}.png`, width: 316, height: 236, file_sha256: id });
export const grid = (more = {}) => ({ step_x_um: 500, step_y_um: 500, source: "file", width: 150, height: 110, text: "150 × 110 at 0.5 mm", ...more });
export const scan = (more = {}) => ({ anode: null, kv: null, current_ua: null, filter: null, dwell_ms: null, beam_um: null, incidence_deg: null, takeoff_deg: null,
  distance_mm: null, detectors: null, path: null, date: null, resolution_ev: null, own_lines: [], text: "", ...more });
export const light = (id, colour = "#e69f00") => ({ map: id, label: id, colour, low: 3, high: 90, gamma: 1 });

const two_maps = [{ text: "How do " }, { text: "a map", setting: "a", kind: "map" }, { text: " and " }, { text: "another", setting: "b", kind: "map" }, { text: " compare?" }];
export const questions = ({ ready = true } = {}) => [
  { key: "ratio", label: "Ratio", parts: two_maps, ready, reason: ready ? "" : "A ratio needs two maps." },
  { key: "apart", label: "Apart?", parts: [...two_maps.slice(0, 4), { text: "in " }, { text: "the whole field", setting: "region", kind: "region", choices: [] }], ready: true, reason: "" },
];

export const answer = (id = "r1", more = {}) => ({ id, program: "limner 0", inputs: [], question: "ratio", settings: { a: "m1", b: "m2" }, numbers: {}, table: null,
  pixels: 100, judged_pixels: 90, verdict: "one value", verdict_text: "one value", sentence: "One value.", cautions: [], method: [], figures: [],
  shows: [{ show: "count_ratio", label: "Count ratio" }], ...more });

export const opened = (more = {}) => ({ type: "stack", maps: [map("m1", "Ti K"), map("m2", "Fe K")], photos: [], grid: grid(), questions: questions(), ...more });

export const region = (id, more = {}) => ({ id, name: id, role: "passage", how: "rectangle", text: `text of ${id}`, makers: [], makers_text: "", pixels: 12, area_text: "3 mm²",
  bounds: { x: 1, y: 2, width: 3, height: 4 }, ...more });
