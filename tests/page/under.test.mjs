import assert from "node:assert/strict";
import { test } from "node:test";
import { START, layersSeen, reduce, targetOf } from "../../www/app/state.js";
import { subjectName } from "../../www/app/subjects.js";
import { dividedIn, isLaid, isOnMaps, mixText, stepped } from "../../www/app/under-state.js";
import { answer, grid, light, map, opened, photo } from "./support/shapes.mjs";

const aligned = (id, more = {}) => ({ ...photo(id), alignment: { trouble: "", transform: [0.5, 0, 0, 0, 0.5, 0, 0, 0, 1], points: [] }, ...more });
const after = (...changes) => changes.reduce(reduce, START);
const BOTH = opened({ photos: [aligned("p1"), photo("p2")] });
const under = (more = {}) => ({ type: "photo_under", under: { photo: "p1", mix: 0.4, divide: null, ...more } });
const settings = (state, view) => targetOf(state, view).settings;

test("an aligned photo is seen with maps, overlay and answer, one that is not aligned never", () => {
  const mixed = after(BOTH, under());
  assert.deepEqual(settings(mixed), { map: "m1", photo: "p1", mix: 0.4 });
  const lights = reduce(mixed, { type: "lights", lights: [light("m1"), null, null, null] });
  assert.deepEqual([settings(lights).photo, settings(lights).mix], ["p1", 0.4]);
  const asked = reduce(mixed, { type: "answered", answer: answer(), turn: true });
  assert.deepEqual(settings(asked), { answer: "r1", show: "count_ratio", photo: "p1", mix: 0.4 });
  assert.deepEqual(settings(reduce(mixed, under({ photo: "p2" }))), { map: "m1" });
  assert.deepEqual(settings(reduce(mixed, { type: "photo_under", under: null })), { map: "m1" });
});

test("a line divides instead of mixing, and the mixture comes back as it was", () => {
  const divided = after(BOTH, under({ divide: { at: 0.25, along: "y" } }));
  assert.deepEqual(settings(divided), { map: "m1", photo: "p1", divide: 0.25, divide_along: "y" });
  assert.equal(divided.photo_under.mix, 0.4);
});

test("with a map that does not lie on the grid no photo is asked for, with a binned one it is", () => {
  const maps = [map("m1", "Ti K"), map("m2", "Fe K", { width: 90 }), map("d1", "Ti K binned", { width: 75, height: 55, cell: [2, 2] })];
  maps.push(map("m3", "Pb L", { field: 1 }));
  const state = after(opened({ maps, photos: [aligned("p1")] }), under());
  const of = (id) => settings(reduce(state, { type: "show_map", id }));
  assert.deepEqual([of("m1").photo, of("m2").photo, of("d1").photo, of("m3").photo], ["p1", undefined, "p1", undefined]);
  const lit = reduce(state, { type: "lights", lights: [light("m3"), null, null, null] });
  assert.equal(settings(lit).photo, undefined, "another scan of the same size lies elsewhere");
});

test("the picture is out of date when the photo lies otherwise, and the photo is put away when it lies nowhere", () => {
  const state = after(BOTH, under());
  const moved = reduce(state, opened({ photos: [aligned("p1", { alignment: { trouble: "", transform: [0.6, 0, 0, 0, 0.6, 0, 0, 0, 1], points: [] } })] }));
  assert.notEqual(targetOf(moved).fingerprint, targetOf(state).fingerprint);
  assert.equal(targetOf(moved).plane, targetOf(state).plane);
  const lost = reduce(state, opened({ photos: [photo("p1")] }));
  assert.deepEqual([lost.photo_under, settings(lost)], [null, { map: "m1" }]);
  assert.equal(reduce(state, opened({ photos: [aligned("p1", { alignment: { trouble: "Three points are needed.", transform: null } })] })).photo_under, null);
  assert.equal(reduce(state, opened({ photos: [] })).photo_under, null);
});

test("a photo alone lies on the maps once it is aligned, in their plane, or is seen as it was taken", () => {
  const shown = after(BOTH, { type: "show_photo", id: "p1" });
  assert.deepEqual(settings(shown), { photo: "p1", on: "grid" });
  const maps = after(BOTH);
  assert.deepEqual([targetOf(shown).plane, targetOf(shown).readable], [targetOf(maps).plane, true]);
  assert.ok(isOnMaps(shown) && isOnMaps(maps) && !layersSeen(shown) && layersSeen(maps));
  const taken = reduce(shown, { type: "photo_as_taken", on: true });
  assert.deepEqual([settings(taken), targetOf(taken).width, targetOf(taken).readable, isOnMaps(taken)], [{ photo: "p1" }, 316, false, false]);
  const other = after(BOTH, { type: "show_photo", id: "p2" });
  assert.deepEqual([settings(other), isOnMaps(other)], [{ photo: "p2" }, false]);
  assert.equal(isLaid(after(opened({ maps: [], photos: [aligned("p1")] })), aligned("p1")), false, "without maps there is nothing to lie on");
});

test("side by side: maps in one view, the photo laid on them in the other, in one plane", () => {
  for (const before of [[], [{ type: "layout", layout: 4 }, { type: "activate", view: 3 }], [{ type: "show_photo", id: "p1" }]]) {
    const state = after(BOTH, ...before, under(), { type: "side_by_side", photo: "p1" });
    assert.deepEqual([state.layout, state.photo_under], [2, null]);
    const other = 1 - state.active;
    assert.deepEqual([state.mode, settings(state, other)], ["map", { photo: "p1", on: "grid" }]);
    assert.equal(targetOf(state, state.active).plane, targetOf(state, other).plane);
  }
});

test("a photo that is chosen for the maps turns a view of a photo to the maps", () => {
  const state = after(BOTH, { type: "show_photo", id: "p2" }, under());
  assert.deepEqual([state.mode, settings(state).photo], ["map", "p1"]);
  // Once it is there, a photo can be looked at alone.
  assert.equal(reduce(reduce(state, { type: "show_photo", id: "p2" }), under({ mix: 0.7 })).mode, "photo");
});

test("keys move a share by one and ten hundredths, and not beyond its ends", () => {
  assert.deepEqual([stepped(0.5, "ArrowRight", false), stepped(0.5, "ArrowUp", false), stepped(0.5, "ArrowLeft", true), stepped(0.5, "PageDown", false)], [0.51, 0.49, 0.4, 0.6]);
  assert.deepEqual([stepped(0.95, "ArrowRight", true), stepped(0.02, "PageUp", false), stepped(0.4, "Home", false), stepped(0.4, "End", false), stepped(0.4, "a", false)], [1, 0, 0, 1, null]);
  assert.equal(mixText(0.4), "40\u202f%");
});

test("what is saved is divided where what is seen is", () => {
  // The window reaches 10 pixels beyond a map of 100 on both sides; the line stands over its pixel 20.
  const [window, part] = [{ x: -10, y: -5, width: 120, height: 60 }, { x: 0, y: 0, width: 100, height: 50 }];
  assert.equal(dividedIn(0.25, "x", window, part), 0.2);
  assert.equal(dividedIn(0.5, "y", window, part), 0.5);
  assert.equal(dividedIn(0, "x", window, part), 0);
});

test("views of photos are called by the photo's name", () => {
  const named = after(opened({ photos: [{ ...photo("p1"), name: "raking light" }] }), { type: "show_photo", id: "p1" });
  assert.equal(subjectName(named, 0), "raking light");
  const file = after(opened({ photos: [{ ...photo("p1"), name: "p1.png" }], grid: grid() }), { type: "show_photo", id: "p1" });
  assert.equal(subjectName(file, 0), "p1");
});
