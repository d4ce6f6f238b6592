// Answers on materials, cover and dates as the core gives them, with invented numbers: long texts, empty parts, markup in names.

import { answer } from "./shapes.mjs";

const memory = (text, source = "") => ({ text, basis: "from memory", source });
const published = (text, source) => ({ text, basis: "published", source });
const computed = (text) => ({ text, basis: "computed", source: "" });
const reasoned = (text) => ({ text, basis: "reasoned, no source", source: "" });
const settle = (technique, text, basis = "from memory", source = "") => ({ technique, text, basis, source });
const quantity = (value, low, high, unit) => ({ value, low, high, low_all: low, high_all: high, unit, reason: value === null ? "nothing to compare with" : "" });
const element = (label, state, text = "") => ({ element: label.split(" ")[0], label, state, text });
const material = (id, name, verdict, more = {}) => ({ id, name, verdict, verdict_text: verdict, reasons: [], alike: [], settle_by: [], fits_colour: true, fits_years: true, hazard: "", ...more });
const lead = "Lead pigments are poisonous: no dry work, gloves, and the house’s own safety rules first.";

export const materials = answer("m1", {
  question: "materials", settings: { region: "r1", colour: "blue", from: 1640, to: 1670 }, verdict: "consistent with", verdict_text: "consistent with smalt", regions: [{ id: "r1", name: "Rose, dark points" }],
  sentence: "In Rose, dark points the maps are consistent with smalt, beside lead white of the ground; four other blues would have been seen above their limits, and indigo gives nothing that XRF could see.",
  figures: [{ label: "detected", value: "Co, Ni, As, K, Bi, Fe", detail: "beyond background, support and ground" }, { label: "not detected", value: "Cu, Hg, Sn, Sb, Ti, Ba, Zn, Mn, Cr, Au", detail: "below the limits in the list of elements" }], shows: [], cautions: ["XRF sees elements, not compounds: what is named here is what would give these elements.", "As K under Pb L cannot be judged in the border; in the rose Pb L is too weak to matter."],
  method: [{ text: "A material is consistent where every element that it must show is detected beyond support and ground.", source: "", basis: "defined here" }],
  table: { columns: ["verdict", "reasons"], rows: [{ label: "smalt", cells: [{ value: null, text: "consistent with" }, { value: null, text: "Co K, Ni K, As K and K K are detected" }] }] },
  materials: {
    elements: [element("Co K", "detected", "Co K: 41 counts a pixel above its background, 6.2 times its critical level."), element("Ni K", "detected"), element("As K", "detected", "As K: 12 counts a pixel beyond what Pb L could give."), element("K K", "detected"), element("Bi L", "detected"), element("Fe K", "detected"),
      element("Ca K", "as below"), element("Pb L", "as below", "Pb L: no more than the ground holds beside the rose."), element("Cu K", "not detected", "Cu K: below 2.1 counts."), element("Hg L", "not detected"), element("Sn L", "not detected"), element("Sb L", "not detected"), element("Ti K", "not detected"), element("Ba L", "not detected"), element("Zn K", "not detected"), element("Mn K", "not detected"), element("Cr K", "not detected"), element("Au L", "not detected"),
      element("Cl K", "cannot be judged", "Cl K cannot be judged: air takes 80 % of it on 10 mm, and Pb M lies over what is left."), element("S K", "cannot be judged", "S K cannot be judged: Pb M lies 40 eV beside it, one peak at this resolution."),
      element("Al", "not measured"), element("Si", "not measured"), element("Na", "not measured")],
    materials: [
      material("smalt", "smalt", "consistent with", { fits_years: true, alike: ["cobalt blue glass"], reasons: [published("Co K, Ni K, As K and K K are detected; cobalt ores of the time carry nickel, arsenic and bismuth.", "B. Mühlethaler and J. Thissen, Smalt, Artists’ Pigments 2 (1993)"), computed("Co K and As K rise and fall together: Spearman 0.71, noise-corrected 0.84."), memory("Potassium is of the glass; it need not show where the glass has weathered."), reasoned("Iron here may be of the ore or of the earth beneath.")],
        settle_by: [settle("microscopy", "splinters of glass, isotropic, of low refraction"), settle("reflectance (FORS)", "three bands of Co²⁺ between 530 and 650 nm", "published", "M. Bacci and M. Picollo, Studies in Conservation 41 (1996)")], hazard: "Smalt holds arsenic: no dry sanding; the house’s own safety rules first." }),
      material("cobalt_blue", "cobalt blue", "not distinguishable from ...", { verdict_text: "not distinguishable from smalt by what could be seen here, because aluminium was not measured", fits_years: false, alike: ["smalt"], reasons: [memory("Co K is detected; aluminium was not measured."), memory("It is made from 1802 on.", "Gettens and Stout, Painting Materials (1942)")],
        settle_by: [settle("reflectance (FORS)", "three bands of Co²⁺ between 530 and 650 nm", "published", "M. Bacci and M. Picollo, Studies in Conservation 41 (1996)"), settle("Raman", "a band near 203 cm⁻¹ with one near 512 cm⁻¹")] }),
      material("earth", "red or yellow earth", "consistent with", { fits_colour: false, reasons: [memory("Fe K is detected beyond what the ground holds.")], settle_by: [settle("Raman", "bands of goethite near 299 and 385 cm⁻¹, of hematite near 225 and 292 cm⁻¹")] }),
      ...["azurite", "blue verditer", "Egyptian blue"].map((name) => material(name, name, "would have been seen above x at the surface", { verdict_text: "would have been seen above 2.1 counts of Cu K at the surface", reasons: [computed("Cu K is not detected: below 2.1 counts a pixel, 0.9 % of its strongest passage in this scan.")] })),
      ...["indigo", "ultramarine", "Prussian blue in traces"].map((name) => material(name, name, "no evidence in these maps", { reasons: [memory("Nothing of it shows in XRF in air.")] })),
    ],
    sets: [{ materials: ["smalt"], names: ["smalt"], text: "explains Co, Ni, As, K and Bi; iron as its companion." }, { materials: ["smalt", "earth"], names: ["smalt", "red or yellow earth"], text: "explains all six." }, { materials: ["cobalt_blue", "earth"], names: ["cobalt blue", "red or yellow earth"], text: "leaves K to the ground." }],
    sets_text: "On top of paper and lead white, the fewest materials that give everything seen:",
    unexplained: [{ element: "Bi", text: "Bi L is explained only as a companion of the cobalt ore." }],
    measure_next: [{ at: [182.5, 96.5], place_text: "91.2 mm from the left, 48.2 mm from the top", technique: "reflectance (FORS)", between: ["smalt", "cobalt blue"], reason: "Strongest Co K without Fe K, 3 mm inside the edge." }, { at: [210.5, 121], place_text: "105.2 mm from the left, 60.5 mm from the top", technique: "Raman", between: ["cobalt blue", "red or yellow earth"], reason: "Fe K beside Co K." }, { at: [240, 120], place_text: "120.0 mm from the left, 60.0 mm from the top", technique: "electron microscopy (SEM-EDX)", between: [], reason: "" }],
    readings: [computed("Manganese does not follow iron here (Spearman 0.04): it is no accessory of an earth.")],
    hazards: ["Smalt holds arsenic: no dry sanding; the house’s own safety rules first.", lead],
  },
});

/** Everything that can be empty is. */
export const nothing = answer("m2", {
  question: "materials", settings: { region: "r1" }, verdict: "no evidence in these maps", verdict_text: "no evidence in these maps", sentence: "Nothing of these maps speaks for a material here.", shows: [],
  materials: { elements: [], materials: [], sets: [], sets_text: "", unexplained: [], measure_next: [], readings: [], hazards: [] },
});

export const HOSTILE = "<img src=x onerror=alert(1)><b>&amp;";
const long = (words) => Array.from({ length: words }, (_, at) => ["lead", "beside", "unmistakable", "copper", "chloride-bearing"][at % 5]).join(" ");
/** Markup where the user or a file can have put it, and texts without a place to break. */
export const hostile = answer("m3", {
  question: "materials", settings: { region: "r1" }, verdict: "identified (technique, point)", verdict_text: `identified (Raman, ${HOSTILE})`, sentence: `In ${HOSTILE}: ${long(40)}.`, shows: [], cautions: [HOSTILE],
  materials: {
    elements: [element(`${HOSTILE} K`, "detected", HOSTILE), { element: "Xx", label: "", state: "of a new kind", text: "" }],
    materials: [material("x", `${HOSTILE}${"m".repeat(90)}`, "identified (technique, point)", { verdict_text: `identified (Raman, ${HOSTILE})`, alike: [HOSTILE], reasons: Array.from({ length: 5 }, () => memory(long(60), HOSTILE)), hazard: HOSTILE, settle_by: [settle(HOSTILE, HOSTILE)] }),
      ...Array.from({ length: 11 }, (_, at) => material(`c${at}`, `candidate ${at + 1}`, "consistent with"))],
    sets: [{ materials: ["x"], names: [HOSTILE], text: HOSTILE }], sets_text: HOSTILE, unexplained: [{ element: "Xx", text: "" }],
    measure_next: [{ at: [1, 1], place_text: HOSTILE, technique: HOSTILE, between: [HOSTILE], reason: HOSTILE }], readings: [memory(HOSTILE)], hazards: [HOSTILE],
  },
});

const row = (name, verdict, more = {}) => ({ id: name, name, is_element: false, from: null, to: null, years_text: "in use since antiquity", verdict, verdict_text: `${name} ${verdict}`, explanations: [], basis: "from memory", source: "", ...more });
const FITS = "fits, which supports no date within the span";
export const dates = answer("d1", {
  question: "dates", settings: { from: 1640, to: 1670 }, verdict: "does not fit", verdict_text: "does not fit: titanium white", shows: [], cautions: ["A date or attribution is never decided by pigments alone."],
  sentence: "Titanium without iron in one place does not fit 1640 to 1670 as paint of that time; a later repair would explain it.",
  table: { columns: ["from", "to", "verdict"], rows: [{ label: "titanium white", cells: [{ value: 1916, text: "1916" }, { value: null, text: "" }, { value: null, text: "does not fit" }] }] },
  dates: { rows: [
    row("titanium white", "does not fit", { from: 1916, years_text: "in use since 1916", explanations: ["A later repair: Ti K and Ba L stand in one oval with a sharp edge, over original paint.", "Titanium of an earth: in the hills it accompanies iron, here it does not.", "Ba L counted as Ti K: 44 eV apart, and Ba L is detected in the same oval.", "The paint is later than proposed."], basis: "published", source: "M. Laver, Titanium Dioxide Whites, Artists’ Pigments 3 (1997)" }),
    row("barium", "cannot be judged", { is_element: true, verdict_text: "barium cannot be judged: as filler, ground or pigment its years differ" }),
    ...["smalt", "lead-tin yellow", "vermilion", "lead white"].map((name) => row(name, FITS, { years_text: name === "smalt" ? "about 1540 to 1750" : "in use since antiquity" })),
  ] },
});

export const covered = answer("v1", {
  question: "covered", settings: { region: "r1", against: "r2", layer: "varnish" }, verdict: "consistent with covered", verdict_text: "consistent with covered", shows: [],
  sentence: "In Star, left half Hg M is weakened against Hg L as if 11 µm of a natural resin varnish lay over it; 6 to 17 µm by the counts and the tables.",
  figures: [{ label: "Equivalent thickness of varnish", value: "11 µm", detail: "6 to 17 µm, tables and angles included" }], cautions: ["A thinner layer of paint, relief or another mixture gives the same: it is a thickness only if nothing else differs."],
  table: { columns: ["in the region", "bare", "change", "what follows"], rows: [{ label: "Hg L / Hg M", cells: [{ value: 9.2, text: "9.2 (8.9 – 9.5)" }, { value: 6.1, text: "6.1 (5.9 – 6.3)" }, { value: 1.51, text: "1.51 (1.33 – 1.7)" }, { value: null, text: "Hg M is weakened beyond what thickness does." }] }, { label: "Pb L / Pb M", cells: [{ value: null, text: "no value" }, { value: 4, text: "4" }, { value: null, text: "no value" }, { value: null, text: "Says nothing: Pb L is not detected here (below 3.1)." }] }] },
  covered: {
    pairs: [{ pair: "Hg L / Hg M", hard: "Hg L", soft: "Hg M", here: quantity(9.2, 8.9, 9.5, ""), bare: quantity(6.1, 5.9, 6.3, ""), ratio: quantity(1.51, 1.33, 1.7, ""), text: "Hg M is weakened beyond what thickness does.", usable: true },
      { pair: "Pb L / Pb M", hard: "Pb L", soft: "Pb M", here: quantity(null, null, null, ""), bare: quantity(4, 3.8, 4.2, ""), ratio: quantity(null, null, null, ""), text: "Says nothing: Pb L is not detected here (below 3.1).", usable: false }],
    layer: { id: "varnish", name: "natural resin varnish", text: "C₃₀H₄₆O₃, 1.07 g/cm³ (common practice, no source)." }, thickness_um: quantity(11, 6, 17, "µm"),
    others: [{ id: "dirt", name: "dirt", thickness_um: quantity(5, 3, 8, "µm"), text: "dirt: 5 µm (3 to 8)" }, { id: "glue", name: "animal glue", thickness_um: quantity(9, 5, 14, "µm"), text: "animal glue: 9 µm (5 to 14)" }, ...["drying oil", "wax", "lead white", "a gypsum ground"].map((name, at) => ({ id: `o${at}`, name, thickness_um: quantity(null, null, null, "µm"), text: `${name}: it does not weaken the softer line more` }))],
    depth: [{ line: "Hg M", half_um: 0.4, text: "half of Hg M comes from the upper 0.4 µm of vermilion in oil." }, { line: "Hg L", half_um: 6, text: "half of Hg L comes from the upper 6 µm." }],
  },
});

export const points = [{ id: "p1", name: "Raman 3", at: [190, 110], technique: "Raman", result: "band near 203 cm⁻¹", pigment: null, says: "open" }, { id: "p2", name: HOSTILE, at: [60, 40], technique: "point XRF", result: "", pigment: null, says: "open" }];
