// How plots are drawn: shades, labels that do not cover each other, moving through a matrix. Pure; the numbers are the core's.

/** @typedef {import("./types.js").MatrixPlot} MatrixPlot */

/** How dark a bin is, 0 to 1, rising with its count; even one pixel can be seen. The step from 1 to 2 is as plain as from 100 to 200.
 * @param {number} count @param {number} largest */
export function shadeOf(count, largest) {
  if (!(count > 0)) return 0;
  if (largest <= 1) return 1;
  return 0.16 + 0.84 * Math.min(1, Math.log(count) / Math.log(largest));
}

/** The bins as pixels of one colour, more or less opaque.
 * @param {ArrayLike<number>} counts @param {[number, number, number]} colour
 * @returns {Uint8ClampedArray<ArrayBuffer>} */
export function binPixels(counts, [red, green, blue]) {
  let largest = 0;
  for (let bin = 0; bin < counts.length; bin += 1) largest = Math.max(largest, counts[bin] || 0);
  const pixels = new Uint8ClampedArray(counts.length * 4);
  for (let bin = 0; bin < counts.length; bin += 1) {
    pixels.set([red, green, blue, Math.round(255 * shadeOf(counts[bin] ?? 0, largest))], bin * 4);
  }
  return pixels;
}

/** "rgb(1, 2, 3)" as the page says a colour. @param {string} text
 * @returns {[number, number, number]} */
export function colourOf(text) {
  const [red = 0, green = 0, blue = 0] = (text.match(/[\d.]+/g) ?? []).map(Number);
  return [red, green, blue];
}

/** Labels one below the other that would cover each other are moved apart, within 0 and `height`. The order of what is given stays.
 * @param {number[]} wanted the middle of each @param {number} apart the least distance @param {number} height
 * @returns {number[]} */
export function spread(wanted, apart, height) {
  const order = wanted.map((_, index) => index).sort((a, b) => /** @type {number} */ (wanted[a]) - /** @type {number} */ (wanted[b]));
  const placed = [...wanted];
  let free = apart / 2;
  for (const index of order) {
    placed[index] = Math.max(free, /** @type {number} */ (wanted[index]));
    free = /** @type {number} */ (placed[index]) + apart;
  }
  let room = height - apart / 2;
  for (const index of order.reverse()) {
    placed[index] = Math.min(room, /** @type {number} */ (placed[index]));
    room = /** @type {number} */ (placed[index]) - apart;
  }
  return placed;
}

/** How near to an end of its axis a label keeps within it, and at which end.
 * @param {number} at 0 to 1
 * @returns {"left"|"right"|undefined} */
export function endOf(at) {
  return at < 0.04 ? "left" : at > 0.96 ? "right" : undefined;
}

/** The ticks that fit beside each other; the first always does.
 * @template {{at: number, text: string}} Tick
 * @param {Tick[]} ticks @param {number} length of the axis @param {(text: string) => number} needs how long a text is, with some air
 * @returns {Tick[]} */
export function ticksThatFit(ticks, length, needs) {
  /** @type {Tick[]} */
  const kept = [];
  let free = -Infinity;
  for (const tick of ticks) {
    const long = needs(tick.text);
    const end = endOf(tick.at);
    const from = tick.at * length - (end === "left" ? 0 : end === "right" ? long : long / 2);
    if (from < free) continue;
    kept.push(tick);
    free = from + long;
  }
  return kept;
}

/** Colour and dashes of a curve, both from 0 to 3: sixteen that can be told apart, the first four by either.
 * @param {number} index
 * @returns {{colour: number, dash: number}} */
export function styleOf(index) {
  return { colour: index % 4, dash: (index + Math.floor(index / 4)) % 4 };
}

/** The cell of a matrix for a row and a column, whichever of the two maps the core names first.
 * @param {MatrixPlot} plot
 * @returns {Map<string, MatrixPlot["cells"][number]>} by "row column" */
export function cellsByPlace(plot) {
  return new Map(plot.cells.flatMap((cell) => /** @type {[string, typeof cell][]} */ ([[`${cell.a} ${cell.b}`, cell], [`${cell.b} ${cell.a}`, cell]])));
}

/** Where a key leads in a square of cells; null if it leads nowhere here.
 * @param {{row: number, column: number}} at @param {string} key @param {boolean} far with Ctrl @param {number} size
 * @returns {{row: number, column: number}|null} */
export function stepIn(at, key, far, size) {
  const last = size - 1;
  const held = (/** @type {number} */ value) => Math.min(last, Math.max(0, value));
  switch (key) {
    case "ArrowLeft":
      return { ...at, column: far ? 0 : held(at.column - 1) };
    case "ArrowRight":
      return { ...at, column: far ? last : held(at.column + 1) };
    case "ArrowUp":
      return { ...at, row: far ? 0 : held(at.row - 1) };
    case "ArrowDown":
      return { ...at, row: far ? last : held(at.row + 1) };
    case "Home":
      return { row: far ? 0 : at.row, column: 0 };
    case "End":
      return { row: far ? last : at.row, column: last };
    default:
      return null;
  }
}

/** A broken line through points, in the pixels of its box; a gap where there is none.
 * @param {([number, number]|null)[]} points @param {number} width @param {number} height
 * @returns {string} for the attribute `d` of a path */
export function pathOf(points, width, height) {
  let pen = "M";
  return points.flatMap((point) => {
    if (point === null) {
      pen = "M";
      return [];
    }
    const step = `${pen}${(point[0] * width).toFixed(1)} ${((1 - point[1]) * height).toFixed(1)}`;
    pen = "L";
    return [step];
  }).join("");
}

/** The area between two lines over the same places, piece by piece between gaps.
 * @param {([number, number]|null)[]} points @param {(number|null)[]} low @param {(number|null)[]} high @param {number} width @param {number} height
 * @returns {string} */
export function bandOf(points, low, high, width, height) {
  /** @type {{x: number, low: number, high: number}[][]} */
  const pieces = [[]];
  points.forEach((point, index) => {
    const [below, above] = [low[index] ?? null, high[index] ?? null];
    if (point === null || below === null || above === null) pieces.push([]);
    else pieces.at(-1)?.push({ x: point[0], low: below, high: above });
  });
  const place = (/** @type {number} */ x, /** @type {number} */ y) => `${(x * width).toFixed(1)} ${((1 - y) * height).toFixed(1)}`;
  return pieces.filter((piece) => piece.length > 1)
    .map((piece) => `M${[...piece.map(({ x, high }) => place(x, high)), ...piece.toReversed().map(({ x, low }) => place(x, low))].join("L")}Z`).join("");
}
