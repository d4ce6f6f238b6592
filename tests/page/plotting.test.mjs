import assert from "node:assert/strict";
import { test } from "node:test";
import { dragged, keyed } from "../../www/app/brush.js";
import { begun, isLine, keyed as lineKeyed } from "../../www/app/line-drawing.js";
import { bandOf, binPixels, cellsByPlace, colourOf, pathOf, shadeOf, spread, stepIn, styleOf, ticksThatFit } from "../../www/app/plotting.js";
import { matrix } from "./support/answers.mjs";

test("bins are the darker the more pixels they hold, and one pixel can be seen beside ten thousand", () => {
  const shades = [0, 1, 2, 5, 40, 900, 10000].map((count) => shadeOf(count, 10000));
  assert.deepEqual(shades, [...shades].sort((a, b) => a - b));
  assert.equal(new Set(shades).size, shades.length);
  assert.equal(shades[0], 0);
  assert.ok(shades[1] > 0.1 && shades.at(-1) === 1);
  assert.equal(shadeOf(NaN, 10), 0);
  assert.equal(shadeOf(1, 1), 1);
});

test("bins become pixels of one colour; what is no count is empty", () => {
  assert.deepEqual([...binPixels(new Float64Array([0, 7, NaN]), [10, 20, 30])], [10, 20, 30, 0, 10, 20, 30, 255, 10, 20, 30, 0]);
  assert.deepEqual(colourOf("rgb(26, 27, 28)"), [26, 27, 28]);
});

test("a drag either way gives the same rectangle, stays in the plot, and a press gives none", () => {
  const there = { from: [0.2, 0.3], to: [0.6, 0.9] };
  assert.deepEqual(dragged([0.2, 0.3], [0.6, 0.9]), there);
  assert.deepEqual(dragged([0.6, 0.3], [0.2, 0.9]), there);
  assert.deepEqual(dragged([-0.4, 0.5], [0.5, 1.7]), { from: [0, 0.5], to: [0.5, 1] });
  assert.equal(dragged([0.4, 0.4], [0.405, 0.9]), null);
});

test("by keys a rectangle begins in the middle, moves with its size to the edge, and is stretched with Shift", () => {
  const first = keyed(null, "ArrowLeft", false);
  assert.deepEqual(first, { from: [0.4, 0.4], to: [0.6, 0.6] });
  assert.deepEqual(keyed(first, "ArrowUp", false), { from: [0.4, 0.42], to: [0.6, 0.62] });
  assert.deepEqual(keyed(first, "ArrowRight", true), { from: [0.4, 0.4], to: [0.62, 0.6] });
  let at = first;
  for (let press = 0; press < 60; press += 1) at = keyed(at, "ArrowLeft", false);
  assert.deepEqual(at, { from: [0, 0.4], to: [0.2, 0.6] });
  for (let press = 0; press < 60; press += 1) at = keyed(at, "ArrowDown", true);
  assert.ok(at.to[1] > at.from[1], "it never becomes nothing");
  assert.equal(keyed(first, "Escape", false), null);
  assert.equal(keyed(null, "Escape", false), undefined, "there is nothing to take away");
  assert.equal(keyed(first, "x", false), undefined);
});

test("labels are moved apart and stay inside, those that are apart stay where they are", () => {
  assert.deepEqual(spread([10, 50, 90], 16, 100), [10, 50, 90]);
  for (const wanted of [[50, 50, 50], [98, 99, 100], [0, 1, 2], [60, 20, 58]]) {
    const placed = spread(wanted, 16, 100);
    const sorted = [...placed].sort((a, b) => a - b);
    assert.ok(sorted[0] >= 8 && sorted.at(-1) <= 92, String(placed));
    sorted.slice(1).forEach((at, index) => assert.ok(at - sorted[index] >= 16 - 1e-9, String(placed)));
  }
});

test("ticks that would run into each other are left out", () => {
  const ticks = [0, 0.1, 0.2, 0.5, 1].map((at) => ({ at, text: "1000" }));
  assert.deepEqual(ticksThatFit(ticks, 100, () => 20).map(({ at }) => at), [0, 0.5, 1], "at the ends they stand within the axis");
  assert.equal(ticksThatFit(ticks, 1000, () => 20).length, 5);
});

test("a matrix is read from either side and gone through by keys", () => {
  const [plot] = matrix.plots;
  const cells = cellsByPlace(plot);
  assert.equal(cells.get("0 3"), cells.get("3 0"));
  assert.equal(cells.get("2 2"), undefined);
  assert.equal(cells.size, 56);
  assert.deepEqual(stepIn({ row: 1, column: 0 }, "ArrowLeft", false, 8), { row: 1, column: 0 });
  assert.deepEqual(stepIn({ row: 1, column: 0 }, "ArrowDown", false, 8), { row: 2, column: 0 });
  assert.deepEqual(stepIn({ row: 3, column: 4 }, "End", true, 8), { row: 7, column: 7 });
  assert.equal(stepIn({ row: 3, column: 4 }, "Tab", false, 8), null);
});

test("curves break at gaps, and so do their bands", () => {
  const points = [[0, 0], [0.25, 0.5], null, [0.5, 1], [0.75, 1]];
  assert.equal(pathOf(points, 100, 10), "M0.0 10.0L25.0 5.0M50.0 0.0L75.0 0.0");
  assert.equal(pathOf([null, null], 100, 10), "");
  const band = bandOf(points, [0, 0.4, null, 0.9, 0.9], [0.1, 0.6, null, 1, 1], 100, 10);
  assert.equal(band.split("M").length - 1, 2);
  assert.equal(bandOf([[0, 0]], [0], [0.1], 100, 10), "", "one point has no band");
});

test("sixteen curves differ in colour or dashes, and the first four in both", () => {
  const styles = Array.from({ length: 16 }, (_, index) => styleOf(index));
  assert.equal(new Set(styles.map(({ colour, dash }) => `${colour} ${dash}`)).size, 16);
  for (const name of ["colour", "dash"]) assert.equal(new Set(styles.slice(0, 4).map((style) => style[name])).size, 4);
});

test("a line is set by keys from one end to the other, and Escape takes back one step at a time", () => {
  const grid = { width: 20, height: 10 };
  let drawing = begun(grid);
  assert.deepEqual(drawing, { at: [10, 5], from: null });
  const press = (key, shift = false) => lineKeyed(drawing, key, shift, grid);
  drawing = press("ArrowLeft", true).drawing;
  assert.deepEqual(drawing.at, [0, 5]);
  drawing = press("ArrowUp").drawing;
  drawing = press("Enter").drawing;
  assert.deepEqual(drawing, { at: [0, 4], from: [0, 4] });
  assert.deepEqual(press("Enter").drawing, drawing, "no line from a point to itself");
  assert.equal(press("Escape").drawing.from, null);
  drawing = press("ArrowRight", true).drawing;
  assert.deepEqual(press("Enter"), { line: { from: [0, 4], to: [10, 4] } });
  assert.deepEqual(lineKeyed(begun(grid), "Escape", false, grid), { left: true });
  assert.equal(press("a"), null);
  assert.ok(!isLine([3, 3], [4, 4]) && isLine([3, 3], [6, 3]));
});
