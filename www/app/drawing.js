// A region while it is drawn, and a drawn one while its shape is changed: by pointer and by keys. Pure; places are in pixels of the grid.

/** @typedef {import("./types.js").RegionSettings} RegionSettings */
/** @typedef {[number, number]} Point */
/** @typedef {"rectangle"|"polygon"|"freehand"} Tool */
/** What the hand holds: a point of the shape, the whole of it, the first corner of a new rectangle, or the pen.
 * @typedef {{kind: "point", index: number} | {kind: "whole", from: Point, points: Point[]} | {kind: "corner", from: Point} | {kind: "pen"}} Hold */
/** `points`: those that are set; of a rectangle the corners. `mark`: where the pointer or the keyboard is. `chosen`: of a shape that is
 * changed, the point that keys move; as many as there are points: the whole.
 * @typedef {{tool: Tool, edits: boolean, width: number, height: number, points: Point[], mark: Point|null, hold: Hold|null, chosen: number,
 *   end: ""|"done"|"gone"}} Drawing */
/** How far in pixels of the grid a pointer may be off, across and down.
 * @typedef {Point} Reach */

/** With Shift an arrow goes this far. */
const FAR = 10;

/** @param {Tool} tool @param {{width: number, height: number}} grid
 * @returns {Drawing} */
export function begun(tool, { width, height }) {
  return { tool, edits: false, width, height, points: [], mark: null, hold: null, chosen: 0, end: "" };
}

/** A drawn region, to be changed; null if it was not drawn.
 * @param {{rectangle?: {x: number, y: number, width: number, height: number}|null, polygon?: Point[]|null}} region @param {{width: number, height: number}} grid
 * @returns {Drawing|null} */
export function edited({ rectangle, polygon }, grid) {
  if (rectangle) {
    const { x, y, width, height } = rectangle;
    return { ...begun("rectangle", grid), edits: true, points: [[x, y], [x + width, y], [x + width, y + height], [x, y + height]] };
  }
  return polygon ? { ...begun("polygon", grid), edits: true, points: polygon.map(([x, y]) => [x, y]) } : null;
}

// ---- places ----

/** @param {Drawing} drawing @param {Point} at
 * @returns {Point} on the grid; of a rectangle between pixels, because it takes whole pixels */
function placed({ tool, width, height }, [x, y]) {
  const round = tool === "rectangle" ? Math.round : (/** @type {number} */ value) => Math.round(value * 100) / 100;
  return [Math.min(width, Math.max(0, round(x))), Math.min(height, Math.max(0, round(y)))];
}

/** @param {Point} a @param {Point} b @param {Reach} reach */
function near([ax, ay], [bx, by], [across, down]) {
  return ((ax - bx) / across) ** 2 + ((ay - by) / down) ** 2 <= 1;
}

/** @param {Point} a @param {Point} b */
function same([ax, ay], [bx, by]) {
  return ax === bx && ay === by;
}

/** Whether a place is inside, by the even-odd rule. @param {Point[]} points @param {Point} at */
export function isInside(points, [x, y]) {
  let inside = false;
  points.forEach(([ax, ay], index) => {
    const [bx, by] = /** @type {Point} */ (points.at(index - 1));
    if (ay > y !== by > y && x < ax + ((y - ay) / (by - ay)) * (bx - ax)) inside = !inside;
  });
  return inside;
}

/** @param {Point} a @param {Point} b
 * @returns {Point[]} */
function cornersOf([ax, ay], [bx, by]) {
  const [left, right] = [Math.min(ax, bx), Math.max(ax, bx)];
  const [top, bottom] = [Math.min(ay, by), Math.max(ay, by)];
  return [[left, top], [right, top], [right, bottom], [left, bottom]];
}

// ---- what it is by now ----

/** The line to be drawn.
 * @param {Drawing} drawing
 * @returns {{points: Point[], closed: boolean}} */
export function lineOf({ tool, edits, points, mark, end }) {
  if (edits || end === "done") return { points: !edits && tool === "rectangle" && points[0] && points[1] ? cornersOf(points[0], points[1]) : points, closed: true };
  const [first] = points;
  if (tool === "rectangle") return first && mark ? { points: cornersOf(first, points[1] ?? mark), closed: true } : { points, closed: false };
  return { points: tool === "polygon" && mark && first ? [...points, mark] : points, closed: false };
}

/** The shape as the core takes it; null as long as it is none.
 * @param {Drawing} drawing
 * @returns {RegionSettings|null} */
export function shapeOf(drawing) {
  const { tool, points } = drawing;
  if (tool === "rectangle") {
    const [[left, top] = [0, 0], , [right, bottom] = [0, 0]] = lineOf(drawing).points;
    return right > left && bottom > top ? { rectangle: { x: left, y: top, width: right - left, height: bottom - top } } : null;
  }
  return points.length > 2 ? { polygon: points } : null;
}

// ---- by pointer ----

/** The pointer went down. Nothing is held afterwards where there was nothing to hold.
 * @param {Drawing} drawing @param {Point} at @param {Reach} reach
 * @returns {Drawing} */
export function pressed(drawing, at, reach) {
  const { tool, edits, points } = drawing;
  const here = placed(drawing, at);
  if (edits) {
    const index = nearest(points, at, reach);
    if (index >= 0) return { ...drawing, chosen: index, hold: { kind: "point", index } };
    return isInside(points, at) ? { ...drawing, chosen: points.length, hold: { kind: "whole", from: at, points } } : drawing;
  }
  const next = { ...drawing, mark: here };
  if (tool === "freehand") return { ...next, points: [here], hold: { kind: "pen" } };
  const [first] = points;
  if (tool === "rectangle") return first === undefined ? { ...next, points: [here], hold: { kind: "corner", from: at } } : cornered(next, here);
  const last = points.at(-1);
  // Where a polygon began, and with the second press of a double click, it closes.
  const closes = points.length > 2 && ((first && near(first, at, reach)) || (last && near(last, at, reach)));
  if (closes) return { ...next, end: "done" };
  return last && near(last, at, [reach[0] / 4, reach[1] / 4]) ? next : { ...next, points: [...points, here] };
}

/** @param {Point[]} points @param {Point} at @param {Reach} reach */
function nearest(points, at, [across, down]) {
  const far = ([x, y] = /** @type {Point} */ ([0, 0])) => ((x - at[0]) / across) ** 2 + ((y - at[1]) / down) ** 2;
  const best = points.reduce((best, point, index) => (far(point) < far(points[best]) ? index : best), 0);
  return points.length > 0 && far(points[best]) <= 1 ? best : -1;
}

/** A second corner that makes no rectangle is not taken. @param {Drawing} drawing @param {Point} corner
 * @returns {Drawing} */
function cornered(drawing, corner) {
  const first = /** @type {Point} */ (drawing.points[0]);
  if (first[0] === corner[0] || first[1] === corner[1]) return { ...drawing, hold: null };
  return { ...drawing, points: [first, corner], hold: null, end: "done" };
}

/** The pointer is somewhere else, up or down.
 * @param {Drawing} drawing @param {Point} at @param {Reach} reach
 * @returns {Drawing} */
export function dragged(drawing, at, reach) {
  const { hold, points } = drawing;
  const here = placed(drawing, at);
  const next = drawing.edits ? drawing : { ...drawing, mark: here };
  if (hold === null) return next;
  switch (hold.kind) {
    case "point":
      return moved(next, hold.index, here);
    case "whole":
      return { ...next, points: shifted(next, hold.points, at[0] - hold.from[0], at[1] - hold.from[1]) };
    case "corner":
      return next;
    case "pen": {
      const last = points.at(-1);
      return last && near(last, here, [reach[0] / 4, reach[1] / 4]) ? next : { ...next, points: [...points, here] };
    }
  }
}

/** The pointer went up.
 * @param {Drawing} drawing @param {Point} at @param {Reach} reach
 * @returns {Drawing} */
export function released(drawing, at, reach) {
  const { hold } = drawing;
  if (hold?.kind === "pen") return lifted(drawing, Math.min(...reach) / 8);
  // A press without a way sets the first corner; the next one sets the other.
  if (hold?.kind === "corner" && !near(hold.from, at, [reach[0] / 2, reach[1] / 2])) return cornered(drawing, placed(drawing, at));
  return { ...drawing, hold: null };
}

/** The pen is lifted: the line closes; what encloses nothing is begun anew. @param {Drawing} drawing @param {number} tolerance
 * @returns {Drawing} */
function lifted(drawing, tolerance) {
  const points = simplified(drawing.points, tolerance);
  return points.length > 2 ? { ...drawing, points, hold: null, end: "done" } : { ...drawing, points: [], hold: null };
}

/** @param {Drawing} drawing @param {number} index @param {Point} to
 * @returns {Drawing} */
function moved(drawing, index, to) {
  const points = drawing.points.with(index, to);
  if (drawing.tool === "polygon") return { ...drawing, points };
  // The two neighbours of a corner keep the sides upright. Corners never pass each other.
  const across = /** @type {Point} */ (drawing.points[(index + 2) % 4]);
  if (to[0] === across[0] || to[1] === across[1]) return drawing;
  const before = /** @type {Point} */ (drawing.points[index]);
  if (Math.sign(to[0] - across[0]) !== Math.sign(before[0] - across[0]) || Math.sign(to[1] - across[1]) !== Math.sign(before[1] - across[1])) return drawing;
  const upright = index % 2 === 0;
  const [next, previous] = [(index + 1) % 4, (index + 3) % 4];
  return { ...drawing, points: points.with(upright ? next : previous, [across[0], to[1]]).with(upright ? previous : next, [to[0], across[1]]) };
}

/** @param {Drawing} drawing @param {Point[]} points @param {number} dx @param {number} dy
 * @returns {Point[]} */
function shifted({ tool, width, height }, points, dx, dy) {
  const kept = (/** @type {number} */ by, /** @type {number[]} */ places, /** @type {number} */ length) =>
    Math.min(length - Math.max(...places), Math.max(-Math.min(...places), tool === "rectangle" ? Math.round(by) : Math.round(by * 100) / 100));
  const across = kept(dx, points.map(([x]) => x), width);
  const down = kept(dy, points.map(([, y]) => y), height);
  return points.map(([x, y]) => [x + across, y + down]);
}

/** Without the points that lie within `tolerance` of the line without them (Douglas and Peucker 1973).
 * @param {Point[]} points @param {number} tolerance
 * @returns {Point[]} */
export function simplified(points, tolerance) {
  if (points.length < 3) return points;
  const keep = new Set([0, points.length - 1]);
  /** @type {[number, number][]} */
  const open = [[0, points.length - 1]];
  for (let span = open.pop(); span !== undefined; span = open.pop()) {
    const [from, to] = span;
    const [a, b] = [/** @type {Point} */ (points[from]), /** @type {Point} */ (points[to])];
    let [worst, at] = [tolerance, -1];
    for (let index = from + 1; index < to; index += 1) {
      const off = distance(/** @type {Point} */ (points[index]), a, b);
      if (off > worst) [worst, at] = [off, index];
    }
    if (at < 0) continue;
    keep.add(at);
    open.push([from, at], [at, to]);
  }
  return points.filter((_, index) => keep.has(index));
}

/** From a point to a stretch. @param {Point} point @param {Point} a @param {Point} b */
function distance([x, y], [ax, ay], [bx, by]) {
  const [dx, dy] = [bx - ax, by - ay];
  const length = dx * dx + dy * dy;
  const along = length === 0 ? 0 : Math.min(1, Math.max(0, ((x - ax) * dx + (y - ay) * dy) / length));
  return Math.hypot(x - ax - along * dx, y - ay - along * dy);
}

// ---- by keys ----

/** What a key does; null if it does nothing here.
 * @param {Drawing} drawing @param {string} key @param {boolean} far with Shift @param {Point} start where the mark begins
 * @returns {Drawing|null} */
export function keyed(drawing, key, far, start) {
  if (key === "Escape") return { ...drawing, end: "gone" };
  const arrow = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] }[key];
  const [dx, dy] = [(arrow?.[0] ?? 0) * (far ? FAR : 1), (arrow?.[1] ?? 0) * (far ? FAR : 1)];
  if (drawing.edits) return arrow ? stepped(drawing, dx, dy) : editKeyed(drawing, key);
  if (arrow) return marked(drawing, dx, dy, start);
  if (key === "Backspace" || key === "Delete") return { ...drawing, points: drawing.tool === "polygon" ? drawing.points.slice(0, -1) : [], hold: null };
  return key === " " || key === "Enter" ? set(drawing, key, start) : null;
}

/** The mark goes on; the first arrow only shows it. @param {Drawing} drawing @param {number} dx @param {number} dy @param {Point} start
 * @returns {Drawing} */
function marked(drawing, dx, dy, start) {
  const whole = (/** @type {Point} */ [x, y]) => /** @type {Point} */ ([Math.round(x), Math.round(y)]);
  const mark = placed(drawing, drawing.mark === null ? whole(start) : [Math.round(drawing.mark[0]) + dx, Math.round(drawing.mark[1]) + dy]);
  const draws = drawing.hold?.kind === "pen" && !same(mark, drawing.points.at(-1) ?? [NaN, NaN]);
  return { ...drawing, mark, points: draws ? [...drawing.points, mark] : drawing.points };
}

/** @param {Drawing} drawing @param {string} key @param {Point} start
 * @returns {Drawing} */
function set(drawing, key, start) {
  const { tool, points, mark } = drawing;
  if (tool === "polygon" && key === "Enter" && points.length > 2) return { ...drawing, end: "done" };
  if (mark === null) return marked(drawing, 0, 0, start);
  if (tool === "freehand") return drawing.hold?.kind === "pen" ? lifted(drawing, 0) : { ...drawing, points: [mark], hold: { kind: "pen" } };
  const last = points.at(-1);
  if (tool === "rectangle" && last !== undefined) return cornered(drawing, mark);
  return last !== undefined && same(last, mark) ? drawing : { ...drawing, points: [...points, mark] };
}

/** The chosen point, or the whole, goes on. @param {Drawing} drawing @param {number} dx @param {number} dy
 * @returns {Drawing} */
function stepped(drawing, dx, dy) {
  const { points, chosen } = drawing;
  const point = points[chosen];
  if (point === undefined) return { ...drawing, points: shifted(drawing, points, dx, dy) };
  return moved(drawing, chosen, placed(drawing, [point[0] + dx, point[1] + dy]));
}

/** @param {Drawing} drawing @param {string} key
 * @returns {Drawing|null} */
function editKeyed(drawing, key) {
  const { tool, points, chosen } = drawing;
  const round = points.length + 1;
  const point = points[chosen];
  switch (key) {
    case "Enter":
      return { ...drawing, hold: null, end: "done" };
    case "PageDown":
      return { ...drawing, chosen: (chosen + 1) % round };
    case "PageUp":
      return { ...drawing, chosen: (chosen + round - 1) % round };
    case "Backspace":
    case "Delete":
      return tool === "polygon" && point !== undefined && points.length > 3 ? { ...drawing, points: points.toSpliced(chosen, 1), chosen: Math.max(0, chosen - 1) } : drawing;
    case " ":
    case "Insert": {
      if (tool !== "polygon" || point === undefined) return drawing;
      const [x, y] = /** @type {Point} */ (points[(chosen + 1) % points.length]);
      return { ...drawing, points: points.toSpliced(chosen + 1, 0, placed(drawing, [(point[0] + x) / 2, (point[1] + y) / 2])), chosen: chosen + 1 };
    }
    default:
      return null;
  }
}
