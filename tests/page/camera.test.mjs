import assert from "node:assert/strict";
import { test } from "node:test";
import { columnsFor, fit, inCells, onSource, pan, reveal, toCanvas, toMap, windowOf, zoom } from "../../www/app/camera.js";

const SOURCE = { width: 150, height: 110, aspect: 1 };
const CANVAS = { width: 800, height: 600 };
const near = (found, wanted, what = "") => assert.ok(Math.abs(found - wanted) < 1e-9, `${what} ${found}, wanted ${wanted}`);

test("a fitted picture is whole, in the middle, and leaves the margin on its tighter side", () => {
  const camera = fit(SOURCE, CANVAS, 20);
  const [left, top] = toCanvas(camera, 0, 0, CANVAS);
  const [right, bottom] = toCanvas(camera, 150, 110, CANVAS);
  near(left, 20, "left");
  near(right, 780, "right");
  near(top, 600 - bottom, "top and bottom");
  assert.ok(top > 20);
  assert.equal(camera.fitted, true);
});

test("a tall picture is fitted by its height", () => {
  const camera = fit({ width: 10, height: 1000, aspect: 1 }, CANVAS, 20);
  near(toCanvas(camera, 0, 0, CANVAS)[1], 20);
  near(toCanvas(camera, 0, 1000, CANVAS)[1], 580);
});

test("a tiny map is not blown up beyond what helps, and a canvas without room still gives a camera", () => {
  assert.equal(fit({ width: 3, height: 2, aspect: 1 }, CANVAS, 20).scale, 96);
  const squeezed = fit(SOURCE, { width: 10, height: 10 }, 20).scale;
  assert.ok(squeezed > 0 && squeezed * SOURCE.width <= 1 + 1e-9);
});

test("map and canvas positions lead back to each other", () => {
  const camera = { x: 40.25, y: 70.5, scale: 3.75, aspect: 1, fitted: false };
  const [at_x, at_y] = toCanvas(camera, 12.5, 99.5, CANVAS);
  const [x, y] = toMap(camera, at_x, at_y, CANVAS);
  near(x, 12.5);
  near(y, 99.5);
  assert.deepEqual(toMap(camera, 400, 300, CANVAS), [40.25, 70.5], "the camera looks at the middle of the canvas");
});

test("zooming keeps the place under the pointer where it is", () => {
  const camera = fit(SOURCE, CANVAS, 20);
  const under = toMap(camera, 500, 200, CANVAS);
  const nearer = zoom(camera, 2.5, 500, 200, SOURCE, CANVAS);
  const now = toMap(nearer, 500, 200, CANVAS);
  near(now[0], under[0]);
  near(now[1], under[1]);
  near(nearer.scale, camera.scale * 2.5);
  assert.equal(nearer.fitted, false);
});

test("zooming ends at 96 canvas pixels for one map pixel, and at half of the whole picture", () => {
  const camera = fit(SOURCE, CANVAS, 0);
  assert.equal(zoom(camera, 1e6, 400, 300, SOURCE, CANVAS).scale, 96);
  near(zoom(camera, 1e-6, 400, 300, SOURCE, CANVAS).scale, camera.scale / 2);
});

test("the picture follows the hand", () => {
  const camera = { x: 75, y: 55, scale: 10, aspect: 1, fitted: true };
  const moved = pan(camera, 30, -20, SOURCE);
  assert.deepEqual(moved, { x: 72, y: 57, scale: 10, aspect: 1, fitted: false });
  const [x, y] = toCanvas(camera, 75, 55, CANVAS);
  const [new_x, new_y] = toCanvas(moved, 75, 55, CANVAS);
  near(new_x - x, 30);
  near(new_y - y, -20);
});

test("the picture cannot be pushed or zoomed out of sight", () => {
  const camera = { x: 75, y: 55, scale: 10, aspect: 1, fitted: false };
  assert.deepEqual([pan(camera, 1e5, 1e5, SOURCE).x, pan(camera, 1e5, 1e5, SOURCE).y], [0, 0]);
  assert.deepEqual([pan(camera, -1e5, -1e5, SOURCE).x, pan(camera, -1e5, -1e5, SOURCE).y], [150, 110]);
  const far = zoom({ x: 0, y: 0, scale: 10, aspect: 1, fitted: false }, 0.1, 800, 600, SOURCE, CANVAS);
  assert.ok(far.x >= 0 && far.y >= 0 && far.x <= 150 && far.y <= 110);
});

test("a pixel out of sight is brought to the edge, and one in sight moves nothing", () => {
  const camera = { x: 75, y: 55, scale: 20, aspect: 1, fitted: false };
  assert.equal(reveal(camera, 80, 50, SOURCE, CANVAS), camera);
  const [x, y] = toCanvas(reveal(camera, 120, 55, SOURCE, CANVAS), 120, 55, CANVAS);
  near(x, 776, "from the right");
  near(y, 300, "unmoved");
  near(toCanvas(reveal(camera, 75, 5, SOURCE, CANVAS), 75, 5, CANVAS)[1], 24, "from above");
});

test("the window asked of the core is what the canvas shows", () => {
  const camera = { x: 75, y: 55, scale: 4, aspect: 1, fitted: false };
  assert.deepEqual(windowOf(camera, CANVAS), { x: -25, y: -20, width: 200, height: 150, out_width: 800, out_height: 600 });
  assert.deepEqual(windowOf(camera, { width: 801, height: 3 }, 1 / 4), { x: -25.125, y: 54.625, width: 200.25, height: 0.75, out_width: 200, out_height: 1 }, "fewer pixels, the same window");
});

test("pixels that are higher than wide are shown higher than wide, and everything still leads back", () => {
  const tall = { width: 100, height: 50, aspect: 2.5 };
  const camera = fit(tall, CANVAS, 0);
  const [left, top] = toCanvas(camera, 0, 0, CANVAS);
  const [right, bottom] = toCanvas(camera, 100, 50, CANVAS);
  near((bottom - top) / (right - left), (50 * 2.5) / 100, "proportion");
  near(bottom - top, 600, "as high as the canvas");
  const nearer = zoom(pan(camera, 37, -12, tall), 3, 120, 500, tall, CANVAS);
  const [at_x, at_y] = toCanvas(nearer, 12.5, 40.5, CANVAS);
  const [x, y] = toMap(nearer, at_x, at_y, CANVAS);
  near(x, 12.5);
  near(y, 40.5);
  const view = windowOf(nearer, CANVAS);
  near(view.height / view.width, 600 / 800 / 2.5, "the window is as much lower in map pixels as these are higher");
  assert.equal(fit({ width: 1, height: 1, aspect: 3 }, CANVAS, 0).scale, 32, "the longer side ends at 96 canvas pixels");
});

test("zooming keeps the place under the pointer also where pixels are not square", () => {
  const flat = { width: 150, height: 110, aspect: 0.4 };
  const camera = fit(flat, CANVAS, 20);
  const under = toMap(camera, 500, 350, CANVAS);
  const now = toMap(zoom(camera, 2, 500, 350, flat, CANVAS), 500, 350, CANVAS);
  near(now[0], under[0]);
  near(now[1], under[1]);
});

test("a binned map is shown in the grid's window, in its own larger pixels", () => {
  const view = { x: -4, y: 6, width: 40, height: 20, out_width: 800, out_height: 400 };
  assert.deepEqual(inCells(view, [2, 4]), { x: -2, y: 1.5, width: 20, height: 5, out_width: 800, out_height: 400 });
});

test("the part in sight is what lies on the source, or nothing", () => {
  assert.deepEqual(onSource({ x: -10, y: 100, width: 60, height: 60 }, SOURCE), { x: 0, y: 100, width: 50, height: 10 });
  assert.equal(onSource({ x: 150, y: 0, width: 10, height: 10 }, SOURCE), null);
});

test("two views stand side by side unless that wastes much, four in a square", () => {
  assert.equal(columnsFor(1, CANVAS, SOURCE), 1);
  assert.equal(columnsFor(4, CANVAS, SOURCE), 2);
  assert.equal(columnsFor(2, CANVAS, SOURCE), 2);
  assert.equal(columnsFor(2, { width: 700, height: 800 }, SOURCE), 1);
  assert.equal(columnsFor(2, CANVAS, { width: 400, height: 60, aspect: 1 }), 1, "a long frieze");
  assert.equal(columnsFor(2, CANVAS, { width: 400, height: 60, aspect: 6 }), 2, "which is none if its pixels are tall");
});
