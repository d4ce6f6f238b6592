// The state of the page and how it changes. Pure: no page, no worker, no clock.

/** @typedef {import("./types.js").MapSummary} MapSummary */
/** @typedef {import("./types.js").PhotoSummary} PhotoSummary */
/** @typedef {import("./types.js").Grid} Grid */
/** @typedef {import("./types.js").Light} Light */
/** @typedef {import("./types.js").Notice} Notice */
/** @typedef {import("./types.js").Question} Question */
/** @typedef {import("./types.js").Answer} Answer */
/** @typedef {import("./types.js").Problem} Problem */
/** @typedef {import("./types.js").Progress} Progress */
/** @typedef {import("./types.js").PictureSettings} PictureSettings */

/** @typedef {"map"|"overlay"|"answer"|"photo"} Mode */
/** Notices that say the same of several files are one line of the list.
 * @typedef {{key: string, severity: Notice["severity"], text: string, files: string[]}} NoticeLine */
/** @typedef {{done: number, total: number, name: string}} Reading */

/** @typedef {{
 *   phase: "starting"|"ready"|"broken", trouble: Problem|null,
 *   maps: MapSummary[], photos: PhotoSummary[], grid: Grid|null, questions: Question[],
 *   reading: Reading|null, notices: NoticeLine[], hint: string,
 *   mode: Mode, map: string|null, lights: (Light|null)[], photo: string|null, shown: {answer: string, show: string}|null,
 *   question: string|null, settings: Record<string, string>,
 *   asking: Progress|null, answer: Answer|null, ask_trouble: Problem|null, step_trouble: Problem|null,
 * }} State */

/** @typedef {{type: "ready"} | {type: "broken", problem: Problem}
 *   | {type: "reading", reading: Reading|null}
 *   | {type: "notices", notices: Notice[]} | {type: "dismiss", key: string} | {type: "dismiss_all"}
 *   | {type: "stack", maps: MapSummary[], photos: PhotoSummary[], grid: Grid, questions: Question[]}
 *   | {type: "mode", mode: Mode} | {type: "show_map", id: string} | {type: "show_photo", id: string} | {type: "show_answer", show: string}
 *   | {type: "lights", lights: (Light|null)[]} | {type: "hint", text: string}
 *   | {type: "question", key: string} | {type: "setting", name: string, value: string}
 *   | {type: "asking", progress: Progress} | {type: "answered", answer: Answer, turn: boolean} | {type: "ask_failed", problem: Problem|null}
 *   | {type: "step_failed", problem: Problem|null}} Change */

/** More lights than this mix to colours that nobody can read back. */
export const LIGHTS = 4;

/** @type {State} */
export const START = Object.freeze({
  phase: "starting", trouble: null,
  maps: [], photos: [], grid: null, questions: [],
  reading: null, notices: [], hint: "",
  mode: "map", map: null, lights: Array.from({ length: LIGHTS }, () => null), photo: null, shown: null,
  question: null, settings: {},
  asking: null, answer: null, ask_trouble: null, step_trouble: null,
});

/** @param {State} state @param {Change} change
 * @returns {State} */
export function reduce(state, change) {
  switch (change.type) {
    case "ready":
      return { ...state, phase: "ready" };
    case "broken":
      return { ...state, phase: "broken", trouble: change.problem, reading: null, asking: null };
    case "reading":
      return { ...state, reading: change.reading };
    case "notices":
      return { ...state, notices: change.notices.reduce(withNotice, state.notices) };
    case "dismiss":
      return { ...state, notices: state.notices.filter((line) => line.key !== change.key) };
    case "dismiss_all":
      return { ...state, notices: [] };
    case "stack":
      return withStack(state, change);
    case "mode":
      return { ...state, mode: change.mode, hint: "" };
    case "show_map":
      return { ...state, mode: "map", map: change.id, hint: "" };
    case "show_photo":
      return { ...state, mode: "photo", photo: change.id, hint: "" };
    case "show_answer":
      return state.answer === null ? state : { ...state, mode: "answer", shown: { answer: state.answer.id, show: change.show } };
    case "lights":
      return { ...state, lights: change.lights, mode: change.lights.some(Boolean) || state.mode === "overlay" ? "overlay" : state.mode, hint: "" };
    case "hint":
      return { ...state, hint: change.text };
    case "question":
      return { ...state, question: change.key, hint: "" };
    case "setting":
      return { ...state, settings: { ...state.settings, [change.name]: change.value }, hint: "" };
    case "asking":
      return { ...state, asking: change.progress, ask_trouble: null };
    case "answered":
      return withAnswer(state, change);
    case "ask_failed":
      return { ...state, asking: null, answer: null, shown: null, ask_trouble: change.problem };
    case "step_failed":
      return { ...state, step_trouble: change.problem };
  }
}

/** @param {NoticeLine[]} lines @param {Notice} notice
 * @returns {NoticeLine[]} */
function withNotice(lines, notice) {
  const key = `${notice.severity} ${notice.code} ${notice.text}`;
  const same = lines.find((line) => line.key === key);
  if (!same) return [...lines, { key, severity: notice.severity, text: notice.text, files: notice.file === "" ? [] : [notice.file] }];
  const files = same.files.includes(notice.file) || notice.file === "" ? same.files : [...same.files, notice.file];
  return lines.map((line) => (line === same ? { ...line, files } : line));
}

/** @param {State} state @param {Extract<Change, {type: "stack"}>} change
 * @returns {State} */
function withStack(state, { maps, photos, grid, questions }) {
  // The same map, and not another one that has come to its id because a file before it could not be read again.
  const there = (/** @type {string|null} */ id) => {
    const now = maps.find((map) => map.id === id);
    const before = state.maps.find((map) => map.id === id);
    return now !== undefined && (before === undefined || (before.file_sha256 === now.file_sha256 && before.page === now.page));
  };
  const map = there(state.map) ? state.map : maps[0]?.id ?? null;
  const photo = photos.some(({ id }) => id === state.photo) ? state.photo : photos[0]?.id ?? null;
  const question = questions.some(({ key }) => key === state.question) ? state.question : questions[0]?.key ?? null;
  const answer = state.maps.every(({ id }) => there(id)) ? state.answer : null;
  let { mode } = state;
  // A photo alone is shown at once; the first map after it takes the view, because maps are what the page is for.
  if (maps.length === 0 && photos.length > 0) mode = "photo";
  else if (mode === "photo" && state.maps.length === 0) mode = "map";
  else if (mode === "answer" && state.answer !== null && answer === null) mode = "map";
  const lights = state.lights.map((light) => (light !== null && there(light.map) ? light : null));
  const settings = Object.fromEntries(Object.entries(state.settings).filter(([name, value]) => settingKind(questions, name) !== "map" || there(value)));
  const shown = answer === null ? null : state.shown;
  return { ...state, maps, photos, grid, questions, map, photo, question, mode, lights, settings, answer, shown, step_trouble: null };
}

/** @param {Question[]} questions @param {string} name */
function settingKind(questions, name) {
  return questions.flatMap((question) => question.parts).find((part) => part.setting === name)?.kind;
}

/** An answer with a picture shows it, because "where" is answered by a place; `turn` is false where nobody asked just now, and the
 * view stays as it is. @param {State} state @param {Extract<Change, {type: "answered"}>} change
 * @returns {State} */
function withAnswer(state, { answer, turn }) {
  const show = answer.shows.find((one) => one.show === state.shown?.show) ?? answer.shows[0];
  const next = { ...state, asking: null, answer, ask_trouble: null };
  if (show) return { ...next, mode: turn ? "answer" : state.mode, shown: { answer: answer.id, show: show.show } };
  return { ...next, shown: null, mode: state.mode === "answer" ? "map" : state.mode };
}

/** @param {State} state
 * @returns {Question|null} */
export function questionOf(state) {
  return state.questions.find(({ key }) => key === state.question) ?? null;
}

/** What to ask the core, once every map of the sentence is chosen; null before. What is not chosen is left to the core's defaults.
 * @param {State} state
 * @returns {{question: string, settings: Record<string, string>}|null} */
export function readyToAsk(state) {
  const question = questionOf(state);
  if (question === null || !question.ready) return null;
  /** @type {Record<string, string>} */
  const settings = {};
  for (const part of question.parts) {
    if (part.setting === undefined) continue;
    const value = state.settings[part.setting];
    if (value !== undefined) settings[part.setting] = value;
    else if (part.kind === "map") return null;
  }
  return { question: question.key, settings };
}

/** Which maps the view shows at present.
 * @param {State} state
 * @returns {string[]} */
export function mapsInView(state) {
  if (state.mode === "map") return state.map === null ? [] : [state.map];
  if (state.mode === "overlay") return state.lights.flatMap((light) => (light === null ? [] : [light.map]));
  if (state.mode === "answer" && state.answer !== null && state.shown !== null) {
    return Object.values(state.answer.settings).filter((value) => typeof value === "string" && state.maps.some(({ id }) => id === value)).map(String);
  }
  return [];
}

/** What the view shows: the settings of its picture without the window, the size of the plane it lies in, and whether the maps'
 * values can be read there. `message` instead when there is nothing to show.
 * @param {State} state
 * @returns {{settings: PictureSettings, width: number, height: number, plane: string, readable: boolean, fingerprint: string}|{message: string}} */
export function targetOf(state) {
  const of = (/** @type {PictureSettings} */ settings, /** @type {number} */ width, /** @type {number} */ height, plane = "maps", readable = true) => {
    // A picture is out of date when its settings, one of its maps (name, kind, limits) or the step has changed.
    const made_from = state.maps.filter(({ id }) => mapsInView(state).includes(id));
    const fingerprint = JSON.stringify([settings, made_from, state.grid?.step_x_um ?? null]);
    return { settings, width, height, plane: `${plane} ${width} ${height}`, readable, fingerprint };
  };
  const grid = state.grid ?? { width: 0, height: 0 };
  switch (state.mode) {
    case "map": {
      const map = state.maps.find(({ id }) => id === state.map);
      return map ? of({ map: map.id }, map.width, map.height) : { message: "No map is open yet. Add files, or drop them anywhere." };
    }
    case "overlay": {
      const lights = state.lights.flatMap((light) => (light === null ? [] : [{ map: light.map, colour: light.colour, low: light.low, high: light.high, gamma: light.gamma }]));
      return lights.length > 0 ? of({ lights }, grid.width, grid.height) : { message: "No light is on. Press the dot beside a map to lay it over others as a coloured light." };
    }
    case "answer":
      return state.shown ? of({ ...state.shown }, grid.width, grid.height) : { message: withoutAnswer(state) };
    case "photo": {
      const photo = state.photos.find(({ id }) => id === state.photo);
      return photo ? of({ photo: photo.id }, photo.width, photo.height, "photo", false) : { message: "No photo is open." };
    }
  }
}

/** @param {State} state */
function withoutAnswer(state) {
  if (state.asking !== null) return "The answer is being computed.";
  if (state.answer !== null) return "This answer has no picture.";
  return state.ask_trouble !== null ? "There is no answer to show." : "No answer yet. Complete the sentence on the right to ask.";
}

/** The answer to what the sentence says now; none while another is computed.
 * @param {State} state
 * @returns {Answer|null} */
export function answerOf(state) {
  return state.asking === null ? state.answer : null;
}

/** The slot of the light that a dot changes: where the map is, else the first free one, else -1.
 * @param {(Light|null)[]} lights @param {string} map */
export function slotOf(lights, map) {
  const at = lights.findIndex((light) => light?.map === map);
  return at >= 0 ? at : lights.indexOf(null);
}
