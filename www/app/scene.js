// The page as it stood when something was kept: what its views showed, and what was asked. Written as plain data and read as text from
// anywhere: everything that does not fit is left out. Pure.

import { LAYOUTS, MOST_VIEWS, NOTHING, filled, taken } from "./subjects.js";
import { isAligned } from "./under-state.js";

/** @typedef {import("./state.js").State} State */
/** @typedef {import("./types.js").Light} Light */
/** @typedef {import("./subjects.js").Subject} Subject */
/** @typedef {import("./asking.js").Chosen} Chosen */
/** @typedef {import("./asking.js").Value} Value */
/** The part of a plane that a view shows, in pixels of the plane.
 * @typedef {{plane: string, x: number, y: number, width: number, height: number}} Window */

/** @typedef {{version: 1, layout: number, active: number, views: Subject[],
 *   lights: ({map: string, colour: string, low: number, high: number, gamma: number}|null)[],
 *   limits: Record<string, {low: number, high: number}>, scale: string, colours: string,
 *   photo_under: import("./under-state.js").Under|null, photo_as_taken: boolean,
 *   question: string|null, settings: Chosen, forms: Record<string, string>,
 *   outlines: boolean, unseen: string[], region: string|null, windows: Window[]}} Scene */

/** Another form of this is not read. */
const VERSION = 1;
/** More of anything than this is nobody's work. */
const MOST = 256;
const MOST_LETTERS = 300;
const MODES = /** @type {const} */ (["map", "overlap", "overlay", "answer", "photo"]);
const SCALES = /** @type {const} */ (["linear", "square root", "logarithmic"]);

/** All that brings the page back to where it stands. `windows`: of the views that do not show their whole plane.
 * @param {State} state @param {Window[]} windows
 * @returns {Scene} */
export function sceneOf(state, windows) {
  const lights = state.lights.map((light) => light && { map: light.map, colour: light.colour, low: light.low, high: light.high, gamma: light.gamma });
  return {
    version: VERSION, layout: state.layout, active: state.active, views: state.views.map(({ mode, map, photo, show }) => ({ mode, map, photo, show })),
    lights, limits: state.limits, scale: state.scale, colours: state.colours, photo_under: state.photo_under, photo_as_taken: state.photo_as_taken,
    question: state.question, settings: state.settings, forms: state.forms, outlines: state.outlines, unseen: state.unseen, region: state.unfolded, windows,
  };
}

/** The page as a scene has it. Maps, photos, regions and questions that are not here are left out; null for what is no scene.
 * @param {State} state @param {unknown} scene
 * @returns {State|null} */
export function withScene(state, scene) {
  const given = recordOf(scene);
  if (given === null || given.version !== VERSION) return null;
  const there = (/** @type {unknown} */ id) => textOf(id) !== null && state.maps.some((map) => map.id === id);
  const photo_there = (/** @type {unknown} */ id) => textOf(id) !== null && state.photos.some((photo) => photo.id === id);
  const region_there = (/** @type {unknown} */ id) => textOf(id) !== null && state.regions.some((region) => region.id === id);
  const layout = LAYOUTS.find((one) => one === given.layout) ?? 1;
  const list = listOf(given.views);
  const views = Array.from({ length: MOST_VIEWS }, (_, index) => subjectOf(list[index], there, photo_there));
  const active = Number.isInteger(given.active) && Number(given.active) >= 0 && Number(given.active) < layout ? Number(given.active) : 0;
  const shown = listOf(given.lights);
  const lights = lit(state.lights.map((_, index) => lightOf(shown[index], state)));
  const limits = Object.fromEntries(entriesOf(given.limits).flatMap(([id, one]) => {
    const found = limitsOf(one);
    return there(id) && found !== null ? [[id, found]] : [];
  }));
  const question = state.questions.find(({ key }) => key === given.question) ?? null;
  const forms = Object.fromEntries(entriesOf(given.forms).flatMap(([key, form]) => {
    const of = state.questions.find((one) => one.key === key);
    return of && (form === "" || of.forms?.some((one) => one.key === form)) ? [[key, String(form)]] : [];
  }));
  const subject = views[active] ?? NOTHING;
  const region = region_there(given.region) ? String(given.region) : null;
  return filled(taken({
    ...state, layout, active, views, mode: subject.mode, map: subject.map ?? state.map, map_chosen: true, photo: subject.photo,
    shown: state.answer !== null && subject.show !== null ? { answer: state.answer.id, show: subject.show } : state.shown,
    lights, limits, scale: SCALES.find((one) => one === given.scale) ?? "linear", colours: textOf(given.colours) ?? "grey",
    photo_under: underOf(given.photo_under, state), photo_as_taken: given.photo_as_taken === true,
    question: question?.key ?? state.question, settings: chosenOf(given.settings), forms,
    outlines: given.outlines !== false, unseen: listOf(given.unseen).filter(region_there).map(String),
    unfolded: region, regions_open: state.regions_open || region !== null,
    // What was in the hand is put down.
    drawing: null, picking: null, proposal: null, placing: null, drawing_line: null, brush: null, place: null, hint: "",
  }));
}

/** The windows of a scene, each plane once.
 * @param {unknown} scene
 * @returns {Window[]} */
export function windowsOf(scene) {
  const given = recordOf(scene);
  if (given === null || given.version !== VERSION) return [];
  const found = listOf(given.windows).slice(0, MOST_VIEWS).flatMap((one) => {
    const { plane, x, y, width, height } = recordOf(one) ?? {};
    const [left, top, across, down] = [x, y, width, height].map(numberOf);
    if (textOf(plane) === null || left == null || top == null || across == null || down == null || across <= 0 || down <= 0) return [];
    return [{ plane: String(plane), x: left, y: top, width: across, height: down }];
  });
  return found.filter((one, index) => found.findIndex(({ plane }) => plane === one.plane) === index);
}

// ---- parts that are read ----

/** @param {unknown} value @returns {Record<string, unknown>|null} */
function recordOf(value) {
  return typeof value === "object" && value !== null && !Array.isArray(value) ? /** @type {Record<string, unknown>} */ (value) : null;
}

/** @param {unknown} value @returns {unknown[]} */
function listOf(value) {
  return Array.isArray(value) ? value.slice(0, MOST) : [];
}

/** Names that every object has are no names of ours. @param {unknown} value */
function entriesOf(value) {
  return Object.entries(recordOf(value) ?? {}).slice(0, MOST).filter(([name]) => name !== "__proto__" && name.length <= MOST_LETTERS);
}

/** @param {unknown} value @returns {string|null} */
function textOf(value) {
  return typeof value === "string" && value !== "" && value.length <= MOST_LETTERS ? value : null;
}

/** @param {unknown} value @returns {number|null} */
function numberOf(value) {
  return typeof value === "number" && Number.isFinite(value) && Math.abs(value) < 1e15 ? value : null;
}

/** @param {unknown} value @param {(id: unknown) => boolean} there @param {(id: unknown) => boolean} photo_there
 * @returns {Subject} */
function subjectOf(value, there, photo_there) {
  const given = recordOf(value);
  if (given === null) return NOTHING;
  const mode = MODES.find((one) => one === given.mode) ?? "map";
  const map = there(given.map) ? String(given.map) : null;
  const photo = photo_there(given.photo) ? String(given.photo) : null;
  const has_subject = mode === "photo" ? photo !== null : mode === "overlap" ? map !== null : true;
  return { mode: has_subject ? mode : "map", map, photo, show: textOf(given.show) };
}

/** @param {unknown} value @param {State} state
 * @returns {Light|null} */
function lightOf(value, state) {
  const given = recordOf(value);
  const map = state.maps.find(({ id }) => id === given?.map);
  const limits = limitsOf(given);
  if (given === null || map === undefined || limits === null) return null;
  const gamma = numberOf(given.gamma) ?? 1;
  const colour = textOf(given.colour);
  if (colour === null || !/^#[0-9a-f]{6}$/i.test(colour)) return null;
  return { map: map.id, label: map.label, colour, ...limits, gamma: gamma > 0 && gamma <= 10 ? gamma : 1 };
}

/** A map is lit once, and two lights of one colour could not be told apart. @param {(Light|null)[]} lights */
function lit(lights) {
  return lights.map((light, index) => (light !== null && lights.findIndex((one) => one !== null && (one.map === light.map || one.colour === light.colour)) < index ? null : light));
}

/** @param {unknown} value
 * @returns {{low: number, high: number}|null} */
function limitsOf(value) {
  const { low, high } = recordOf(value) ?? {};
  const [from, to] = [numberOf(low), numberOf(high)];
  return from !== null && to !== null && from < to ? { low: from, high: to } : null;
}

/** @param {unknown} value @param {State} state
 * @returns {import("./under-state.js").Under|null} */
function underOf(value, state) {
  const given = recordOf(value);
  const photo = state.photos.find(({ id }) => id === given?.photo);
  const mix = numberOf(given?.mix);
  if (given === null || photo === undefined || !isAligned(photo) || mix === null) return null;
  const divide = recordOf(given.divide);
  const at = numberOf(divide?.at);
  const inside = (/** @type {number} */ share) => Math.min(1, Math.max(0, share));
  return { photo: photo.id, mix: inside(mix), divide: divide === null || at === null ? null : { at: inside(at), along: divide.along === "y" ? "y" : "x" } };
}

/** What was chosen in the sentences. Whether a map or region is there is seen where it is used. @param {unknown} value
 * @returns {Chosen} */
function chosenOf(value) {
  return Object.fromEntries(entriesOf(value).flatMap(([name, one]) => {
    const read = valueOf(one);
    return read === undefined ? [] : [[name, read]];
  }));
}

/** @param {unknown} value
 * @returns {Value|undefined} */
function valueOf(value) {
  if (value === null || textOf(value) !== null || value === "") return /** @type {string|null} */ (value);
  if (typeof value === "number") return numberOf(value) ?? undefined;
  if (Array.isArray(value)) return value.every((one) => textOf(one) !== null) && value.length <= MOST ? value : undefined;
  const line = recordOf(value);
  const [from, to, width_px] = [pairOf(line?.from), pairOf(line?.to), numberOf(line?.width_px)];
  return from === null || to === null || width_px === null || width_px <= 0 ? undefined : { from, to, width_px };
}

/** @param {unknown} value
 * @returns {[number, number]|null} */
function pairOf(value) {
  const [x, y] = Array.isArray(value) && value.length === 2 ? value.map(numberOf) : [null, null];
  return x == null || y == null ? null : [x, y];
}
