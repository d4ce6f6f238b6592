// The axis of a histogram: places along it and the limits that stand on it. Pure. The core gives the edges of bins as values and as places
// along the axis as it is drawn, whatever its scale, so no formula is needed here.

/** @typedef {{low: number, high: number}} Limits */
/** @typedef {"low"|"high"} End */
/** Edges of bins, ascending, two or more, and where they stand, 0 to 1; without places the bins are equally wide.
 * @typedef {{edges: number[], places?: number[]}} Axis */

/** Where an edge stands, 0 to 1. @param {Axis} axis @param {number} index */
function standOf({ edges, places }, index) {
  return places?.[index] ?? index / (edges.length - 1);
}

/** @param {Axis} axis @param {number} value
 * @returns {number} 0 to 1; values beyond the axis stand at its ends */
export function placeOf(axis, value) {
  const after = axis.edges.findIndex((edge) => edge > value);
  if (after === 0) return 0;
  if (after < 0) return 1;
  const [from, to] = [/** @type {number} */ (axis.edges[after - 1]), /** @type {number} */ (axis.edges[after])];
  const [left, right] = [standOf(axis, after - 1), standOf(axis, after)];
  return left + ((value - from) / (to - from)) * (right - left);
}

/** The bin in which a place lies. @param {Axis} axis @param {number} place 0 to 1 */
function binAt(axis, place) {
  const last = axis.edges.length - 2;
  for (let bin = last; bin > 0; bin -= 1) if (standOf(axis, bin) <= place) return bin;
  return 0;
}

/** @param {Axis} axis @param {number} place 0 to 1
 * @returns {number} */
export function valueAt(axis, place) {
  const at = Math.min(1, Math.max(0, place));
  const bin = binAt(axis, at);
  const [from, to] = [/** @type {number} */ (axis.edges[bin]), /** @type {number} */ (axis.edges[bin + 1])];
  const [left, right] = [standOf(axis, bin), standOf(axis, bin + 1)];
  return right > left ? from + ((at - left) / (right - left)) * (to - from) : from;
}

/** The round step in which a limit moves here: 1, 10, 0.1 ..., at most as wide as the bin.
 * @param {Axis} axis @param {number} value
 * @returns {number} */
export function stepAt(axis, value) {
  const bin = binAt(axis, placeOf(axis, value));
  const width = /** @type {number} */ (axis.edges[bin + 1]) - /** @type {number} */ (axis.edges[bin]);
  return width > 0 ? 10 ** Math.floor(Math.log10(width)) : 1;
}

/** @param {number} value @param {number} step a power of ten
 * @returns {number} the nearest multiple, without the dust of binary fractions */
function rounded(value, step) {
  return Number((Math.round(value / step) * step).toPrecision(12));
}

/** The limits after one end was taken to a place; it stops short of the other end.
 * @param {Axis} axis @param {Limits} limits @param {End} end @param {number} place
 * @returns {Limits} */
export function dragged(axis, limits, end, place) {
  const value = valueAt(axis, place);
  return stopped(limits, end, rounded(value, stepAt(axis, value)), stepAt(axis, value));
}

/** @param {Limits} limits @param {End} end @param {number} value @param {number} step @returns {Limits} */
function stopped(limits, end, value, step) {
  if (end === "low") return { ...limits, low: value < limits.high ? value : Math.max(Math.min(limits.low, limits.high), rounded(limits.high - step, step)) };
  return { ...limits, high: value > limits.low ? value : Math.min(Math.max(limits.low, limits.high), rounded(limits.low + step, step)) };
}

/** What an arrow, Page, Home or End key on a handle does; null if the key is none of them.
 * @param {Axis} axis @param {Limits} limits @param {End} end @param {string} key
 * @returns {Limits|null} */
export function keyed(axis, limits, end, key) {
  const now = limits[end];
  const by = { ArrowLeft: -0.01, ArrowDown: -0.01, ArrowRight: 0.01, ArrowUp: 0.01, PageDown: -0.1, PageUp: 0.1 }[key];
  if (key === "Home") return dragged(axis, limits, end, 0);
  if (key === "End") return dragged(axis, limits, end, 1);
  if (by === undefined) return null;
  const there = dragged(axis, limits, end, placeOf(axis, now) + by);
  if (Math.sign(there[end] - now) === Math.sign(by)) return there;
  // The hundredth part was less than a step.
  const step = stepAt(axis, now);
  const next = rounded(now + Math.sign(by) * step, step);
  const in_reach = next >= /** @type {number} */ (axis.edges[0]) && next <= /** @type {number} */ (axis.edges.at(-1));
  return in_reach ? stopped(limits, end, next, step) : limits;
}

/** A typed number, with point or comma, spaces between thousands and either minus; null if it is none.
 * @param {string} text
 * @returns {number|null} */
export function numberOf(text) {
  const bare = text.replace(/[\s\u00a0\u202f]/g, "").replace("−", "-").replace(",", ".");
  const value = bare === "" ? NaN : Number(bare);
  return Number.isFinite(value) ? value : null;
}

/** A limit as it stands in its field: short enough to be read, exact enough to be set again.
 * @param {number} value
 * @returns {string} */
export function limitText(value) {
  const short = Math.abs(value) >= 100 ? Math.round(value) : Number(value.toPrecision(4));
  return String(short).replace("-", "−");
}

/** Typed limits, or what is wrong with them.
 * @param {Limits} limits @param {End} end @param {string} text
 * @returns {Limits|string} */
export function typedLimit(limits, end, text) {
  const value = numberOf(text);
  if (value === null) return "Give a number, for example 12.5.";
  const next = { ...limits, [end]: value };
  return next.low < next.high ? next : "The lower limit must be below the upper one.";
}

/** The outline of the bars for `clip-path`, in per cent of the box.
 * @param {number[]} bars heights from 0 to 1 @param {number[]} [places] where they begin and end, one more than bars
 * @returns {string} */
export function outlineOf(bars, places) {
  const number = (/** @type {number} */ value) => `${Math.round(value * 1e4) / 100}%`;
  const stands = (/** @type {number} */ index) => number(places?.[index] ?? index / bars.length);
  const corners = bars.flatMap((height, index) => {
    const top = number(1 - Math.min(1, Math.max(0, height)));
    return [`${stands(index)} ${top}`, `${stands(index + 1)} ${top}`];
  });
  return `polygon(${stands(0)} 100%, ${corners.join(", ")}, ${stands(bars.length)} 100%)`;
}

/** Colours from place to place, and the end colours beyond, as a gradient.
 * @param {string[]} colours @param {number} from 0 to 1 @param {number} to
 * @returns {string} */
export function toneOf(colours, from, to) {
  if (colours.length < 2) return "none";
  const stops = colours.map((colour, index) => `${colour} ${((from + ((to - from) * index) / (colours.length - 1)) * 100).toFixed(2)}%`);
  return `linear-gradient(to right, ${stops.join(", ")})`;
}
