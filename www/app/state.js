// The state of the page and how it changes. Pure: no page, no worker, no clock.

import { ALIGNING_START, aligningChanged, isOfAligning, resumed } from "./aligning-state.js";
import { ANSWER_START, answerChanged, isOfAnswers, plotted } from "./answer-state.js";
import { firstToShow } from "./first-map.js";
import { keptAs, keptChoices } from "./asking.js";
import { KEEPING_START, isOfKeeping, keepingChanged } from "./keeping-state.js";
import { FINDINGS_START, findingsChanged, isAsKept, isOfFindings, leftFinding, openedAfter } from "./findings-state.js";
import { HANDING_START, handingChanged, isOfHanding } from "./handing-state.js";
import { POINTS_START, isOfPoints, oneHand, pointsChanged, withPoints } from "./points-state.js";
import { REGIONS_START, isOfRegions, regionsChanged } from "./region-state.js";
import { scanOf } from "./scan-words.js";
import { SCANS_START } from "./scans-state.js";
import { SHEET_START, sheetChanged, withMaps } from "./sheet-state.js";
import { SPECTRA_START, isOfSpectra, spectraChanged } from "./spectra-state.js";
import { MOST_VIEWS, NOTHING, arranged, filled, taken } from "./subjects.js";
import { UNDER_START, isLaid, isOfUnder, keptUnder, underChanged, underSettings } from "./under-state.js";
import { WARNINGS_START, isOfWarnings, warningsChanged } from "./warnings-state.js";

/** @typedef {import("./types.js").MapSummary} MapSummary */
/** @typedef {import("./types.js").PhotoSummary} PhotoSummary */
/** @typedef {import("./types.js").Grid} Grid */
/** @typedef {import("./types.js").Light} Light */
/** @typedef {import("./types.js").Question} Question */
/** @typedef {import("./types.js").Answer} Answer */
/** @typedef {import("./types.js").Problem} Problem */
/** @typedef {import("./types.js").Progress} Progress */
/** @typedef {import("./types.js").PictureSettings} PictureSettings */
/** @typedef {import("./types.js").ToneScale} ToneScale */
/** @typedef {import("./axis.js").Limits} Limits */
/** @typedef {import("./subjects.js").Mode} Mode */
/** @typedef {import("./subjects.js").Subject} Subject */
/** @typedef {import("./subjects.js").Layout} Layout */
/** @typedef {import("./sheet-state.js").SheetState} SheetState */
/** @typedef {import("./sheet-state.js").SheetChange} SheetChange */
/** @typedef {import("./answer-state.js").AnswerState} AnswerState */
/** @typedef {import("./answer-state.js").AnswerChange} AnswerChange */
/** @typedef {import("./region-state.js").RegionState} RegionState */
/** @typedef {import("./region-state.js").RegionChange} RegionChange */
/** @typedef {import("./aligning-state.js").AligningState} AligningState */
/** @typedef {import("./aligning-state.js").AligningChange} AligningChange */
/** @typedef {import("./under-state.js").UnderState} UnderState */
/** @typedef {import("./under-state.js").UnderChange} UnderChange */

/** @typedef {import("./points-state.js").PointsState} PointsState */
/** @typedef {import("./points-state.js").PointsChange} PointsChange */
/** @typedef {import("./spectra-state.js").SpectraState} SpectraState */
/** @typedef {import("./spectra-state.js").SpectraChange} SpectraChange */
/** @typedef {import("./warnings-state.js").WarningsState} WarningsState */
/** @typedef {import("./warnings-state.js").WarningsChange} WarningsChange */
/** @typedef {import("./findings-state.js").FindingsState} FindingsState */
/** @typedef {import("./findings-state.js").FindingsChange} FindingsChange */
/** @typedef {import("./handing-state.js").HandingState} HandingState */
/** @typedef {import("./handing-state.js").HandingChange} HandingChange */

/** @typedef {{done: number, total: number, name: string}} Reading */

/** `mode`, `map`, `photo` and `shown` are of the active view; `views` holds the subject of every view, the active one too. What belongs
 * to a map belongs to it in every view: the lights, and the limits that the user set. `map_chosen`: by the user, and not by being the first.
 * @typedef {{
 *   phase: "starting"|"ready"|"broken", trouble: Problem|null,
 *   maps: MapSummary[], photos: PhotoSummary[], grid: Grid|null, questions: Question[],
 *   reading: Reading|null, hint: string,
 *   mode: Mode, map: string|null, map_chosen: boolean, lights: (Light|null)[], photo: string|null, shown: {answer: string, show: string}|null,
 *   layout: Layout, active: number, views: Subject[],
 *   limits: Record<string, Limits>, scale: ToneScale, colours: string,
 *   question: string|null, settings: import("./asking.js").Chosen,
 *   asking: Progress|null, answer: Answer|null, ask_trouble: Problem|null, step_trouble: Problem|null,
 * } & SheetState & RegionState & AnswerState & AligningState & UnderState & import("./scans-state.js").ScansState & PointsState & WarningsState & SpectraState & FindingsState & HandingState & import("./keeping-state.js").KeepingState} State */

/** @typedef {SheetChange | RegionChange | AnswerChange | AligningChange | UnderChange | import("./scans-state.js").ScansChange | PointsChange | WarningsChange | SpectraChange | FindingsChange | HandingChange | import("./keeping-state.js").KeepingChange | {type: "ready"} | {type: "broken", problem: Problem}
 *   | {type: "reading", reading: Reading|null}
 *   | {type: "stack", maps: MapSummary[], photos: PhotoSummary[], grid: Grid, questions: Question[], fields?: import("./types.js").Field[], points?: import("./types.js").PointSummary[]}
 *   | {type: "mode", mode: Mode} | {type: "show_map", id: string} | {type: "show_photo", id: string} | {type: "show_answer", show: string}
 *   | {type: "lights", lights: (Light|null)[]} | {type: "light_defaults", defaults: Light[]} | {type: "light_colour", id: string, colour: string}
 *   | {type: "limits", id: string, limits: Limits|null} | {type: "scale", scale: ToneScale} | {type: "colours", colours: string}
 *   | {type: "layout", layout: Layout} | {type: "activate", view: number} | {type: "hint", text: string}
 *   | {type: "question", key: string} | {type: "setting", name: string, of?: string, value: import("./asking.js").Value}
 *   | {type: "asking", progress: Progress} | {type: "answered", answer: Answer, rasters?: Record<string, import("./types.js").Raster>, turn: boolean} | {type: "ask_failed", problem: Problem|null}
 *   | {type: "step_failed", problem: Problem|null}} Change */

/** More lights than this mix to colours that nobody can read back. */
export const LIGHTS = 4;

/** @type {State} */
export const START = Object.freeze({
  ...SHEET_START,
  ...ANSWER_START,
  ...REGIONS_START,
  ...ALIGNING_START,
  ...UNDER_START,
  ...SCANS_START,
  ...POINTS_START,
  ...WARNINGS_START,
  ...SPECTRA_START,
  ...FINDINGS_START,
  ...HANDING_START,
  ...KEEPING_START,
  phase: "starting", trouble: null,
  maps: [], photos: [], grid: null, questions: [],
  reading: null, hint: "",
  mode: "map", map: null, map_chosen: false, lights: Array.from({ length: LIGHTS }, () => null), photo: null, shown: null,
  layout: 1, active: 0, views: Array.from({ length: MOST_VIEWS }, () => NOTHING),
  limits: {}, scale: "linear", colours: "grey",
  question: null, settings: {},
  asking: null, answer: null, ask_trouble: null, step_trouble: null,
});

/** @param {State} state @param {Change} change
 * @returns {State} */
export function reduce(state, change) {
  return taken(leftFinding(state, change, oneHand(state, changed(state, change))));
}

/** @param {State} state @param {Change} change
 * @returns {State} */
function changed(state, change) {
  switch (change.type) {
    case "ready":
      return { ...state, phase: "ready" };
    case "broken":
      return { ...state, phase: "broken", trouble: change.problem, reading: null, asking: null, looking: null, making: null, doing: null, handing: null, renewing: null };
    case "reading":
      return { ...state, reading: change.reading };
    case "stack":
      return withStack(state, change);
    case "mode":
      return { ...state, mode: change.mode, hint: "" };
    case "show_map":
      return { ...state, mode: "map", map: change.id, map_chosen: true, hint: "" };
    case "show_photo":
      return { ...state, mode: "photo", photo: change.id, hint: "" };
    case "show_answer":
      return state.answer === null ? state : { ...state, mode: "answer", shown: { answer: state.answer.id, show: change.show } };
    case "lights": {
      // Where another view shows the overlay, the light is seen there.
      const seen = state.mode === "overlay" || shows(state, "overlay");
      return { ...state, lights: change.lights, mode: change.lights.some(Boolean) && !seen ? "overlay" : state.mode, hint: "" };
    }
    case "light_defaults":
      return { ...state, lights: state.lights.map((light) => withDefaults(light, change.defaults)) };
    case "light_colour":
      return { ...state, lights: withColour(state.lights, change.id, change.colour) };
    case "limits": {
      const { [change.id]: _, ...others } = state.limits;
      return { ...state, limits: change.limits === null ? others : { ...others, [change.id]: change.limits } };
    }
    case "scale":
      return { ...state, scale: change.scale };
    case "colours":
      return { ...state, colours: change.colours };
    case "layout":
      return filled(arranged(state, change.layout));
    case "activate":
      return activated(state, change.view);
    case "hint":
      return { ...state, hint: change.text };
    case "question":
      return { ...state, question: change.key, hint: "" };
    case "setting":
      return { ...state, settings: { ...state.settings, [keptAs(state.question, change.name, change.of)]: change.value }, hint: "" };
    case "asking":
      return { ...state, asking: change.progress, ask_trouble: null, brush: null };
    case "answered": {
      const opened = openedAfter(state, change.answer.id);
      if (opened === undefined) return withAnswer(state, change);
      return opened?.live ? withAnswer({ ...state, opened }, { ...change, turn: false }) : { ...state, asking: null, opened };
    }
    case "ask_failed":
      // What was kept stays as it was kept.
      if (isAsKept(state)) return { ...state, asking: null, ask_trouble: change.problem };
      return { ...state, asking: null, answer: null, shown: null, brush: null, ask_trouble: change.problem };
    case "step_failed":
      return { ...state, step_trouble: change.problem };
    case "compared":
      return { ...state, compared: change.compared };
    default:
      if (isOfAligning(change)) return aligningChanged(state, change);
      if (isOfAnswers(change)) return answerChanged(state, change);
      if (isOfUnder(change)) return filled(underChanged(state, change));
      if (isOfPoints(change)) return pointsChanged(state, change);
      if (isOfWarnings(change)) return warningsChanged(state, change);
      if (isOfSpectra(change)) return spectraChanged(state, change);
      if (isOfKeeping(change)) return keepingChanged(state, change);
      if (isOfFindings(change)) return findingsChanged(state, change);
      if (isOfHanding(change)) return handingChanged(state, change);
      return isOfRegions(change) ? regionsChanged(state, change) : sheetChanged(state, change);
  }
}

/** @param {State} state @param {number} view
 * @returns {State} */
function activated(state, view) {
  const subject = state.views[view];
  if (subject === undefined || view >= state.layout || view === state.active) return state;
  const { mode, map, photo } = subject;
  return { ...state, active: view, mode, map, photo, shown: shownIn(state, view) };
}

/** Whether one of the views that are seen shows this. @param {State} state @param {Mode} mode */
function shows(state, mode) {
  return state.views.slice(0, state.layout).some((view) => view.mode === mode);
}

/** The picture of the answer that a view shows when it shows the answer.
 * @param {State} state @param {number} view */
function shownIn(state, view) {
  if (state.shown === null || view === state.active) return state.shown;
  const own = state.answer?.shows.find(({ show }) => show === state.views[view]?.show);
  return own ? { ...state.shown, show: own.show } : state.shown;
}

/** A light of another colour. Two lights of one colour could not be told apart, so a light that had this colour takes the other's.
 * @param {(Light|null)[]} lights @param {string} id @param {string} colour */
function withColour(lights, id, colour) {
  const before = lights.find((light) => light?.map === id)?.colour ?? colour;
  return lights.map((light) => {
    if (light === null) return null;
    if (light.map === id) return { ...light, colour };
    return light.colour === colour ? { ...light, colour: before } : light;
  });
}

/** Limits and names come anew from the core; the colour may be the user's own. @param {Light|null} light @param {Light[]} defaults */
function withDefaults(light, defaults) {
  const now = defaults.find(({ map }) => map === light?.map);
  return light === null || now === undefined ? light : { ...now, colour: light.colour };
}

/** @param {State} state @param {Extract<Change, {type: "stack"}>} change
 * @returns {State} */
function withStack(state, { maps, photos, grid, questions, fields = [], points = [] }) {
  // The same map, and not another one that has come to its id because a file before it could not be read again.
  const there = (/** @type {string|null} */ id) => {
    const now = maps.find((map) => map.id === id);
    const before = state.maps.find((map) => map.id === id);
    return now !== undefined && (before === undefined || (before.file_sha256 === now.file_sha256 && before.page === now.page));
  };
  // While files come in one after the other, one that shows nothing is not held on to.
  const is_held = there(state.map) && (state.map_chosen || state.reading === null);
  const map = is_held ? state.map : firstToShow(maps);
  const photo = photos.some(({ id }) => id === state.photo) ? state.photo : photos[0]?.id ?? null;
  const question = questions.some(({ key }) => key === state.question) ? state.question : questions[0]?.key ?? null;
  const answer = isAsKept(state) || state.maps.every(({ id }) => there(id)) ? state.answer : null;
  let { mode } = state;
  // A photo alone is shown at once; the first map after it takes the view, because maps are what the page is for.
  if (maps.length === 0 && photos.length > 0) mode = "photo";
  else if (mode === "photo" && state.maps.length === 0) mode = "map";
  else if (mode === "answer" && state.answer !== null && answer === null) mode = "map";
  const lights = state.lights.map((light) => (light !== null && there(light.map) ? light : null));
  const settings = keptChoices(questions, state.settings, there);
  const shown = answer === null ? null : state.shown;
  const limits = Object.fromEntries(Object.entries(state.limits).filter(([id]) => there(id)));
  const views = state.views.map((view) => ({
    ...view,
    map: there(view.map) ? view.map : null,
    photo: photos.some(({ id }) => id === view.photo) ? view.photo : null,
    mode: view.mode === "answer" && answer === null && state.answer !== null ? /** @type {const} */ ("map") : view.mode,
  }));
  const aligning = resumed({ ...state, maps, photos, grid, fields });
  const photo_under = keptUnder(state.photo_under, photos);
  return filled({ ...state, ...withMaps(state, maps), ...withPoints(state, points), aligning, photo_under, maps, photos, fields, grid, questions, map, photo, question, mode, lights, settings, answer, shown, limits, views, step_trouble: null });
}

/** An answer with a picture shows it, because "where" is answered by a place; `turn` is false where nobody asked just now, and the
 * view stays as it is. @param {State} state @param {Extract<Change, {type: "answered"}>} change
 * @returns {State} */
function withAnswer(state, { answer, rasters = {}, turn }) {
  const show = answer.shows.find((one) => one.show === state.shown?.show) ?? answer.shows[0];
  const next = { ...state, asking: null, answer, rasters: plotted(answer, rasters), ask_trouble: null, brush: state.brush?.answer === answer.id ? state.brush : null,
    place: state.place?.answer === answer.id ? state.place : null };
  if (show) return { ...next, mode: turn && !shows(state, "answer") ? "answer" : state.mode, shown: { answer: answer.id, show: show.show } };
  return { ...next, shown: null, mode: state.mode === "answer" ? "map" : state.mode };
}

/** Which maps a view shows at present.
 * @param {State} state @param {number} [view] the active one unless said otherwise
 * @returns {string[]} */
export function mapsInView(state, view = state.active) {
  const subject = state.views[view];
  if (subject === undefined) return [];
  if (subject.mode === "map" || subject.mode === "overlap") return subject.map === null ? [] : [subject.map];
  if (subject.mode === "overlay") return state.lights.flatMap((light) => (light === null ? [] : [light.map]));
  if (subject.mode === "answer" && state.answer !== null && state.shown !== null) {
    return Object.values(state.answer.settings).filter((value) => typeof value === "string" && state.maps.some(({ id }) => id === value)).map(String);
  }
  return [];
}

/** Which maps are seen in any view, each once, those of the active view first.
 * @param {State} state
 * @returns {string[]} */
export function mapsInViews(state) {
  const all = state.views.slice(0, state.layout).flatMap((_, view) => mapsInView(state, view));
  return [...new Set([...mapsInView(state), ...all])];
}

/** Whether any of the views shows maps, with which a photo can be seen. @param {State} state */
export function layersSeen(state) {
  return ["map", "overlap", "overlay", "answer"].some((mode) => shows(state, /** @type {Mode} */ (mode)));
}

/** What a view shows: the settings of its picture without the window, the size of the plane it lies in, how many pixels of it a pixel
 * of the picture's source covers, whether maps' values can be read there, and whether it lies on the grid, where regions do too.
 * @typedef {{settings: PictureSettings, width: number, height: number, aspect: number, cell: [number, number], plane: string,
 *   readable: boolean, on_grid: boolean, fingerprint: string}} Target */

/** What a view shows, or `message` when there is nothing to show.
 * @param {State} state @param {number} [view] the active one unless said otherwise
 * @returns {Target|{message: string}} */
export function targetOf(state, view = state.active) {
  const grid = state.grid ?? { width: 0, height: 0, pixel_aspect: 1 };
  const of = (/** @type {PictureSettings} */ settings, { width = grid.width, height = grid.height, aspect = grid.pixel_aspect ?? 1,
    cell = /** @type {[number, number]} */ ([1, 1]), plane = "maps", readable = true, on_grid = true } = {}) => {
    // A picture is out of date when its settings, one of its maps (name, kind, limits), its photo (how it lies) or the step has changed.
    const made_from = [...state.maps.filter(({ id }) => mapsInView(state, view).includes(id)), ...state.photos.filter(({ id }) => "photo" in settings && id === settings.photo)];
    // What overlaps could give rests on the warnings too.
    const doubts = "overlap" in settings ? state.warnings.filter((warning) => warning.map === settings.overlap) : [];
    const fingerprint = JSON.stringify([settings, made_from, ...doubts, state.grid?.step_x_um ?? null, state.grid?.step_y_um ?? null]);
    return { settings, width, height, aspect, cell, plane: `${plane} ${width} ${height} ${aspect}`, readable, on_grid, fingerprint };
  };
  const subject = state.views[view] ?? NOTHING;
  const scale = state.scale === "linear" ? {} : { scale: state.scale };
  const of_answer = subject.mode === "answer" ? Object.values(state.answer?.settings ?? {}).flat().filter((value) => state.maps.some(({ id }) => id === value)).map(String) : null;
  const other = otherPlane(state, of_answer ?? mapsInView(state, view));
  switch (subject.mode) {
    case "overlap":
    case "map": {
      const map = state.maps.find(({ id }) => id === subject.map);
      if (!map) return { message: state.findings.length > 0 ? "No maps are open. Open a finding to see its picture as it was kept." : "No map is open yet. Add files, or drop them anywhere." };
      const cell = map.cell ?? [1, 1];
      const colours = state.colours === "grey" ? {} : { colours: state.colours };
      const size = { width: map.width * cell[0], height: map.height * cell[1] };
      const settings = subject.mode === "overlap" ? { overlap: map.id, ...colours } : { map: map.id, ...state.limits[map.id], ...scale, ...colours };
      if (other !== null) return of(settings, { ...other, cell });
      return of({ ...settings, ...underSettings(state, size, [map.id]) }, { ...size, cell });
    }
    case "overlay": {
      const lights = state.lights.flatMap((light) => (light === null ? [] : [lightNow(state, light)]))
        .map(({ map, colour, low, high, gamma }) => ({ map, colour, low, high, gamma, ...scale }));
      if (other !== null) return of({ lights }, other);
      return lights.length > 0 ? of({ lights, ...underSettings(state, grid, mapsInView(state, view)) }) : { message: "No light is on. Press the dot beside a map to lay it over others as a coloured light." };
    }
    case "answer": {
      const shown = shownIn(state, view);
      if (shown && isAsKept(state)) return { message: withoutLive(state) };
      if (shown && other !== null) return of({ ...shown }, other);
      return shown ? of({ ...shown, ...underSettings(state, grid, mapsInView(state, view)) }) : { message: withoutAnswer(state) };
    }
    case "photo": {
      const photo = state.photos.find(({ id }) => id === subject.photo);
      if (photo && isLaid(state, photo)) return of({ photo: photo.id, on: "grid" });
      return photo ? of({ photo: photo.id }, { width: photo.width, height: photo.height, aspect: 1, plane: "photo", readable: false, on_grid: false }) : { message: "No photo is open." };
    }
  }
}

/** Another scan than the first has pixels of its own, and nothing that lies on the grid lies there; null for maps of the first.
 * @param {State} state @param {string[]} ids of the maps that are seen */
function otherPlane({ maps }, [id]) {
  const map = maps.find((one) => one.id === id);
  if (map === undefined || scanOf(map) === 0) return null;
  const [across, down] = map.cell ?? [1, 1];
  return { width: map.width * across, height: map.height * down, plane: `scan ${scanOf(map)}`, on_grid: false };
}

/** A light with the limits of its map, if the user set them. @param {State} state @param {Light} light
 * @returns {Light} */
export function lightNow(state, light) {
  return { ...light, ...state.limits[light.map] };
}

/** @param {State} state */
function withoutAnswer(state) {
  if (state.asking !== null) return "The answer is being computed.";
  if (state.answer !== null) return "This answer has no picture.";
  return state.ask_trouble !== null ? "There is no answer to show." : "No answer yet. Complete the sentence on the right to ask.";
}

/** The core does not hold an answer that is only shown as it was kept. @param {State} state */
function withoutLive({ asking, opened }) {
  if (asking !== null) return "The answer is asked again, so that its picture can be drawn.";
  return opened?.picture === null ? "No picture was kept with this answer." : "The picture of this answer is there as it was kept.";
}

/** The answer to what the sentence says now; none while another is computed. One that was kept is there at once.
 * @param {State} state
 * @returns {Answer|null} */
export function answerOf(state) {
  return state.asking === null || isAsKept(state) ? state.answer : null;
}

/** The slot of the light that a dot changes: where the map is, else the first free one, else -1.
 * @param {(Light|null)[]} lights @param {string} map */
export function slotOf(lights, map) {
  const at = lights.findIndex((light) => light?.map === map);
  return at >= 0 ? at : lights.indexOf(null);
}
