// Answers to the questions as the core gives them, with invented numbers: one of each kind of plot, long labels, gaps, open ends.

import { answer } from "./shapes.mjs";
import { covered, dates, materials } from "./found.mjs";

const axis = (label, ...ticks) => ({ label, low: 0, high: 1, scale: "linear", ticks: ticks.map(([at, text]) => ({ at, text })) });
const table = (columns, ...rows) => ({ columns, rows: rows.map(([label, ...cells]) => ({ label, cells: cells.map((cell) => (typeof cell === "number" ? { value: cell, text: String(cell).replace("-", "−") } : { value: null, text: cell })) })) });
const method = [{ text: "Critical levels are exact for counts, with the background's own uncertainty.", source: "L. A. Currie, Anal. Chem. 40 (1968) 586", basis: "published" }, { text: "A floor of 5 % on every background.", source: "", basis: "defined here" }];
const stability = (holds, text, ...trials) => ({ holds, text, trials: trials.map(([change, verdict]) => ({ change, verdict })) });

export const faint = answer("f1", {
  question: "faint", settings: { map: "m1", region: "r1", floor: 0.05, seed: 1 }, verdict: "detected", verdict_text: "detected", regions: [{ id: "r1", name: "Southern hills" }],
  sentence: "Mn K is more than background in Southern hills: 11 % of its pixels lie above the critical level, where background alone would give 5 %.",
  figures: [{ label: "Background", value: "2.4 counts", detail: "from Bare sea, 4 210 pixels" }, { label: "Critical level", value: "6 counts", detail: "" }, { label: "Detection limit", value: "10.1 counts", detail: "for a pixel; 0.6 over the region" }],
  cautions: ["The background lies under paint of another matrix: with a floor of 10 % the verdict would be the same."],
  shows: [{ show: "classes", label: "Detected" }], method,
  stability: stability(true, "Holds when thresholds, the region's edge, the counts and the floor are changed.", ["thresholds 20 % higher", "detected"], ["thresholds 20 % lower", "detected"], ["region 1 px smaller", "detected"], ["half the counts", "detected"], ["twice the floor", "detected"]),
  plots: [{ kind: "bars", key: "bins", label: "Share above the critical level", note: "Thick: found. Thin: what background alone would give. The map is readable from bins of 4 × 4 pixels on.",
    rows: [["1 × 1", 0.11, "11.0 %", 0.05, "5.0 %"], ["2 × 2", 0.26, "25.8 %", 0.048, "4.8 %"], ["4 × 4", 0.61, "61 %", 0.05, "5.0 %"], ["8 × 8", 0.97, "97 %", 0.046, "4.6 %"], ["16 × 16", 1, "100 %", 0.05, "5.0 %"]]
      .map(([label, share, text, beside, beside_text]) => ({ label, share, text, beside, beside_text })) }],
});

/** Counts of two clouds and a background, by an integer formula. */
function clouds(size = 64) {
  const data = new Float64Array(size * size);
  for (let row = 0; row < size; row += 1) for (let column = 0; column < size; column += 1) {
    const [x, y] = [column, size - 1 - row];
    const bump = (cx, cy, width, height) => Math.floor(height / (1 + ((x - cx) ** 2 + (y - cy) ** 2) / width));
    data[row * size + column] = Math.max(0, bump(3, 3, 4, 4000) - 30) + Math.max(0, bump(34, 16, 60, 160) - 14) + Math.max(0, bump(4, 44, 18, 190) - 20);
  }
  return { width: size, height: size, data };
}

const joint = { kind: "joint", key: "joint", label: "Ti K against Fe K", raster: "joint", note: "Darker: more pixels. Upper left: Ti K at background of Fe K. Right: Ti K rises with Fe K.",
  x: axis("Fe K, counts", [0, "0"], [0.25, "10"], [0.5, "40"], [0.75, "90"], [1, "160"]), y: axis("Ti K, counts", [0, "0"], [0.33, "10"], [0.66, "40"], [1, "90"]),
  lines: [{ label: "critical level", points: [[0.14, 0], [0.14, 1]] }, { label: "critical level", points: [[0, 0.16], [1, 0.16]] }, { label: "k 0.26", points: [[0, 0.05], [1, 0.42]] }, { label: "", points: [[0, 0.05], [1, 0.34]] }, { label: "band", points: [[0, 0.05], [1, 0.5]] }],
  marks: [{ label: "1", at: [0.07, 0.72] }, { label: "2", at: [0.55, 0.3] }] };
export const rasters = { joint: clouds(), classes: { width: 2, height: 1, data: new Uint8Array([1, 2]) } };

export const together = answer("t1", {
  question: "together", settings: { a: "m1", b: "m2", floor: 0.05, seed: 1 }, verdict: "rise and fall together", verdict_text: "rise and fall together",
  sentence: "Ti K and Fe K rise and fall together in the hills; elsewhere Ti K is found without Fe K.",
  figures: [{ label: "Pearson", value: "0.71", detail: "noise-corrected 0.84" }, { label: "Spearman", value: "0.64", detail: "" }, { label: "Independent pixels", value: "212", detail: "of 16 500, after Clifford and others" }],
  cautions: ["Both maps share a line of scan drift; part of the agreement may come from it."], shows: [], method,
  stability: stability(false, "Tips: with half the counts it cannot be judged.", ["thresholds 20 % higher", "rise and fall together"], ["half the counts", "cannot be judged"]),
  plots: [joint],
});

const LABELS = ["Ca K", "Cu K", "Fe K", "Hg L", "Mn K", "Pb L", "Ti K", "Zn K"];
export const matrix = answer("x1", {
  question: "together", settings: { maps: LABELS.map((_, at) => `m${at + 1}`) }, verdict: "rise and fall together", verdict_text: "rise and fall together",
  sentence: "Of 28 pairs 5 rise and fall together after correction for their number; most alike are Fe K and Mn K.", figures: [], shows: [], method,
  plots: [{ kind: "matrix", key: "matrix", label: "Every pair", note: "Teal: together. Ochre: one where the other is not. Bold: beyond chance, corrected for 28 pairs. Maps that are alike stand beside each other.", maps: LABELS.map((label, at) => ({ id: `m${at + 1}`, label })),
    cells: LABELS.flatMap((a, i) => LABELS.slice(i + 1).map((b, j) => {
      const value = ((i * 7 + (i + j + 1) * 13) % 19) / 10 - 0.9;
      const none = (i + j) % 11 === 7;
      return { a: i, b: i + j + 1, shade: none ? null : value, text: none ? "–" : value.toFixed(2).replace("-", "−"), verdict: none ? "cannot be judged" : value > 0.5 ? "rise and fall together" : "no common pattern",
        detail: none ? `${a} and ${b}: cannot be judged, fewer than 6 independent pixels` : `${a} and ${b}: ${value.toFixed(2).replace("-", "−")}, ${value > 0.5 ? "rise and fall together" : "no common pattern"}` };
    })) }],
});

export const apart = answer("a1", {
  question: "apart", settings: { a: "m1", b: "m2", floor: 0.05, k_band: 0.2, rim_px: 1 }, verdict: "more A than accompanies B", verdict_text: "more Ti K than accompanies Fe K",
  sentence: "Titanium is detected without iron over 268 mm², one oval in the lower right. In the hills it only accompanies iron.",
  figures: [{ label: "Area, rims left out", value: "241 mm²", detail: "268 with rims" }, { label: "Ti K for each Fe K count", value: "0.26", detail: "0.21 to 0.32" }, { label: "Excess beyond that band", value: "1 010 px", detail: "q ≤ 0.01" }, { label: "Cannot be judged here", value: "6 %", detail: "under Pb L, rims" }],
  cautions: ["Ba L lies on Ti K (44 eV apart). Ba is detected in the same oval: check Ti Kβ or the spectrum before naming titanium there."], shows: [{ show: "classes", label: "Classes" }, { show: "excess", label: "Excess in σ" }], method,
  stability: stability(true, "Holds when thresholds, the region's edge and the counts are changed.", ["thresholds 20 % higher", "more A than accompanies B"]),
  table: table(["pixels", "area, mm²", "share"], ["Ti K only", 1072, 268, "6.5 %"], ["Fe K only", 980, 245, "5.9 %"], ["both", 2210, 552.5, "13.4 %"], ["neither", 11250, 2812.5, "68.2 %"], ["cannot be judged", 988, 247, "6.0 %"]),
  plots: [joint],
});

export const ratio = answer("q1", {
  question: "ratio", settings: { a: "m1", b: "m2", floor: 0.05, k_band: 0.2 }, verdict: "several values", verdict_text: "several values",
  sentence: "Ti K to Fe K takes several values: about 0.26 in the hills and at least 9 in the oval.",
  figures: [{ label: "Ratio of sums", value: "0.41", detail: "0.40 to 0.42 counting; 0.33 to 0.49 with 20 % for thickness and cover" }], shows: [{ show: "count_ratio", label: "Count ratio" }], method,
  stability: stability(true, "Holds.", ["half the counts", "several values"]),
  plots: [{ kind: "dots", key: "parts", label: "Ratio in parts of the region", note: "Thick: counting alone. Thin: with thickness, dilution and cover.", x: axis("Ti K for each count of Fe K", [0, "0"], [0.25, "0.25"], [0.5, "0.5"], [0.75, "0.75"], [1, "1"]),
    rows: [["Northern hills", 0.27, 0.25, 0.29, 0.2, 0.34, "0.27"], ["Southern hills and the long shore", 0.25, 0.23, 0.27, 0.18, 0.32, "0.25"], ["Oval", null, 0.9, 1, 0.8, 1, "at least 9"], ["Border", 0.6, 0.42, 0.8, 0.3, 0.96, "0.60"]]
      .map(([label, at, low, high, low_all, high_all, text]) => ({ label, at, low, high, low_all, high_all, text })) }],
});

const wave = (from, step, bend) => Array.from({ length: 60 }, (_, at) => (at > 24 && at < 28 ? null : [at / 59, Math.min(0.95, Math.max(0.04, from + step * at + bend * (((at * at * 7) % 13) / 13 - 0.5)))]));
const series = (map, label, points) => ({ map, label, points, low: points.map((point) => point && point[1] - 0.04), high: points.map((point) => point && point[1] + 0.04) });
export const regions = answer("g1", {
  question: "regions", settings: { regions: ["r1", "r2"], maps: ["m1", "m2", "m3"], line: { from: [10, 10], to: [90, 60], width_px: 3 } }, verdict: "differ", verdict_text: "differ", regions: [{ id: "r1", name: "Southern hills" }, { id: "r2", name: "Bare sea" }],
  sentence: "Southern hills and Bare sea differ in Fe K and Ti K and not in Pb L.", figures: [], shows: [], method,
  stability: stability(true, "Holds.", ["half the counts", "differ"]),
  table: table(["map", "pixels", "judged", "sum", "mean", "95 % interval", "spread", "state"],
    ["Southern hills", "Fe K", 1440, 1320, 51830, 36.0, "35.1 to 36.9", 9.1, "detected"], ["Southern hills", "Ti K", 1440, 1320, 13270, 9.2, "8.8 to 9.6", 4.0, "detected"], ["Bare sea", "Fe K", 4210, 4100, 7998, 1.9, "1.8 to 2.0", 1.4, "not detected (below 3)"], ["Bare sea", "Ti K", 4210, 4100, -12, -0.3, "−0.5 to −0.1", 1.2, "cannot be judged"]),
  plots: [
    { kind: "dots", key: "differences", label: "Southern hills less Bare sea", note: "Thick: counting alone. Thin: with the systematic part.", x: axis("Difference of means, counts", [0, "−10"], [0.25, "0"], [0.5, "10"], [0.75, "20"], [1, "30"]),
      rows: [["Fe K", 0.9, 0.88, 0.92, 0.8, 0.99, "34.1"], ["Ti K", 0.48, 0.46, 0.5, 0.42, 0.55, "9.5"], ["Pb L", 0.26, 0.22, 0.3, 0.2, 0.33, "0.4"]].map(([label, at, low, high, low_all, high_all, text]) => ({ label, at, low, high, low_all, high_all, text })) },
    { kind: "profile", key: "profile", label: "Along the line", note: "Bands: counting alone, 3 pixels wide.", x: axis("mm from the start", [0, "0"], [0.5, "20"], [1, "40"]), y: axis("counts", [0, "0"], [0.5, "50"], [1, "100"]),
      series: [series("m1", "Ti K", wave(0.2, 0.005, 0.1)), series("m2", "Fe K", wave(0.7, -0.004, 0.16)), series("m3", "Pb L", wave(0.46, 0, 0.05))] },
  ],
});

const say = (text) => ({ text });
const map = (setting) => ({ text: "", setting, kind: "map" });
const region = { text: "the whole field", setting: "region", kind: "region", label: "Region" };
const background = [say("Background from "), { text: "the quiet part of each map", setting: "background", kind: "region", label: "Background from" }, say(", uncertain by "), { text: "", setting: "floor", kind: "number", unit: "%", low: 0, high: 100, step: 1, start: 5, per: 0.01, label: "Uncertainty of the background" }];
const band = [say("; k within "), { text: "its usual band", setting: "k_band", kind: "number", unit: "%", low: 0, high: 200, step: 5, start: 20, per: 0.01, label: "Band of k" }];
const rims = [say("; rims of "), { text: "the beam's width", setting: "rim_px", kind: "number", unit: "px", low: 0, high: 64, step: 1, start: null, per: 1, label: "Rims" }, say(" left out.")];
const year = (setting, text, label, needed = false) => ({ text, setting, kind: "number", unit: "", low: -3000, high: 2100, step: 1, start: null, per: 1, label, needed });
export const questions = [
  { key: "faint", label: "Faint?", parts: [say("Is "), map("map"), say(" more than background, in "), region, say("?")], more: [...background, say(".")], ready: true, reason: "" },
  { key: "together", label: "Together?", parts: [say("Do "), map("a"), say(" and "), map("b"), say(" rise and fall together, in "), region, say("?")], more: [...background, ...rims], back: "One pair", ready: true, reason: "",
    forms: [{ key: "all", label: "All pairs at once", parts: [say("Which of "), { text: "all element maps", setting: "maps", kind: "maps", label: "Maps" }, say(" rise and fall together, in "), region, say("?")], more: [...background, say(".")] }] },
  { key: "apart", label: "Apart?", parts: [say("Where is "), map("a"), say(" without "), map("b"), say(", in "), region, say("?")],
    more: [...background, say(".")], rest: [say("A is tested on "), { text: "no second map of the same element", setting: "held_out", kind: "second map", of: "a", label: "Tested on" }, ...band, ...rims], ready: true, reason: "" },
  { key: "ratio", label: "Ratio", parts: [say("How do "), map("a"), say(" and "), map("b"), say(" compare, in "), region, say("?")], more: [...background, ...band, ...rims], ready: true, reason: "" },
  { key: "regions", label: "Regions", parts: [say("How do "), { text: "all regions", setting: "regions", kind: "regions", label: "Regions" }, say(" differ, in "), { text: "all element maps", setting: "maps", kind: "maps", label: "Maps" }, say(", "), { text: "with no line across", setting: "line", kind: "line", label: "Line across" }, say("?")], more: [...background, say(".")], back: "How regions differ", ready: true, reason: "",
    forms: [{ key: "zones", label: "Part the field into zones", settings: { zones: 0 }, parts: [say("Which zones do "), { text: "all element maps", setting: "maps", kind: "maps", label: "Maps" }, say(" part "), region, say(" into, as "),
      { text: "groups of like pixels", setting: "zones_by", kind: "choice", label: "How zones are made", choices: [{ value: "means", text: "groups of like pixels" }, { value: "parts", text: "parts of the counts" }] }, say("?")],
    more: [say("Their number is "), { text: "chosen by half the counts", setting: "zones", kind: "number", unit: "", low: 2, high: 10, step: 1, start: null, per: 1, label: "Number of zones" }, say(".")] }] },
  { key: "materials", label: "Materials", parts: [say("What could "), region, say(" be painted with, if it looks "), { text: "any colour", setting: "colour", kind: "choice", label: "Colour", choices: ["white", "grey", "blue"].map((text) => ({ value: text, text })) }, say("?")],
    more: [say("Proposed for "), year("from", "any year", "From"), say(" to "), year("to", "any year", "To"), say(".")], ready: true, reason: "" },
  { key: "covered", label: "Covered?", parts: [say("Is anything weakened in "), region, say(" against "), { text: "a bare region", setting: "against", kind: "region", label: "Bare region", needed: true }, say(", as if under "), { text: "any layer", setting: "layer", kind: "choice", label: "Layer", choices: [{ value: "varnish", text: "natural resin varnish", detail: "1.07 g/cm³" }, { value: "dirt", text: "dirt" }] }, say("?")], more: background, ready: true, reason: "" },
  { key: "dates", label: "Dates", parts: [say("Does anything speak against "), year("from", "", "From", true), say(" to "), year("to", "", "To", true), say(", in "), region, say("?")], more: [], ready: true, reason: "" },
];
export const all = { faint, together, matrix, apart, ratio, regions, materials, covered, dates };
