// What changes around an answer: the form of its question, a rectangle in its joint plot, a region marked there, a line being drawn. Pure.

/** @typedef {import("./state.js").State} State */
/** @typedef {import("./types.js").Raster} Raster */

/** A rectangle in the joint plot of an answer, the pixels that it lights, and what was made of it. `name` is the region that it was kept as.
 * @typedef {{answer: string, from: [number, number], to: [number, number], lit: {mask: Raster, text: string}|null, trouble: string, name: string}} BrushState */
/** A region's pixels in the bins of an answer's joint plot.
 * @typedef {{answer: string, region: string, label: string, bins: Raster}} Marked */

/** One of the places that an answer proposes to measure at. @typedef {{answer: string, index: number}} ChosenPlace */

/** `place`: the proposed place that is shown in the view. `rasters`: those of the answer that its plots draw. `forms`: the form of each question that is not its first. `drawing_line`: the setting for which the next line over the picture is.
 * @typedef {{forms: Record<string, string>, brush: BrushState|null, marked: Marked|null, rasters: Record<string, Raster>, drawing_line: string|null, place: ChosenPlace|null}} AnswerState */
/** @typedef {{type: "form", question: string, key: string} | {type: "brush", brush: BrushState|null} | {type: "marked", marked: Marked|null}
 *   | {type: "drawing_line", setting: string|null} | {type: "place", place: ChosenPlace|null}} AnswerChange */

/** @type {AnswerState} */
export const ANSWER_START = Object.freeze({ forms: {}, brush: null, marked: null, rasters: {}, drawing_line: null, place: null });

/** @type {AnswerChange["type"][]} */
const TYPES = ["form", "brush", "marked", "drawing_line", "place"];

/** @param {{type: string}} change
 * @returns {change is AnswerChange} */
export function isOfAnswers(change) {
  return TYPES.some((one) => one === change.type);
}

/** @param {State} state @param {AnswerChange} change
 * @returns {State} */
export function answerChanged(state, change) {
  switch (change.type) {
    case "form":
      return { ...state, forms: { ...state.forms, [change.question]: change.key }, drawing_line: null, hint: "" };
    case "brush":
      return { ...state, brush: change.brush };
    case "marked":
      return { ...state, marked: change.marked };
    case "place":
      return { ...state, place: change.place };
    case "drawing_line":
      return { ...state, drawing_line: change.setting, drawing: change.setting === null ? state.drawing : null,
        picking: change.setting === null ? state.picking : null, proposal: change.setting !== null && state.picking !== null ? null : state.proposal };
  }
}

/** Of the rasters of an answer those that its plots draw; the others are the core's.
 * @param {import("./types.js").Answer} answer @param {Record<string, Raster>} rasters
 * @returns {Record<string, Raster>} */
export function plotted(answer, rasters) {
  const names = new Set((answer.plots ?? []).flatMap((plot) => (plot.kind === "joint" ? [plot.raster] : [])));
  return Object.fromEntries(Object.entries(rasters).filter(([name]) => names.has(name)));
}
