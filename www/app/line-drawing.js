// A line over the picture while it is drawn, by pointer or by keys. Pure; places are in pixels of the grid.

/** @typedef {[number, number]} Point */
/** `at`: where the pointer or the keyboard is; `from`: the end that is set. @typedef {{at: Point, from: Point|null}} Drawing */

/** With Shift an arrow goes this far. */
const FAR = 10;
/** Shorter than this in pixels is a press and no line. */
const SHORTEST = 2;

/** @param {{width: number, height: number}} grid
 * @returns {Drawing} in the middle, so that the keyboard begins somewhere in sight */
export function begun({ width, height }) {
  return { at: [Math.floor(width / 2), Math.floor(height / 2)], from: null };
}

/** @param {Point} at @param {{width: number, height: number}} grid
 * @returns {Point} */
export function inGrid([x, y], { width, height }) {
  const held = (/** @type {number} */ value, /** @type {number} */ length) => Math.round(Math.min(length, Math.max(0, value)) * 100) / 100;
  return [held(x, width), held(y, height)];
}

/** @param {Point} a @param {Point} b */
export function isLine([ax, ay], [bx, by]) {
  return Math.hypot(ax - bx, ay - by) >= SHORTEST;
}

/** What a key does to it: arrows move, Enter sets an end and then the other, Escape leaves. Null if the key does nothing here.
 * @param {Drawing} drawing @param {string} key @param {boolean} shift @param {{width: number, height: number}} grid
 * @returns {{drawing: Drawing}|{line: {from: Point, to: Point}}|{left: true}|null} */
export function keyed(drawing, key, shift, grid) {
  if (key === "Escape") return drawing.from === null ? { left: true } : { drawing: { ...drawing, from: null } };
  if (key === "Enter" || key === " ") {
    if (drawing.from === null) return { drawing: { ...drawing, from: drawing.at } };
    return isLine(drawing.from, drawing.at) ? { line: { from: drawing.from, to: drawing.at } } : { drawing };
  }
  const by = /** @type {Record<string, Point>} */ ({ ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] })[key];
  if (by === undefined) return null;
  const step = shift ? FAR : 1;
  return { drawing: { ...drawing, at: inGrid([drawing.at[0] + step * by[0], drawing.at[1] + step * by[1]], grid) } };
}
