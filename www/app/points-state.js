// Analysis points: where other techniques measured. Pure.

/** @typedef {{points: import("./types.js").AnalysisPoint[]}} PointsState */
/** @typedef {{type: "points", points: import("./types.js").AnalysisPoint[]}} PointsChange */

/** @type {PointsState} */
export const POINTS_START = Object.freeze({ points: [] });
