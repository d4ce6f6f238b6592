// Where the picture stands on the canvas. Pure geometry of the screen: map pixels to canvas pixels and back.

/** The map pixel in the middle of the canvas, and canvas pixels per map pixel. `fitted`: follows the size of the canvas.
 * @typedef {{x: number, y: number, scale: number, fitted: boolean}} Camera */
/** @typedef {{width: number, height: number}} Size */
/** @typedef {import("./types.js").ViewWindow} ViewWindow */

/** One map pixel is never drawn larger than this many canvas pixels. */
const LARGEST = 96;

/** The whole source, centred, with a margin.
 * @param {Size} source @param {Size} canvas @param {number} margin in canvas pixels
 * @returns {Camera} */
export function fit(source, canvas, margin) {
  const scale = Math.min(Math.max(1, canvas.width - 2 * margin) / source.width, Math.max(1, canvas.height - 2 * margin) / source.height, LARGEST);
  return { x: source.width / 2, y: source.height / 2, scale, fitted: true };
}

/** Nearer or farther by `factor`; the map pixel at the canvas position stays where it is.
 * @param {Camera} camera @param {number} factor @param {number} at_x @param {number} at_y @param {Size} source @param {Size} canvas
 * @returns {Camera} */
export function zoom(camera, factor, at_x, at_y, source, canvas) {
  const smallest = fit(source, canvas, 0).scale / 2;
  const scale = Math.min(LARGEST, Math.max(smallest, camera.scale * factor));
  const [x, y] = toMap(camera, at_x, at_y, canvas);
  return kept({ x: x - (at_x - canvas.width / 2) / scale, y: y - (at_y - canvas.height / 2) / scale, scale, fitted: false }, source);
}

/** @param {Camera} camera @param {number} dx in canvas pixels; the picture follows the hand @param {number} dy @param {Size} source
 * @returns {Camera} */
export function pan(camera, dx, dy, source) {
  return kept({ x: camera.x - dx / camera.scale, y: camera.y - dy / camera.scale, scale: camera.scale, fitted: false }, source);
}

/** Bring a map pixel into sight with as little movement as possible.
 * @param {Camera} camera @param {number} x @param {number} y @param {Size} source @param {Size} canvas
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
 * @param {Camera} camera @param {Size} source
 * @returns {Camera} */
function kept(camera, source) {
  return { ...camera, x: Math.min(source.width, Math.max(0, camera.x)), y: Math.min(source.height, Math.max(0, camera.y)) };
}

/** @param {Camera} camera @param {number} at_x @param {number} at_y @param {Size} canvas
 * @returns {[number, number]} map pixels */
export function toMap(camera, at_x, at_y, canvas) {
  return [camera.x + (at_x - canvas.width / 2) / camera.scale, camera.y + (at_y - canvas.height / 2) / camera.scale];
}

/** @param {Camera} camera @param {number} x in map pixels @param {number} y @param {Size} canvas
 * @returns {[number, number]} canvas pixels */
export function toCanvas(camera, x, y, canvas) {
  return [(x - camera.x) * camera.scale + canvas.width / 2, (y - camera.y) * camera.scale + canvas.height / 2];
}

/** The part of the map plane that the canvas shows, for the core.
 * @param {Camera} camera @param {Size} canvas
 * @returns {ViewWindow} */
export function windowOf(camera, canvas) {
  const [x, y] = toMap(camera, 0, 0, canvas);
  return { x, y, width: canvas.width / camera.scale, height: canvas.height / camera.scale, out_width: canvas.width };
}
