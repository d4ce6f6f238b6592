// Analysis points, where other techniques measured: their list, a place that is being given, and what is being said of one. Pure.

/** @typedef {import("./state.js").State} State */
/** @typedef {import("./types.js").PointSummary} PointSummary */
/** @typedef {import("./types.js").MaterialChoice} MaterialChoice */

/** What is being said of a point: of one that is there, or of a new one at its place in pixels of the grid.
 * @typedef {{id: string, at: null}|{id: null, at: [number, number]}} PointForm */
/** `placing`: the next place on the picture is that of a point, a new one or one that is there. `point_lit`: the one that is pointed at;
 * `point_shown`: the one that was last asked to be seen; `point_made`: the one that was just added or changed.
 * @typedef {{points: PointSummary[], points_open: boolean, placing: {moves: string|null}|null, point_form: PointForm|null, point_lit: string|null,
 *   point_shown: {id: string}|null, point_made: string|null, point_trouble: {at: "list"|"form", message: string}|null,
 *   techniques: string[], material_choices: MaterialChoice[]}} PointsState */
/** @typedef {{type: "points_open", open: boolean} | {type: "placing", placing: PointsState["placing"]} | {type: "point_form", form: PointForm|null}
 *   | {type: "point_lit", id: string|null} | {type: "point_shown", id: string} | {type: "point_kept", id: string}
 *   | {type: "point_failed", trouble: PointsState["point_trouble"]} | {type: "choices", techniques: string[], materials: MaterialChoice[]}} PointsChange */

/** With Shift an arrow goes this far. */
const FAR = 10;

/** @type {PointsState} */
export const POINTS_START = Object.freeze({
  points: [], points_open: false, placing: null, point_form: null, point_lit: null, point_shown: null, point_made: null, point_trouble: null,
  techniques: [], material_choices: [],
});

/** @type {PointsChange["type"][]} */
const TYPES = ["points_open", "placing", "point_form", "point_lit", "point_shown", "point_kept", "point_failed", "choices"];

/** @template {{type: string}} Any
 * @param {Any} change
 * @returns {change is Extract<Any, PointsChange>} */
export function isOfPoints(change) {
  return TYPES.some((one) => one === change.type);
}

/** @param {State} state @param {PointsChange} change
 * @returns {State} */
export function pointsChanged(state, change) {
  switch (change.type) {
    case "points_open":
      return { ...state, points_open: change.open };
    case "placing":
      if (change.placing === null) return { ...state, placing: null, point_trouble: null };
      // One thing at a time: the hand draws nothing else.
      return { ...state, placing: change.placing, drawing: null, picking: null, proposal: null, drawing_line: null, outlines: true, point_trouble: null };
    case "point_form":
      return { ...state, placing: null, point_form: change.form, points_open: state.points_open || change.form !== null, point_made: null, point_trouble: null };
    case "point_lit":
      return state.point_lit === change.id ? state : { ...state, point_lit: change.id };
    case "point_shown":
      return { ...state, point_shown: { id: change.id }, point_lit: change.id, points_open: true };
    case "point_kept":
      return { ...state, placing: null, point_form: null, point_made: change.id, point_lit: change.id, points_open: true, outlines: true, point_trouble: null };
    case "point_failed":
      return { ...state, point_trouble: change.trouble };
    case "choices":
      return { ...state, techniques: change.techniques, material_choices: change.materials };
  }
}

/** What belongs to a point that is gone goes with it. @param {State} state @param {PointSummary[]} points
 * @returns {Partial<PointsState>} */
export function withPoints(state, points) {
  const gone = (/** @type {string|null|undefined} */ id) => id != null && state.points.some((point) => point.id === id) && !points.some((point) => point.id === id);
  return {
    points,
    placing: gone(state.placing?.moves) ? null : state.placing,
    point_form: gone(state.point_form?.id) ? null : state.point_form,
    point_lit: gone(state.point_lit) ? null : state.point_lit,
    point_shown: gone(state.point_shown?.id) ? null : state.point_shown,
    point_made: gone(state.point_made) ? null : state.point_made,
  };
}

/** Whoever takes the picture into the hand for something else gives no place of a point any more. @param {State} before @param {State} now
 * @returns {State} */
export function oneHand(before, now) {
  if (now.placing === null) return now;
  const others = /** @type {const} */ (["drawing", "picking", "proposal", "drawing_line", "aligning"]);
  return others.some((one) => now[one] !== null && now[one] !== before[one]) ? { ...now, placing: null } : now;
}

/** The sentence on a point in three parts, its name in the middle: the name is pressed. A sentence without it has it before.
 * @param {Pick<PointSummary, "name"|"text">} point
 * @returns {[string, string, string]} */
export function aroundName({ name, text }) {
  // Before its place: a point may be called as its technique.
  const before_place = text.indexOf(`${name} (`);
  const at = before_place < 0 ? text.indexOf(name) : before_place;
  return at < 0 || name === "" ? ["", name, ` ${text}`] : [text.slice(0, at), name, text.slice(at + name.length)];
}

/** Where the keyboard's cross goes: arrows move it from pixel to pixel, with Shift farther; the first press sets it where one looks.
 * @param {[number, number]|null} mark @param {string} key @param {boolean} far @param {[number, number]} start @param {{width: number, height: number}} grid
 * @returns {[number, number]|null} null for a key that does not move it */
export function markMoved(mark, key, far, start, { width, height }) {
  const by = /** @type {Record<string, [number, number]>} */ ({ ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] })[key];
  if (by === undefined) return null;
  const step = mark === null ? 0 : far ? FAR : 1;
  const [x, y] = mark ?? start;
  // In the middle of a pixel: that is what was measured.
  const held = (/** @type {number} */ value, /** @type {number} */ length) => Math.min(length - 1, Math.max(0, Math.floor(value))) + 0.5;
  return [held(x + step * by[0], width), held(y + step * by[1], height)];
}
/** A place on the grid as it is handed in; null beside it. @param {[number, number]} at @param {{width: number, height: number}} grid
 * @returns {[number, number]|null} */
export function placeOn([x, y], { width, height }) {
  if (!(x >= 0 && y >= 0 && x <= width && y <= height)) return null;
  return [Math.round(x * 100) / 100, Math.round(y * 100) / 100];
}

/** The materials that what is typed finds: every word of it begins a word of a name or of a colour. Names that begin with all of it come first.
 * @param {MaterialChoice[]} materials @param {string} typed
 * @returns {MaterialChoice[]} */
export function materialsFound(materials, typed) {
  const words = typed.toLowerCase().split(/[\s,]+/).filter(Boolean);
  const begins = (/** @type {MaterialChoice} */ { name, other_names }) => [name, ...(other_names ?? [])].findIndex((one) => one.toLowerCase().startsWith(typed.trim().toLowerCase()));
  const said = (/** @type {MaterialChoice} */ { name, other_names, colours }) => [name, ...(other_names ?? []), ...colours].join(" ").toLowerCase().split(/[\s,()/-]+/);
  const found = materials.filter((material) => words.every((word) => said(material).some((one) => one.startsWith(word))));
  const rank = (/** @type {MaterialChoice} */ material) => (begins(material) === 0 ? 0 : begins(material) > 0 ? 1 : 2);
  return words.length === 0 ? found : found.toSorted((a, b) => rank(a) - rank(b));
}

/** The material whose name is typed in full, in letters of any size. @param {MaterialChoice[]} materials @param {string} typed
 * @returns {MaterialChoice|null} */
export function materialNamed(materials, typed) {
  const wanted = typed.trim().toLowerCase();
  return materials.find(({ name }) => name.toLowerCase() === wanted) ?? materials.find(({ other_names }) => (other_names ?? []).some((one) => one.toLowerCase() === wanted)) ?? null;
}
