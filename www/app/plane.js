// Places moved by a rule of the plane, as the core gives it: nine numbers, row by row. Only for where a mark is proposed or drawn; what is
// kept and said is computed by the core. Pure.

/** @typedef {[number, number]} Place */
/** @typedef {{there: number[], back: number[]}} Plane */

/** @param {number[]} m @param {Place} at
 * @returns {Place|null} */
export function through(m, [x, y]) {
  const [a = 0, b = 0, c = 0, d = 0, e = 0, f = 0, g = 0, h = 0, i = 0] = m;
  const w = g * x + h * y + i;
  if (!(w > 1e-12)) return null;
  const to = /** @type {Place} */ ([(a * x + b * y + c) / w, (d * x + e * y + f) / w]);
  return to.every(Number.isFinite) ? to : null;
}

/** @param {number[]} m
 * @returns {number[]|null} */
function inverse(m) {
  const [a = 0, b = 0, c = 0, d = 0, e = 0, f = 0, g = 0, h = 0, i = 0] = m;
  const back = [e * i - f * h, c * h - b * i, b * f - c * e, f * g - d * i, a * i - c * g, c * d - a * f, d * h - e * g, b * g - a * h, a * e - b * d];
  const last = back[8] ?? 0;
  const scaled = back.map((v) => v / last);
  return scaled.every(Number.isFinite) ? scaled : null;
}

/** There and back; where no one rule holds for the whole plane, the flat one through three corners of the photo of this size.
 * @param {number[]|null} transform @param {(Place|null)[]} corners @param {{width: number, height: number}} size
 * @returns {Plane|null} */
export function planeOf(transform, corners, size) {
  const there = transform ?? throughCorners(corners, size);
  const back = there === null ? null : inverse(there);
  return there === null || back === null ? null : { there, back };
}

/** @param {(Place|null)[]} corners from the upper left clockwise @param {{width: number, height: number}} size */
function throughCorners(corners, size) {
  const [a, b, , d] = corners;
  if (!a || !b || !d) return null;
  const { width, height } = size;
  return [(b[0] - a[0]) / width, (d[0] - a[0]) / height, a[0], (b[1] - a[1]) / width, (d[1] - a[1]) / height, a[1], 0, 0, 1];
}

/** A place corrected by how far off the rule is at the nearest pair. @param {Place} to @param {Place} at @param {[Place, Place][]} pairs @param {number[]} rule
 * @returns {Place} */
export function nearestBy(to, at, pairs, rule) {
  const far = (/** @type {[Place, Place]} */ [from]) => Math.hypot(from[0] - at[0], from[1] - at[1]);
  const near = pairs.toSorted((a, b) => far(a) - far(b))[0];
  const by_rule = near === undefined ? null : through(rule, near[0]);
  return near === undefined || by_rule === null ? to : [to[0] + near[1][0] - by_rule[0], to[1] + near[1][1] - by_rule[1]];
}

/** How the plane is stretched and turned at a place: what a step across and a step down become. @param {number[]} m @param {Place} at
 * @returns {[Place, Place]|null} */
export function stretch(m, at) {
  const here = through(m, at);
  const right = through(m, [at[0] + 0.5, at[1]]);
  const left = through(m, [at[0] - 0.5, at[1]]);
  const low = through(m, [at[0], at[1] + 0.5]);
  const high = through(m, [at[0], at[1] - 0.5]);
  if (!here || !right || !left || !low || !high) return null;
  return [[right[0] - left[0], right[1] - left[1]], [low[0] - high[0], low[1] - high[1]]];
}
