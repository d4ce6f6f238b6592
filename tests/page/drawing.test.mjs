import assert from "node:assert/strict";
import { test } from "node:test";
import { begun, dragged, edited, isInside, keyed, lineOf, pressed, released, shapeOf, simplified } from "../../www/app/drawing.js";

const GRID = { width: 100, height: 80 };
const REACH = [4, 4];
const press = (at) => (drawing) => pressed(drawing, at, REACH);
const drag = (at) => (drawing) => dragged(drawing, at, REACH);
const lift = (at) => (drawing) => released(drawing, at, REACH);
const click = (at) => (drawing) => lift(at)(press(at)(drawing));
const key = (name, far = false) => (drawing) => keyed(drawing, name, far, [50.5, 40.5]);
const times = (count, step) => Array.from({ length: count }, () => step);
const after = (drawing, ...steps) => steps.flat().reduce((now, step) => step(now), drawing);

test("a rectangle is dragged from corner to corner, in any direction, and takes whole pixels", () => {
  const drawing = after(begun("rectangle", GRID), press([30.4, 20.2]), drag([10.1, 5.7]), lift([10.1, 5.7]));
  assert.equal(drawing.end, "done");
  assert.deepEqual(shapeOf(drawing), { rectangle: { x: 10, y: 6, width: 20, height: 14 } });
});

test("or its two corners are clicked; a second click at the first is not taken", () => {
  const first = after(begun("rectangle", GRID), click([10, 10]), drag([20, 30]));
  assert.deepEqual([first.end, lineOf(first)], ["", { points: [[10, 10], [20, 10], [20, 30], [10, 30]], closed: true }]);
  assert.equal(after(first, click([10.2, 40])).end, "");
  assert.deepEqual(shapeOf(after(first, click([20, 30]))), { rectangle: { x: 10, y: 10, width: 10, height: 20 } });
});

test("what is drawn stays on the field", () => {
  const drawing = after(begun("rectangle", GRID), press([-20, 70]), drag([300, 90]), lift([300, 90]));
  assert.deepEqual(shapeOf(drawing), { rectangle: { x: 0, y: 70, width: 100, height: 10 } });
});

test("a polygon is clicked point by point and closes with a double click, at its beginning, or with Enter", () => {
  const three = after(begun("polygon", GRID), click([10, 10]), click([30, 10]), click([30.123456, 30]));
  assert.deepEqual(shapeOf(three), { polygon: [[10, 10], [30, 10], [30.12, 30]] });
  for (const last of [click([30, 30]), click([11, 11]), key("Enter")]) assert.equal(after(three, last).end, "done");
  assert.equal(after(three, click([60, 60])).end, "");
});

test("two points are no polygon; Backspace takes the last one back; Escape gives up", () => {
  const two = after(begun("polygon", GRID), click([10, 10]), click([30, 10]));
  assert.equal(shapeOf(two), null);
  assert.deepEqual(after(two, key("Backspace")).points, [[10, 10]]);
  assert.equal(after(two, click([30, 10])).end, "", "a double click on the second point");
  assert.equal(after(two, key("Escape")).end, "gone");
});

test("freehand is the line of the pen, without points that tell nothing; a tick is begun anew", () => {
  const line = [[10, 10], [15, 10], [20, 10], [25, 10], [30, 10], [30, 20], [30, 30]];
  const drawing = after(begun("freehand", GRID), press([10, 10]), line.map(drag), lift([30, 30]));
  assert.deepEqual([drawing.end, shapeOf(drawing)], ["done", { polygon: [[10, 10], [30, 10], [30, 30]] }]);
  const tick = after(begun("freehand", GRID), press([10, 10]), drag([12, 10]), lift([12, 10]));
  assert.deepEqual([tick.end, tick.points], ["", []]);
});

test("by keys: the first arrow shows the mark, Shift goes far, Space sets a corner", () => {
  const first = after(begun("rectangle", GRID), key("ArrowRight"));
  assert.deepEqual(first.mark, [51, 41]);
  const drawing = after(first, key(" "), times(3, key("ArrowLeft", true)), times(2, key("ArrowUp")), key("Enter"));
  assert.deepEqual([drawing.end, shapeOf(drawing)], ["done", { rectangle: { x: 21, y: 39, width: 30, height: 2 } }]);
});

test("by keys: a polygon", () => {
  const drawing = after(begun("polygon", GRID), key("ArrowRight"), key(" "), key("ArrowRight", true), key(" "), key(" "), key("ArrowDown", true), key(" "), key("Enter"));
  assert.deepEqual([drawing.end, shapeOf(drawing)], ["done", { polygon: [[51, 41], [61, 41], [61, 51]] }]);
});

test("by keys: freehand, with the pen down between two presses of Space", () => {
  const round = ["ArrowRight", "ArrowDown", "ArrowLeft"].flatMap((name) => times(5, key(name)));
  const drawing = after(begun("freehand", GRID), key("ArrowRight"), key(" "), round, key(" "));
  assert.deepEqual(shapeOf(drawing), { polygon: [[51, 41], [56, 41], [56, 46], [51, 46]] });
});

test("keys that mean nothing here are left alone", () => {
  assert.equal(keyed(begun("rectangle", GRID), "x", false, [0, 0]), null);
  assert.equal(keyed(edited({ rectangle: { x: 1, y: 1, width: 2, height: 2 } }, GRID), "x", false, [0, 0]), null);
});

const BOX = edited({ rectangle: { x: 10, y: 20, width: 30, height: 40 } }, GRID);
const TRIANGLE = edited({ polygon: [[10, 10], [40, 10], [40, 40]] }, GRID);

test("a corner of a rectangle takes its two sides along and stops before the corner across", () => {
  const drawing = after(BOX, press([41, 61]), drag([50.2, 70.4]), lift([50.2, 70.4]));
  assert.deepEqual([drawing.end, shapeOf(drawing)], ["", { rectangle: { x: 10, y: 20, width: 40, height: 50 } }]);
  for (let corner = 0; corner < 4; corner += 1) {
    const [x, y] = BOX.points[corner];
    const moved = after(BOX, press([x, y]), drag([x + 2, y + 3]), lift([x + 2, y + 3]));
    const { rectangle } = shapeOf(moved);
    const left = corner === 0 || corner === 3;
    const top = corner < 2;
    assert.deepEqual(rectangle, { x: left ? 12 : 10, y: top ? 23 : 20, width: left ? 28 : 32, height: top ? 37 : 43 });
  }
  assert.deepEqual(shapeOf(after(BOX, press([40, 60]), drag([5, 5]))), shapeOf(BOX));
});

test("from inside the whole is moved, and stays on the field; from outside nothing is held", () => {
  assert.deepEqual(shapeOf(after(BOX, press([25, 40]), drag([28.4, 41.2]))), { rectangle: { x: 13, y: 21, width: 30, height: 40 } });
  assert.deepEqual(shapeOf(after(BOX, press([25, 40]), drag([-90, 400]))), { rectangle: { x: 0, y: 40, width: 30, height: 40 } });
  assert.equal(after(BOX, press([90, 10])).hold, null);
});

test("by keys a point is chosen, moved, added and taken away; Enter takes it over", () => {
  const drawing = after(TRIANGLE, key("PageDown"), key("ArrowRight"), key("ArrowUp", true));
  assert.deepEqual(drawing.points, [[10, 10], [41, 0], [40, 40]]);
  const more = after(TRIANGLE, key(" "));
  assert.deepEqual([more.points, more.chosen], [[[10, 10], [25, 10], [40, 10], [40, 40]], 1]);
  assert.deepEqual(after(more, key("Delete")).points, TRIANGLE.points);
  assert.deepEqual(after(TRIANGLE, key("Delete")).points, TRIANGLE.points, "three are the fewest");
  assert.deepEqual(after(TRIANGLE, key("PageUp"), key("ArrowDown")).points, [[10, 11], [40, 11], [40, 41]]);
  assert.equal(after(TRIANGLE, key("Enter")).end, "done");
});

test("what was not drawn cannot be changed by hand", () => {
  assert.equal(edited({ rectangle: null, polygon: null }, GRID), null);
});

test("inside is told by the even-odd rule", () => {
  const bow = [[0, 0], [10, 10], [10, 0], [0, 10]];
  assert.deepEqual([[1, 5], [9, 5], [5, 1], [5, 9]].map((at) => isInside(bow, at)), [true, true, false, false]);
});

test("a line is simplified without leaving it by more than the tolerance", () => {
  assert.deepEqual(simplified([[0, 0], [5, 0.4], [10, 0]], 0.5), [[0, 0], [10, 0]]);
  assert.deepEqual(simplified([[0, 0], [5, 0.6], [10, 0]], 0.5), [[0, 0], [5, 0.6], [10, 0]]);
});
