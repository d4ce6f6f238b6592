// Where the picture stands on the canvas. Pure geometry of the screen: map pixels to canvas pixels and back.

/** The map pixel in the middle of the canvas, and canvas pixels for one map pixel: `scale` across, `scale * aspect` down, because the
 * pixels of a scan need not be square. `fitted`: follows the size of the canvas.
 * @typedef {{x: number, y: number, scale: number, aspect: number, fitted: boolean}} Camera */
/** @typedef {{width: number, height: number}} Size */
/** What is looked at, in map pixels; `aspect` is the height of one pixel over its width.
 * @typedef {{width: number, height: number, aspect: number}} Source */
/** @typedef {import("./types.js").ViewWindow} ViewWindow */

/** One map pixel is never drawn longer than this many canvas pixels. */
const LARGEST = 96;

/** The whole source, centred, with a margin.
 * @param {Source} source @param {Size} canvas @param {number} margin in canvas pixels
 * @returns {Camera} */
export function fit(source, canvas, margin) {
  const { aspect } = source;
  const across = Math.max(1, canvas.width - 2 * margin) / source.width;
  const down = Math.max(1, canvas.height - 2 * margin) / (source.height * aspect);
  return { x: source.width / 2, y: source.height / 2, scale: Math.min(across, down, largest(aspect)), aspect, fitted: true };
}

/** @param {number} aspect */
function largest(aspect) {
  return LARGEST / Math.max(1, aspect);
}

/** The window of a source, centred and as large as the canvas lets it be seen whole.
 * @param {{x: number, y: number, width: number, height: number}} window in map pixels @param {Source} source @param {Size} canvas
 * @returns {Camera} */
export function framed(window, source, canvas) {
  const { aspect } = source;
  const smallest = fit(source, canvas, 0).scale / 2;
  const wanted = Math.min(Math.max(1, canvas.width) / window.width, Math.max(1, canvas.height) / (window.height * aspect));
  const scale = Math.min(largest(aspect), Math.max(smallest, wanted));
  return kept({ x: window.x + window.width / 2, y: window.y + window.height / 2, scale, aspect, fitted: false }, source);
}

/** Nearer or farther by `factor`; the map pixel at the canvas position stays where it is.
 * @param {Camera} camera @param {number} factor @param {number} at_x @param {number} at_y @param {Source} source @param {Size} canvas
 * @returns {Camera} */
export function zoom(camera, factor, at_x, at_y, source, canvas) {
  const smallest = fit(source, canvas, 0).scale / 2;
  const scale = Math.min(largest(camera.aspect), Math.max(smallest, camera.scale * factor));
  const [x, y] = toMap(camera, at_x, at_y, canvas);
  const down = scale * camera.aspect;
  return kept({ ...camera, x: x - (at_x - canvas.width / 2) / scale, y: y - (at_y - canvas.height / 2) / down, scale, fitted: false }, source);
}

/** @param {Camera} camera @param {number} dx in canvas pixels; the picture follows the hand @param {number} dy @param {Source} source
 * @returns {Camera} */
export function pan(camera, dx, dy, source) {
  return kept({ ...camera, x: camera.x - dx / camera.scale, y: camera.y - dy / (camera.scale * camera.aspect), fitted: false }, source);
}

/** Bring a map pixel into sight with as little movement as possible.
 * @param {Camera} camera @param {number} x @param {number} y @param {Source} source @param {Size} canvas
 * @returns {Camera} */
export function reveal(camera, x, y, source, canvas) {
  const [at_x, at_y] = toCanvas(camera, x, y, canvas);
  const edge = 24;
  const over = (/** @type {number} */ at, /** @type {number} */ length) => (at < edge ? edge - at : at > length - edge ? length - edge - at : 0);
  const dx = over(at_x, canvas.width);
  const dy = over(at_y, canvas.height);
  return dx === 0 && dy === 0 ? camera : pan(camera, dx, dy, source);
}

/** The picture cannot be lost: the middle of the canvas stays on it.
 * @param {Camera} camera @param {Source} source
 * @returns {Camera} */
function kept(camera, source) {
  return { ...camera, x: Math.min(source.width, Math.max(0, camera.x)), y: Math.min(source.height, Math.max(0, camera.y)) };
}

/** @param {Camera} camera @param {number} at_x @param {number} at_y @param {Size} canvas
 * @returns {[number, number]} map pixels */
export function toMap(camera, at_x, at_y, canvas) {
  return [camera.x + (at_x - canvas.width / 2) / camera.scale, camera.y + (at_y - canvas.height / 2) / (camera.scale * camera.aspect)];
}

/** @param {Camera} camera @param {number} x in map pixels @param {number} y @param {Size} canvas
 * @returns {[number, number]} canvas pixels */
export function toCanvas(camera, x, y, canvas) {
  return [(x - camera.x) * camera.scale + canvas.width / 2, (y - camera.y) * camera.scale * camera.aspect + canvas.height / 2];
}

/** The part of the map plane that the canvas shows, for the core; `share` asks for fewer pixels than the canvas has.
 * @param {Camera} camera @param {Size} canvas @param {number} [share] above 0, up to 1
 * @returns {ViewWindow} */
export function windowOf(camera, canvas, share = 1) {
  const [x, y] = toMap(camera, 0, 0, canvas);
  const out = (/** @type {number} */ length) => Math.max(1, Math.round(length * share));
  return {
    x, y, width: canvas.width / camera.scale, height: canvas.height / (camera.scale * camera.aspect),
    out_width: out(canvas.width), out_height: out(canvas.height),
  };
}

/** The same window in the pixels of a binned map, each of which stands for `cell` pixels of the grid.
 * @param {ViewWindow} view @param {[number, number]} cell
 * @returns {ViewWindow} */
export function inCells(view, [across, down]) {
  return { ...view, x: view.x / across, y: view.y / down, width: view.width / across, height: view.height / down };
}

/** The part of a window that lies on the source; null if none does.
 * @param {{x: number, y: number, width: number, height: number}} view @param {Size} source
 * @returns {{x: number, y: number, width: number, height: number}|null} */
export function onSource(view, source) {
  const x = Math.max(0, view.x);
  const y = Math.max(0, view.y);
  const width = Math.min(source.width, view.x + view.width) - x;
  const height = Math.min(source.height, view.y + view.height) - y;
  return width > 0 && height > 0 ? { x, y, width, height } : null;
}

/** Two views stand one above the other only where that makes them so much larger; a little would make them jump whenever what stands
 * below them grows or shrinks. */
const WORTH_STACKING = 1.5;

/** How many columns this many views have that share a place.
 * @param {number} count 1, 2 or 4 @param {Size} place @param {Source} source
 * @returns {number} */
export function columnsFor(count, place, source) {
  if (count !== 2) return Math.ceil(Math.sqrt(count));
  const scale = (/** @type {number} */ columns) => Math.min(place.width / columns / source.width, place.height / (count / columns) / (source.height * source.aspect));
  return scale(1) >= WORTH_STACKING * scale(2) ? 1 : 2;
}
