// The axis of a histogram: places along it and the limits that stand on it. Pure. The core gives edges of bins that are evenly spaced
// along the axis as it is drawn, whatever its scale, so no formula is needed here.

/** @typedef {{low: number, high: number}} Limits */
/** @typedef {"low"|"high"} End */

/** @param {number[]} edges ascending, two or more @param {number} value
 * @returns {number} 0 to 1; values beyond the axis stand at its ends */
export function placeOf(edges, value) {
  const bins = edges.length - 1;
  const after = edges.findIndex((edge) => edge > value);
  if (after === 0) return 0;
  if (after < 0) return 1;
  const [from, to] = [/** @type {number} */ (edges[after - 1]), /** @type {number} */ (edges[after])];
  return (after - 1 + (value - from) / (to - from)) / bins;
}

/** @param {number[]} edges @param {number} place 0 to 1
 * @returns {number} */
export function valueAt(edges, place) {
  const bins = edges.length - 1;
  const at = Math.min(1, Math.max(0, place)) * bins;
  const bin = Math.min(bins - 1, Math.floor(at));
  const [from, to] = [/** @type {number} */ (edges[bin]), /** @type {number} */ (edges[bin + 1])];
  return from + (at - bin) * (to - from);
}

/** The round step in which a limit moves here: 1, 10, 0.1 ..., at most as wide as the bin.
 * @param {number[]} edges @param {number} value
 * @returns {number} */
export function stepAt(edges, value) {
  const bins = edges.length - 1;
  const bin = Math.min(bins - 1, Math.floor(placeOf(edges, value) * bins));
  const width = /** @type {number} */ (edges[bin + 1]) - /** @type {number} */ (edges[bin]);
  return width > 0 ? 10 ** Math.floor(Math.log10(width)) : 1;
}

/** @param {number} value @param {number} step a power of ten
 * @returns {number} the nearest multiple, without the dust of binary fractions */
function rounded(value, step) {
  return Number((Math.round(value / step) * step).toPrecision(12));
}

/** The limits after one end was taken to a place; it stops short of the other end.
 * @param {number[]} edges @param {Limits} limits @param {End} end @param {number} place
 * @returns {Limits} */
export function dragged(edges, limits, end, place) {
  const value = valueAt(edges, place);
  return stopped(limits, end, rounded(value, stepAt(edges, value)), stepAt(edges, value));
}

/** @param {Limits} limits @param {End} end @param {number} value @param {number} step @returns {Limits} */
function stopped(limits, end, value, step) {
  if (end === "low") return { ...limits, low: value < limits.high ? value : Math.max(Math.min(limits.low, limits.high), rounded(limits.high - step, step)) };
  return { ...limits, high: value > limits.low ? value : Math.min(Math.max(limits.low, limits.high), rounded(limits.low + step, step)) };
}

/** What an arrow, Page, Home or End key on a handle does; null if the key is none of them.
 * @param {number[]} edges @param {Limits} limits @param {End} end @param {string} key
 * @returns {Limits|null} */
export function keyed(edges, limits, end, key) {
  const now = limits[end];
  const by = { ArrowLeft: -0.01, ArrowDown: -0.01, ArrowRight: 0.01, ArrowUp: 0.01, PageDown: -0.1, PageUp: 0.1 }[key];
  if (key === "Home") return dragged(edges, limits, end, 0);
  if (key === "End") return dragged(edges, limits, end, 1);
  if (by === undefined) return null;
  const there = dragged(edges, limits, end, placeOf(edges, now) + by);
  if (Math.sign(there[end] - now) === Math.sign(by)) return there;
  // The hundredth part was less than a step.
  const step = stepAt(edges, now);
  const next = rounded(now + Math.sign(by) * step, step);
  const in_reach = next >= /** @type {number} */ (edges[0]) && next <= /** @type {number} */ (edges.at(-1));
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
 * @param {number[]} bars heights from 0 to 1
 * @returns {string} */
export function outlineOf(bars) {
  const number = (/** @type {number} */ value) => `${Math.round(value * 1e4) / 100}%`;
  const corners = bars.flatMap((height, index) => {
    const top = number(1 - Math.min(1, Math.max(0, height)));
    return [`${number(index / bars.length)} ${top}`, `${number((index + 1) / bars.length)} ${top}`];
  });
  return `polygon(0% 100%, ${corners.join(", ")}, 100% 100%)`;
}

/** Colours from place to place, and the end colours beyond, as a gradient.
 * @param {string[]} colours @param {number} from 0 to 1 @param {number} to
 * @returns {string} */
export function toneOf(colours, from, to) {
  if (colours.length < 2) return "none";
  const stops = colours.map((colour, index) => `${colour} ${((from + ((to - from) * index) / (colours.length - 1)) * 100).toFixed(2)}%`);
  return `linear-gradient(to right, ${stops.join(", ")})`;
}
