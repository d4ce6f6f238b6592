// What an answer found of materials, sorted for the page: which states, which candidates stand in sight, what would settle them. Pure;
// every sentence is the core's.

/** @typedef {import("./types.js").ElementFound} ElementFound */
/** @typedef {import("./types.js").MaterialFound} MaterialFound */
/** @typedef {import("./types.js").MaterialsFound} MaterialsFound */
/** @typedef {import("./types.js").Settling} Settling */

/** In the order in which they are said. @type {{state: ElementFound["state"], label: string}[]} */
const STATES = [
  { state: "detected", label: "Detected" }, { state: "as below", label: "As support and ground" }, { state: "not detected", label: "Not detected" },
  { state: "cannot be judged", label: "Cannot be judged" }, { state: "not measured", label: "Not measured" },
];

/** Elements by their state, those of each state in the core's order. A state that is new here is said as it is called.
 * @param {ElementFound[]} elements
 * @returns {{state: string, label: string, elements: ElementFound[]}[]} */
export function elementsByState(elements) {
  const other = [...new Set(elements.map(({ state }) => /** @type {string} */ (state)))].filter((state) => !STATES.some((one) => one.state === state));
  return [...STATES, ...other.map((state) => ({ state, label: state }))]
    .map(({ state, label }) => ({ state, label, elements: elements.filter((one) => one.state === state) }))
    .filter((group) => group.elements.length > 0);
}

/** Those whose state needs more words than its name, first those that cannot be judged.
 * @param {ElementFound[]} elements */
export function elementsExplained(elements) {
  return elementsByState(elements).toSorted((a, b) => Number(b.state === "cannot be judged") - Number(a.state === "cannot be judged"))
    .flatMap((group) => group.elements.filter(({ text }) => text !== ""));
}

/** Candidates that stand in sight, and those that are folded away with what is said of them as a whole.
 * @param {MaterialFound[]} materials
 * @returns {{open: MaterialFound[], folds: {key: string, text: string, materials: MaterialFound[]}[]}} */
export function sortedMaterials(materials) {
  const seen = materials.filter(({ verdict }) => verdict.startsWith("would have been seen"));
  const silent = materials.filter(({ verdict }) => verdict.startsWith("no evidence"));
  const folds = [
    { key: "seen", text: `${seen.length} would have been seen`, materials: seen },
    { key: "silent", text: `${silent.length} with no evidence in these maps`, materials: silent },
  ];
  return { open: materials.filter((one) => !seen.includes(one) && !silent.includes(one)), folds: folds.filter((fold) => fold.materials.length > 0) };
}

/** What a fact rests on: "from memory", "published: ...". @param {{basis: string, source: string}} fact */
export function basisText({ basis, source }) {
  return [basis, source].filter((text) => text !== "").join(": ");
}

/** The verdict as it stands behind the name of what it is on, which it may begin with. @param {{name: string, verdict: string, verdict_text: string}} of */
export function verdictOf({ name, verdict, verdict_text }) {
  const said = verdict_text || verdict;
  return said.startsWith(`${name} `) ? said.slice(name.length + 1) : said;
}

/** The same behind a line that says the bare verdict of all: what it says beyond it. @param {{name: string, verdict: string, verdict_text: string}} of */
export function verdictBeside(of) {
  const said = verdictOf(of);
  return said === of.verdict ? "" : said;
}

/** A set in words; its names where the words leave them out. @param {string[]} names @param {string} text */
export function setText(names, text) {
  return names.every((name) => text.includes(name)) && text !== "" ? text : [names.join(" + "), text].filter((one) => one !== "").join(": ");
}

/** What stands behind a name in sight: what its verdict says beyond its bare word, and what does not go with what was stated.
 * @param {MaterialFound} material @param {string} verdict
 * @returns {string} */
export function besideName({ fits_colour, fits_years }, verdict) {
  const said = (/** @type {boolean|string|null|undefined} */ fits, /** @type {string} */ words) => (typeof fits === "string" ? fits : fits === false ? words : "");
  return [verdict, said(fits_colour, "of another colour than stated"), said(fits_years, "not of the years stated")].filter((text) => text !== "").join("; ");
}

/** What else is to be said of a material: others that are not told from it, unless that is said already, and its hazard unless that stands among
 * the cautions. @param {MaterialFound} material @param {string[]} hazards @param {string[]} said names that it is said not to be told from
 * @returns {string[]} */
export function remarksOf({ alike, verdict_text, hazard }, hazards, said = []) {
  const others = alike.filter((name) => !verdict_text.includes(name) && !said.includes(name));
  return [
    others.length > 0 ? `not distinguishable from ${others.join(", ")}` : "",
    hazards.some((one) => one.includes(hazard)) ? "" : hazard,
  ].filter((text) => text !== "");
}

/** Materials that are all not told from each other stand together, and with the same verdict; all of them where the first of them stood.
 * @param {MaterialFound[]} materials
 * @returns {MaterialFound[][]} */
export function groupsAlike(materials) {
  /** @type {Map<string, MaterialFound[]>} */
  const groups = new Map();
  for (const material of materials) {
    const key = JSON.stringify([material.verdict, [material.name, ...material.alike].toSorted()]);
    groups.set(key, [...(groups.get(key) ?? []), material]);
  }
  return [...groups.values()];
}

/** More cautions than this are not read: then the first and the last ones, which hold of all, stand in sight. */
const CAUTIONS = 6;

/** What to keep in mind, hazards of handling among it, each once; of many the middle is folded away.
 * @param {import("./types.js").Answer} answer
 * @returns {{seen: string[], more: string[]}} */
export function cautionsOf({ cautions, materials }) {
  const all = [...new Set(cautions)];
  const hazards = (materials?.hazards ?? []).filter((text) => !all.includes(text));
  if (all.length <= CAUTIONS) return { seen: [...all, ...hazards], more: [] };
  return { seen: [...all.slice(0, 3), ...all.slice(-2), ...hazards], more: all.slice(3, -2) };
}

/** What would settle the candidates in sight, by technique. What holds of several is said once.
 * @param {MaterialFound[]} open
 * @returns {{technique: string, rows: {names: string[], settling: Settling}[]}[]} */
export function settledBy(open) {
  /** @type {Map<string, {names: string[], settling: Settling}[]>} */
  const techniques = new Map();
  for (const { name, settle_by } of open) {
    for (const settling of settle_by) {
      const rows = techniques.get(settling.technique) ?? [];
      const same = rows.find((row) => row.settling.text === settling.text && basisText(row.settling) === basisText(settling));
      if (same) same.names.push(name);
      else rows.push({ names: [name], settling });
      techniques.set(settling.technique, rows);
    }
  }
  return [...techniques].map(([technique, rows]) => ({ technique, rows }));
}

/** Names in sight of a longer list. */
const NAMES = 3;

/** Places one after the other that would decide the same, with the number that each has on the picture.
 * @param {import("./types.js").PlaceToMeasure[]} places
 * @returns {{text: string, places: {index: number, place: import("./types.js").PlaceToMeasure}[]}[]} */
export function placesByAim(places) {
  /** @type {{key: string, text: string, places: {index: number, place: import("./types.js").PlaceToMeasure}[]}[]} */
  const groups = [];
  for (const [index, place] of places.entries()) {
    const key = JSON.stringify([place.technique, place.between]);
    const last = groups.at(-1);
    if (last?.key === key) last.places.push({ index, place });
    else groups.push({ key, text: decidesText(place), places: [{ index, place }] });
  }
  return groups.map(({ text, places }) => ({ text, places }));
}

/** What a place would decide: the technique, and between which. @param {import("./types.js").PlaceToMeasure} place */
export function decidesText({ technique, between }) {
  const more = between.length - NAMES;
  const names = more > 1 ? `${between.slice(0, NAMES).join(", ")} and ${more} more` : between.join(", ");
  return [technique, names].filter((text) => text !== "").join(": ");
}

/** A pair of lines with its figures under the headings of the answer's table; what its sentence says is left out.
 * @param {import("./types.js").CoveredPair} pair @param {import("./types.js").Table|null} table
 * @returns {{label: string, text: string}[]} */
export function figuresOfPair({ pair, text }, table) {
  const row = table?.rows.find(({ label }) => label === pair);
  return (row?.cells ?? []).map((cell, index) => ({ label: table?.columns[index] ?? "", text: cell.text })).filter((cell) => cell.text !== text && cell.text !== "");
}

/** Rows of dates in sight. */
const ROWS = 6;

/** Rows of dates: what does not fit stands in sight, and what cannot be judged, because its explanations matter; what fits is folded away.
 * @param {import("./types.js").DateRow[]} rows
 * @returns {{open: import("./types.js").DateRow[], folds: {text: string, rows: import("./types.js").DateRow[]}[]}} */
export function sortedDates(rows) {
  const fits = rows.filter(({ verdict }) => verdict.startsWith("fits"));
  const others = rows.filter((row) => !fits.includes(row));
  // All that does not fit, however much it is.
  const seen = Math.max(ROWS, others.findLastIndex(({ verdict }) => !verdict.startsWith("cannot be judged")) + 1);
  const more = others.slice(seen);
  const folds = [
    { text: more.length === 1 ? "1 more that cannot be judged" : `${more.length} more that cannot be judged`, rows: more },
    { text: fits.length === 1 ? "1 fits, which supports no date within the span" : `${fits.length} fit, which supports no date within the span`, rows: fits },
  ];
  return { open: others.slice(0, seen), folds: folds.filter((fold) => fold.rows.length > 0) };
}
