// The outline of a mask along the edges of its pixels. Pure.

/** @typedef {{width: number, height: number, data: ArrayLike<number>}} Mask */

/** An outline of more corners than this is slow to draw, and its lines would lie on each other. */
const MOST_CORNERS = 200000;
const MOST_EDGES_A_CORNER = 8;
/** Right, down, left, up: on the way the inside is on the right. */
const STEPS = /** @type {const} */ ([[1, 0], [0, 1], [-1, 0], [0, -1]]);

/** Closed lines, each as x, y, x, y ... in pixels of the mask. Of a mask that is too ragged the outline is that of blocks of pixels.
 * @param {Mask} mask @param {number} [most] corners
 * @returns {number[][]} */
export function outlinesOf(mask, most = MOST_CORNERS) {
  for (let [coarse, cell] = [mask, 1]; ; [coarse, cell] = [halved(coarse), cell * 2]) {
    const lines = traced(coarse, most);
    if (lines !== null) return cell === 1 ? lines : lines.map((line) => line.map((at, index) => Math.min(index % 2 === 0 ? mask.width : mask.height, at * cell)));
  }
}

/** Two by two pixels as one, which is inside if any of them is. @param {Mask} mask
 * @returns {Mask} */
function halved({ width, height, data }) {
  const [across, down] = [Math.ceil(width / 2), Math.ceil(height / 2)];
  const half = new Uint8Array(across * down);
  for (let y = 0; y < height; y += 1) {
    for (let x = 0; x < width; x += 1) if (data[y * width + x]) half[(y >> 1) * across + (x >> 1)] = 1;
  }
  return { width: across, height: down, data: half };
}

/** @param {Mask} mask @param {number} most
 * @returns {number[][]|null} null if there are more corners */
function traced({ width, height, data }, most) {
  const row = width + 1;
  /** Which ways lead on from a corner of pixels, one bit each. */
  const ways = new Uint8Array(row * (height + 1));
  let edges = 0;
  const add = (/** @type {number} */ corner, /** @type {number} */ way) => {
    ways[corner] = (ways[corner] ?? 0) | (1 << way);
    edges += 1;
  };
  for (let y = 0, pixel = 0; y < height; y += 1) {
    for (let x = 0; x < width; x += 1, pixel += 1) {
      if (!data[pixel]) continue;
      const corner = y * row + x;
      if (y === 0 || !data[pixel - width]) add(corner, 0);
      if (x === width - 1 || !data[pixel + 1]) add(corner + 1, 1);
      if (y === height - 1 || !data[pixel + width]) add(corner + row + 1, 2);
      if (x === 0 || !data[pixel - 1]) add(corner + row, 3);
    }
    // So many that there must be too many corners, but for very long straight lines, of which a coarser outline is as good.
    if (edges > MOST_EDGES_A_CORNER * most) return null;
  }
  /** @type {number[][]} */
  const lines = [];
  let corners = 0;
  for (let start = 0; start < ways.length; start += 1) {
    while (ways[start] !== 0) {
      // The first corner of a line in this order has one way on, also where two areas touch: the other was taken by a line that began before.
      /** @type {number[]} */
      const line = [];
      let [at, way] = [start, -1];
      do {
        const open = ways[at] ?? 0;
        // Of two ways the sharper turn to the right: pixels that touch at a corner only are two areas.
        const next = way < 0 ? Math.log2(open & -open) : [1, 0, 3].map((turn) => (way + turn) % 4).find((one) => open & (1 << one)) ?? way;
        if (next !== way) line.push(at % row, Math.floor(at / row));
        ways[at] = open & ~(1 << next);
        way = next;
        const [dx, dy] = /** @type {readonly [number, number]} */ (STEPS[way]);
        at += dy * row + dx;
      } while (at !== start);
      lines.push(line);
      corners += line.length / 2;
      if (corners > most && width * height > 1) return null;
    }
  }
  return lines;
}
