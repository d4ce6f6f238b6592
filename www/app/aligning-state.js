// Laying a photo on the maps by matching points, and marking the object's edges: what is set, and how it changes. Pure.

import { nearestBy, planeOf, through } from "./plane.js";
import { besideOf, pairOf } from "./scans-state.js";

/** @typedef {import("./state.js").State} State */
/** @typedef {import("./plane.js").Place} Place */
/** @typedef {import("./types.js").Alignment} Alignment */
/** @typedef {import("./types.js").AlignModel} AlignModel */
/** @typedef {import("./types.js").AlignSettings} AlignSettings */
/** @typedef {import("./types.js").Corner} Corner */
/** @typedef {import("./types.js").Found} Found */
/** @typedef {import("./types.js").ObjectSettings} ObjectSettings */
/** @typedef {import("./types.js").ObjectText} ObjectText */
/** @typedef {import("./types.js").PhotoSummary} PhotoSummary */
/** @typedef {import("./types.js").Progress} Progress */

/** @typedef {"photo"|"maps"} Side */
/** A matching point; with one place alone it waits for the other.
 * @typedef {{from: Place|null, to: Place|null}} Point */
/** How the photo is laid: by the model that suits the number of points, by one that was chosen, or as it was found.
 * @typedef {AlignModel|"suits"|"found"} Rule */
/** The object's edges while they are marked: the corner, a place on the edge across through it, one on the edge down. `photo`: a mark was set on
 * this photo; `alignment_px`: how far off earlier marks may be by a photo.
 * @typedef {{corner: Corner, places: Place[], chosen: number|null, photo: string|null, alignment_px: number}} Edges */

/** Another scan that is laid on the first: `of` is a map that stands for it, `map` and `first` are those that are looked at.
 * @typedef {{field: number, label: string, of: string, map: string, first: string|null}} ScanLaid */
/** What can be laid: a photo, or another scan. @typedef {{width: number, height: number, alignment: Alignment|null, turns?: number, mirror?: boolean}} Lying */

/** `photo` and `scan`: neither where only the object's edges are marked. `alignment` is the core's last word on the points; `unsent`: it does not yet
 * hold for what is set. `transform`: one that was found, also while it is not used. `lies`: how photo and grid lay when the points were taken.
 * @typedef {{photo: string|null, scan: ScanLaid|null, size: {width: number, height: number}|null, points: Point[], chosen: number|null, rule: Rule, transform: number[]|null, alignment: Alignment|null, unsent: boolean,
 *   lies: string, trouble: string, finding: Progress|null, found: Found|null, edges: Edges|null}} Aligning */
/** @typedef {{aligning: Aligning|null, object: ObjectText|null}} AligningState */
/** @typedef {{type: "aligning", aligning: Aligning|null} | {type: "object", object: ObjectText|null}} AligningChange */

/** @type {AligningState} */
export const ALIGNING_START = Object.freeze({ aligning: null, object: null });

/** Points of one place in words: the first, second and third of the marks of the object's edges. */
export const MARKS = Object.freeze(["the corner", "a place on the edge across", "a place on the edge down"]);

/** @template {{type: string}} Any
 * @param {Any} change
 * @returns {change is Extract<Any, AligningChange>} */
export function isOfAligning(change) {
  return change.type === "aligning" || change.type === "object";
}

/** @param {State} state @param {AligningChange} change
 * @returns {State} */
export function aligningChanged(state, change) {
  if (change.type === "object") return { ...state, object: change.object };
  // Nothing is drawn in views that are not seen.
  return { ...state, aligning: change.aligning, ...(state.aligning === null && change.aligning !== null ? { drawing: null, drawing_line: null, naming: null } : {}) };
}

/** How what is laid and the grid lie. @param {Lying|undefined} laid @param {import("./types.js").Grid|null} grid */
function liesOf(laid, grid) {
  return JSON.stringify([laid?.turns, laid?.mirror, laid?.width, laid?.height, grid?.turns, grid?.mirror, grid?.width, grid?.height]);
}

/** @param {Lying|undefined} laid */
function sizeOf(laid) {
  return laid === undefined ? null : { width: laid.width, height: laid.height };
}

/** @param {PhotoSummary|undefined} photo @param {import("./types.js").Grid|null} grid
 * @returns {Aligning} */
export function begun(photo, grid) {
  return { photo: photo?.id ?? null, scan: null, ...fresh(photo, grid) };
}

/** @param {import("./types.js").Field} field @param {import("./types.js").MapSummary[]} maps @param {import("./types.js").Grid|null} grid
 * @returns {Aligning} */
export function scanBegun(field, maps, grid) {
  const pair = pairOf(maps, field.field) ?? { map: field.maps[0] ?? "", first: null };
  return { photo: null, scan: { field: field.field, label: field.label, of: field.maps[0] ?? "", ...pair }, ...fresh(field, grid) };
}

/** @param {Lying|undefined} laid @param {import("./types.js").Grid|null} grid */
function fresh(laid, grid) {
  const alignment = laid?.alignment ?? null;
  return { size: sizeOf(laid), chosen: null, ...taken(alignment), alignment, unsent: false, lies: liesOf(laid, grid), trouble: "", finding: null, found: null, edges: null };
}

/** Whether something is laid, and not the object's edges marked alone. @param {Aligning} aligning */
export function isLaying({ photo, scan }) {
  return photo !== null || scan !== null;
}

/** Another map of the scan is looked at, beside that of the same line. @param {Aligning} aligning @param {import("./types.js").MapSummary[]} maps @param {string} map
 * @returns {Aligning} */
export function scanSeen(aligning, maps, map) {
  return aligning.scan === null ? aligning : { ...aligning, scan: { ...aligning.scan, map, first: besideOf(maps, map) } };
}

/** The scan with maps that are still there; null where none of it is. @param {ScanLaid} scan @param {State} state
 * @returns {ScanLaid|null} */
function keptScan(scan, { fields, maps }) {
  const now = fields.find(({ field }) => field === scan.field);
  const pair = pairOf(maps, scan.field);
  if (now === undefined || pair === null) return null;
  const of = now.maps.includes(scan.of) ? scan.of : now.maps[0] ?? pair.map;
  const is_first = maps.some(({ id, field = 0 }) => id === scan.first && field === 0);
  const seen = !now.maps.includes(scan.map) ? pair : { map: scan.map, first: is_first ? scan.first : besideOf(maps, scan.map) };
  return { field: scan.field, label: now.label, of, ...seen };
}

/** @param {Alignment|null} alignment
 * @returns {{points: Point[], rule: Rule, transform: number[]|null}} */
function taken(alignment) {
  const points = alignment?.points.map(({ from, to }) => ({ from, to })) ?? [];
  const found = alignment?.model === "found";
  return { points, rule: found ? "found" : alignment?.model_stated ?? "suits", transform: found ? alignment.transform : null };
}

/** The core's own word, where maps, photos or their lie have changed. @param {State} state
 * @returns {Aligning|null} */
export function resumed(state) {
  const { photos, grid } = state;
  if (state.aligning === null || !isLaying(state.aligning)) return state.aligning;
  const scan = state.aligning.scan === null ? null : keptScan(state.aligning.scan, state);
  const laid = state.aligning.scan === null ? photos.find(({ id }) => id === state.aligning?.photo) : state.fields.find(({ field }) => field === scan?.field);
  if (laid === undefined) return null;
  const aligning = { ...state.aligning, scan };
  const lies = liesOf(laid, grid);
  // What the user has set meanwhile is on its way.
  if (aligning.unsent && lies === aligning.lies) return aligning;
  const alignment = laid.alignment ?? null;
  const now = taken(alignment);
  const full = aligning.points.filter(isFull);
  const same = lies === aligning.lies && JSON.stringify(full.map(rounded)) === JSON.stringify(now.points.map(rounded));
  if (same) return { ...aligning, alignment };
  const turned = lies !== aligning.lies;
  const transform = now.transform ?? (turned ? null : aligning.transform);
  return { ...aligning, ...now, size: sizeOf(laid), transform, alignment, lies, unsent: false, chosen: null, found: turned ? null : aligning.found, edges: turned ? null : aligning.edges };
}

/** @param {Point} point */
function rounded({ from, to }) {
  return [...(from ?? []), ...(to ?? [])].map((v) => Math.round(v * 1e4));
}

// ---- points ----

/** @param {Point} point
 * @returns {point is {from: Place, to: Place}} */
export function isFull(point) {
  return point.from !== null && point.to !== null;
}

/** @param {Side} side
 * @returns {"from"|"to"} */
export const endOf = (side) => (side === "photo" ? "from" : "to");

/** @param {Side} side
 * @returns {Side} */
export const otherSide = (side) => (side === "photo" ? "maps" : "photo");

/** The number of the point that waits for its other place, or -1. @param {Aligning} aligning */
export function waiting({ points }) {
  return points.findIndex((point) => !isFull(point));
}

/** The side that the waiting point lacks. @param {Aligning} aligning
 * @returns {Side|null} */
export function lacking(aligning) {
  const point = aligning.points[waiting(aligning)];
  return point === undefined ? null : point.from === null ? "photo" : "maps";
}

/** A place is set on a side: it completes the point that waits there, moves what waits for the other side, or begins a new point.
 * @param {Aligning} aligning @param {Side} side @param {Place} at
 * @returns {Aligning} */
export function placed(aligning, side, at) {
  const half = waiting(aligning);
  const end = endOf(side);
  if (half >= 0) return edited(aligning, half, { [end]: at }, half);
  const points = [...aligning.points, /** @type {Point} */ ({ from: null, to: null, [end]: at })];
  return { ...aligning, points, chosen: points.length - 1, unsent: true };
}

/** @param {Aligning} aligning @param {number} index @param {Partial<Point>} change @param {number|null} chosen
 * @returns {Aligning} */
function edited(aligning, index, change, chosen) {
  const point = aligning.points[index];
  if (point === undefined) return aligning;
  return { ...aligning, points: aligning.points.with(index, { ...point, ...change }), chosen, unsent: true };
}

/** @param {Aligning} aligning @param {number} index @param {Side} side @param {Place} at
 * @returns {Aligning} */
export function moved(aligning, index, side, at) {
  // A place that is not set yet cannot be moved.
  if (aligning.points[index]?.[endOf(side)] == null) return aligning;
  return edited(aligning, index, { [endOf(side)]: at }, index);
}

/** @param {Aligning} aligning @param {number|null} index
 * @returns {Aligning} */
export function removed(aligning, index) {
  if (index === null || aligning.points[index] === undefined) return aligning;
  return { ...aligning, points: aligning.points.toSpliced(index, 1), chosen: null, unsent: true };
}

/** @param {Aligning} aligning @param {number|null} index
 * @returns {Aligning} */
export function chosen(aligning, index) {
  return { ...aligning, chosen: index !== null && aligning.points[index] !== undefined ? index : null };
}

/** The next point or the one before, round and round. @param {Aligning} aligning @param {1|-1} step
 * @returns {Aligning} */
export function chosenNext(aligning, step) {
  const { length } = aligning.points;
  if (length === 0) return aligning;
  const from = aligning.chosen ?? (step === 1 ? -1 : length);
  return chosen(aligning, (from + step + length) % length);
}

/** The point is left; one that waits for its other place is dropped. @param {Aligning} aligning
 * @returns {Aligning} */
export function left(aligning) {
  const half = waiting(aligning);
  return half >= 0 ? { ...removed(aligning, half), unsent: aligning.unsent } : { ...aligning, chosen: null };
}

/** @param {Aligning} aligning @param {Rule} rule
 * @returns {Aligning} */
export function ruled(aligning, rule) {
  return { ...aligning, rule, unsent: true };
}

/** What was found is taken over; points that stand already check it from now on. @param {Aligning} aligning
 * @returns {Aligning} */
export function foundTaken(aligning) {
  return aligning.found === null ? aligning : { ...aligning, rule: "found", transform: aligning.found.transform, found: null, unsent: true };
}

/** What the core is to be told; points that wait stay here. @param {Aligning} aligning
 * @returns {AlignSettings|null} */
export function settingsOf({ photo, scan, points, rule, transform }) {
  if (photo === null && scan === null) return null;
  const what = scan !== null ? { map: scan.of } : { photo: photo ?? "" };
  const full = points.filter(isFull).map(({ from, to }) => ({ from, to }));
  if (rule === "found" && transform !== null) return { ...what, points: full, transform };
  return rule === "suits" || rule === "found" ? { ...what, points: full } : { ...what, points: full, model: rule };
}

// ---- from one side to the other ----

/** Where a place of one side lies on the other by what holds now; null where nothing tells.
 * @param {Aligning} aligning @param {Side} side of the place @param {Place} at
 * @returns {Place|null} */
export function across(aligning, side, at) {
  const plane = ruleOf(aligning);
  if (plane === null) return null;
  const to = through(side === "photo" ? plane.there : plane.back, at);
  // Where the support is warped, one rule for all is only near; the next point tells how far off it is here.
  const exact = aligning.alignment?.transform != null;
  return to === null || exact ? to : nearestBy(to, at, aligning.points.filter(isFull).map(({ from, to }) => (side === "photo" ? [from, to] : [to, from])), side === "photo" ? plane.there : plane.back);
}

/** @param {Aligning} aligning */
export function ruleOf(aligning) {
  const { alignment, found, size } = aligning;
  if (!isLaying(aligning) || size === null) return null;
  if (found?.is_accepted) return planeOf(found.transform, [], size);
  return alignment === null || alignment.trouble !== "" ? null : planeOf(alignment.transform, alignment.corners, size);
}

/** Where the waiting point is proposed on the side that it lacks. @param {Aligning} aligning
 * @returns {Place|null} */
export function proposedPlace(aligning) {
  const point = aligning.points[waiting(aligning)];
  const side = lacking(aligning);
  const had = point?.from ?? point?.to ?? null;
  return side === null || had === null ? null : across(aligning, otherSide(side), had);
}

// ---- errors ----

/** The core's word on each of the points here; none for those that wait or have just been moved.
 * @param {Aligning} aligning
 * @returns {(import("./types.js").AlignedPoint|null)[]} */
export function judged({ points, alignment, unsent }) {
  let at = 0;
  return points.map((point) => (isFull(point) && !unsent ? alignment?.points[at++] ?? null : null));
}

/** The point that is farthest off by the others alone, where that can be told: from three on. @param {Aligning} aligning */
export function worst(aligning) {
  const offs = judged(aligning).map((point) => {
    const off = point?.left_out_px ?? null;
    return off === null ? 0 : Math.hypot(...off);
  });
  const most = Math.max(0, ...offs);
  return offs.filter((off) => off > 0).length < 3 ? -1 : offs.indexOf(most);
}

/** The point that the others contradict, by the core's word; -1 without one. @param {Aligning} aligning */
export function doubted(aligning) {
  const { doubtful } = aligning.alignment ?? {};
  const full = aligning.points.flatMap((point, index) => (isFull(point) ? [index] : []));
  return aligning.unsent || doubtful == null ? -1 : full[doubtful] ?? -1;
}

const FACTORS = [1, 2, 5, 10, 20, 50, 100];

/** How many times longer errors are drawn, so that the longest is about this long. @param {Aligning} aligning @param {number} length in pixels of the grid */
export function enlarged(aligning, length) {
  const most = Math.max(0, ...judged(aligning).flatMap((point) => [point?.error_px, point?.left_out_px].map((off) => Math.hypot(...(off ?? [0, 0])))));
  return FACTORS.findLast((factor) => most * factor <= length) ?? 1;
}

// ---- the object's edges ----

/** @param {Aligning} aligning @param {ObjectText|null} object @param {Corner} [corner]
 * @returns {Aligning} */
export function edgesBegun(aligning, object, corner) {
  const stated = object !== null && (corner === undefined || corner === object.corner);
  const edges = stated ? edgesOf(object) : { corner: corner ?? "upper left", places: [], chosen: null, photo: null, alignment_px: 0 };
  return { ...left(aligning), chosen: null, edges };
}

/** @param {ObjectText} object
 * @returns {Edges} */
export function edgesOf({ corner, at, across: along, down, alignment_px }) {
  return { corner, places: [at, along, down], chosen: 0, photo: null, alignment_px };
}

/** @param {Aligning} aligning @param {Place} at a place of the grid @param {boolean} [on_photo] it was set on the photo
 * @returns {Aligning} */
export function edgePlaced(aligning, at, on_photo = false) {
  if (aligning.edges === null) return aligning;
  const edges = on_photo ? { ...aligning.edges, photo: aligning.photo } : aligning.edges;
  if (edges.places.length < MARKS.length) {
    const places = [...edges.places, at];
    return { ...aligning, edges: { ...edges, places, chosen: places.length === MARKS.length ? 0 : null } };
  }
  return edges.chosen === null ? aligning : { ...aligning, edges: { ...edges, places: edges.places.with(edges.chosen, at) } };
}

/** @param {Aligning} aligning @param {number|null} mark
 * @returns {Aligning} */
export function edgeChosen(aligning, mark) {
  const { edges } = aligning;
  return edges === null ? aligning : { ...aligning, edges: { ...edges, chosen: mark !== null && edges.places[mark] !== undefined ? mark : null } };
}

/** @param {Edges|null} edges
 * @returns {ObjectSettings|null} */
export function objectOf(edges) {
  const [at, along, down] = edges?.places ?? [];
  return edges === null || at === undefined || along === undefined || down === undefined ? null
    : { corner: edges.corner, at, across: along, down, ...(edges.photo === null ? {} : { photo: edges.photo }), ...(edges.alignment_px === 0 ? {} : { alignment_px: edges.alignment_px }) };
}
