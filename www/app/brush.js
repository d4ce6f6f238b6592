// A rectangle in a joint plot, by the hand or the keys. Places are shares of the axes, 0 to 1, upward. Pure.

/** @typedef {[number, number]} Place */
/** From the lower left to the upper right. @typedef {{from: Place, to: Place}} Brush */

/** Each press of an arrow. */
const STEP = 0.02;
/** Narrower than this is a press and no rectangle. */
const SMALLEST = 0.01;

const inside = (/** @type {number} */ value) => Math.min(1, Math.max(0, value));
const tidy = (/** @type {number} */ value) => Number(inside(value).toFixed(4));

/** Between two places of a drag; null while it is too small to be meant.
 * @param {Place} a @param {Place} b
 * @returns {Brush|null} */
export function dragged(a, b) {
  const [left, right] = [tidy(Math.min(a[0], b[0])), tidy(Math.max(a[0], b[0]))];
  const [low, high] = [tidy(Math.min(a[1], b[1])), tidy(Math.max(a[1], b[1]))];
  return right - left < SMALLEST || high - low < SMALLEST ? null : { from: [left, low], to: [right, high] };
}

/** What a key does: arrows move the frame, with Shift they move its upper right corner; the first press sets it in the middle; Escape takes it
 * away. Undefined if the key does nothing here.
 * @param {Brush|null} brush @param {string} key @param {boolean} shift
 * @returns {Brush|null|undefined} */
export function keyed(brush, key, shift) {
  if (key === "Escape") return brush === null ? undefined : null;
  const by = /** @type {Record<string, Place>} */ ({ ArrowLeft: [-STEP, 0], ArrowRight: [STEP, 0], ArrowUp: [0, STEP], ArrowDown: [0, -STEP] })[key];
  if (by === undefined) return undefined;
  if (brush === null) return { from: [0.4, 0.4], to: [0.6, 0.6] };
  const { from, to } = brush;
  if (shift) {
    const [right, high] = [tidy(to[0] + by[0]), tidy(to[1] + by[1])];
    return right - from[0] < STEP || high - from[1] < STEP ? brush : { from, to: [right, high] };
  }
  // The frame stops at the edges with the size that it has.
  const [dx, dy] = [within(by[0], from[0], to[0]), within(by[1], from[1], to[1])];
  return { from: [tidy(from[0] + dx), tidy(from[1] + dy)], to: [tidy(to[0] + dx), tidy(to[1] + dy)] };
}

/** @param {number} by @param {number} low @param {number} high */
function within(by, low, high) {
  return Math.min(1 - high, Math.max(-low, by));
}
