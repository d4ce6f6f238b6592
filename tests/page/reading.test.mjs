import assert from "node:assert/strict";
import { test } from "node:test";
import { AT_A_GLANCE, foldedValues, placeText, regionValues } from "../../www/app/reading.js";
import { isMarked } from "../../www/app/pattern.js";
import { createLink } from "../../www/app/link.js";
import { pan } from "../../www/app/camera.js";

const values = (count) => Array.from({ length: count }, (_, at) => ({ map: `m${at + 1}`, label: `L${at + 1}`, text: String(at) }));
const ids = (list) => list.map(({ map }) => map);

test("few values are all shown, in the order of the sheet", () => {
  const few = values(AT_A_GLANCE);
  assert.deepEqual(foldedValues(few, ["m3"], false), { shown: few, folded: 0 });
});

test("of many values those of the maps in view are shown, the active view's first, and all when asked for", () => {
  const many = values(40);
  const { shown, folded } = foldedValues(many, ["m30", "m2"], false);
  assert.deepEqual([ids(shown), folded], [["m30", "m2"], 38]);
  const all = foldedValues(many, ["m30", "m2"], true);
  assert.deepEqual([ids(all.shown).slice(0, 4), all.shown.length, all.folded], [["m30", "m2", "m1", "m3"], 40, 0]);
  assert.deepEqual([foldedValues(many, [], false).shown.length, foldedValues(many, ["gone"], false).folded], [AT_A_GLANCE, 28]);
});

test("of a region the maps in view are told, or all that fit where none is in view", () => {
  assert.deepEqual(ids(regionValues(values(8), ["m2", "m5"], false)), ["m2", "m5"]);
  assert.equal(regionValues(values(8), ["m2"], true).length, 8);
  assert.equal(regionValues(values(8), [], false).length, 8);
});

test("patterns in the key are those of the picture: of 30 × 30 pixels a third striped, 4 in 25 dotted", () => {
  const marked = (pattern) => Array.from({ length: 900 }, (_, at) => isMarked(pattern, at % 30, Math.floor(at / 30))).filter(Boolean).length;
  assert.deepEqual(["plain", "stripes", "dots", "unheard of"].map(marked), [0, 300, 144, 0]);
  assert.deepEqual([isMarked("stripes", 0, 1), isMarked("stripes", 0, 2), isMarked("dots", 1, 6), isMarked("dots", 2, 6)], [true, false, true, false]);
});

test("views of one plane share a camera once it was moved; what is fitted follows each canvas", () => {
  const link = createLink(() => 0);
  const maps = { plane: "maps", width: 100, height: 50, aspect: 1 };
  const [wide, narrow] = [{ width: 400, height: 400 }, { width: 200, height: 400 }];
  assert.deepEqual([link.camera(maps, wide).scale, link.camera(maps, narrow).scale], [4, 2]);
  const moved = pan(link.camera(maps, wide), 40, 0, maps);
  link.look("maps", moved);
  assert.equal(link.camera(maps, narrow), moved);
  assert.equal(link.camera({ ...maps, plane: "photo" }, wide).fitted, true, "a photo stays where it is");
  link.refit("maps");
  assert.equal(link.camera(maps, narrow).scale, 2);
});

test("the place is told with the regions that it lies in", () => {
  assert.equal(placeText({ text: "x 3 mm, y 4 mm" }), "x 3 mm, y 4 mm");
  const regions = [{ text: "in Bay (900 pixels)", values: [] }, { text: "in Sea (9 000 pixels)", values: [] }];
  assert.equal(placeText({ text: "x 3 mm, y 4 mm", regions, more_regions: "" }), "x 3 mm, y 4 mm · in Bay (900 pixels) · in Sea (9 000 pixels)");
  assert.equal(placeText({ text: "x 3", regions: [], more_regions: "and in one more region" }), "x 3 · and in one more region");
});
