// How large a small picture is drawn: in true proportion, never larger than its place. Pure.

/** @param {{width: number, height: number, cell?: [number, number]}} map its own pixels, and how many of the grid each covers
 * @param {number} aspect height of a pixel of the grid for each unit of its width
 * @param {{width: number, height: number}} place in pixels of the screen
 * @returns {{out_width: number, out_height: number}} at least one pixel each */
export function thumbSize({ width, height, cell = [1, 1] }, aspect, place) {
  const tall = (height * cell[1] * (Number.isFinite(aspect) && aspect > 0 ? aspect : 1)) / Math.max(1, width * cell[0]);
  // A map of few pixels gains nothing from being drawn at many.
  const across = Math.min(place.width, Math.max(1, 2 * width), place.height / tall);
  return { out_width: Math.max(1, Math.round(across)), out_height: Math.max(1, Math.min(place.height, Math.round(across * tall))) };
}
