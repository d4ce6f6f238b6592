// Analysis points: where other techniques measured. Pure.

/** @typedef {{points: import("./types.js").PointSummary[]}} PointsState */

/** @type {PointsState} */
export const POINTS_START = Object.freeze({ points: [] });
