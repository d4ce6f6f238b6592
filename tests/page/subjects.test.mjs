import assert from "node:assert/strict";
import { test } from "node:test";
import { START, mapsInView, mapsInViews, reduce, targetOf } from "../../www/app/state.js";
import { layoutText, subjectName } from "../../www/app/subjects.js";
import { answer, grid, light, map, opened, photo } from "./support/shapes.mjs";

const after = (...changes) => changes.reduce(reduce, START);
const FIVE = opened({ maps: ["Ti K", "Fe K", "Pb L", "Hg L", "Zn K"].map((label, at) => map(`m${at + 1}`, label)) });
const layout = (count) => ({ type: "layout", layout: count });
const activate = (view) => ({ type: "activate", view });
const show = (id) => ({ type: "show_map", id });
const lights = (...ids) => ({ type: "lights", lights: [...ids.map((id) => light(id)), ...Array(4 - ids.length).fill(null)] });
const answered = (one = answer(), turn = true) => ({ type: "answered", answer: one, turn });
const maps = (state) => state.views.slice(0, state.layout).map(({ map: id }) => id);
const modes = (state) => state.views.slice(0, state.layout).map(({ mode }) => mode);

test("the list of views always holds what the active one shows", () => {
  const changes = [FIVE, show("m2"), layout(4), activate(2), show("m5"), lights("m1"), activate(0), answered(), { type: "mode", mode: "map" }, layout(2), opened(), layout(1)];
  let state = START;
  for (const change of changes) {
    state = reduce(state, change);
    const { mode, map: id, photo: shown_photo } = state.views[state.active];
    assert.deepEqual([mode, id, shown_photo], [state.mode, state.map, state.photo], change.type);
    assert.ok(state.active < state.layout);
  }
});

test("more views show the maps that follow, each once", () => {
  const state = after(FIVE, show("m4"), layout(4));
  assert.deepEqual(maps(state), ["m4", "m5", "m1", "m2"]);
  assert.equal(state.active, 0);
  const few = after(opened(), layout(4));
  assert.deepEqual(maps(few), ["m1", "m2", "m1", "m1"], "with too few maps the first stands in the rest");
});

test("beside a map the overlay and the answer come first, if there are any", () => {
  const state = after(FIVE, lights("m1", "m3"), answered(), show("m2"), layout(4));
  assert.deepEqual(modes(state), ["map", "overlay", "answer", "map"]);
});

test("a map that is chosen goes into the active view, and the others keep theirs", () => {
  const state = after(FIVE, layout(2), activate(1), show("m5"));
  assert.deepEqual(maps(state), ["m1", "m5"]);
  assert.deepEqual([state.mode, state.map, state.active], ["map", "m5", 1]);
  assert.deepEqual([targetOf(state, 0).settings, targetOf(state, 1).settings, targetOf(state).settings], [{ map: "m1" }, { map: "m5" }, { map: "m5" }]);
});

test("with fewer views the active one stays in sight, and more views bring the others back", () => {
  const four = after(FIVE, layout(4), activate(3));
  assert.equal(four.map, "m4");
  const one = reduce(four, layout(1));
  assert.deepEqual([one.active, one.map, maps(one)], [0, "m4", ["m4"]]);
  assert.deepEqual(maps(reduce(one, layout(4))).toSorted(), ["m1", "m2", "m3", "m4"]);
  const two = reduce(four, layout(2));
  assert.deepEqual([two.active, maps(two)], [1, ["m1", "m4"]]);
});

test("a view that is not there or is active already is not activated", () => {
  const state = after(FIVE, layout(2));
  assert.equal(reduce(state, activate(0)), state);
  assert.equal(reduce(state, activate(2)), state);
  assert.equal(reduce(state, activate(9)), state);
});

test("a light or an answer that another view shows already leaves the active view alone", () => {
  const two = after(FIVE, lights("m1"), layout(2), activate(1), show("m2"));
  assert.deepEqual(modes(two), ["overlay", "map"]);
  assert.deepEqual(modes(reduce(two, lights("m1", "m3"))), ["overlay", "map"]);
  const asked = reduce(two, answered());
  assert.deepEqual(modes(asked), ["overlay", "answer"]);
  assert.deepEqual(modes(after(FIVE, answered(), layout(2), activate(1), show("m2"), answered(answer("r2")))), ["answer", "map"]);
});

test("two views can show two pictures of one answer, and both follow when it is asked again", () => {
  const two = [{ show: "classes", label: "Classes" }, { show: "excess", label: "Excess" }];
  const shown = (state) => [0, 1].map((view) => targetOf(state, view).settings);
  const state = after(FIVE, answered(answer("r1", { shows: two })), layout(2), activate(1), { type: "mode", mode: "answer" }, { type: "show_answer", show: "excess" });
  assert.deepEqual(shown(state), [{ answer: "r1", show: "classes" }, { answer: "r1", show: "excess" }]);
  const again = reduce(state, answered(answer("r2", { shows: two }), false));
  assert.deepEqual(shown(again), [{ answer: "r2", show: "classes" }, { answer: "r2", show: "excess" }]);
  assert.deepEqual(reduce(again, activate(0)).shown, { answer: "r2", show: "classes" });
});

test("what named a map that is gone is filled anew in every view", () => {
  const state = after(FIVE, layout(4), opened());
  assert.deepEqual(maps(state), ["m1", "m2", "m1", "m1"]);
  const photo_view = after(opened({ photos: [photo("p1")] }), layout(2), activate(1), { type: "show_photo", id: "p1" }, activate(0), opened());
  assert.deepEqual([photo_view.views[1].photo, targetOf(photo_view, 1)], [null, { message: "No photo is open." }]);
});

test("maps of all views are seen, those of the active one first and each once", () => {
  const state = after(FIVE, lights("m3", "m2"), layout(4), activate(2), show("m2"));
  assert.equal(state.views[0].mode, "overlay");
  assert.deepEqual(mapsInView(state, 0), ["m3", "m2"]);
  assert.deepEqual(mapsInViews(state).slice(0, 2), ["m2", "m3"]);
  assert.equal(new Set(mapsInViews(state)).size, mapsInViews(state).length);
});

test("views have short names", () => {
  assert.deepEqual([1, 2, 4].map(layoutText), ["1 view", "2 views", "4 views"]);
  const state = after(FIVE, lights("m1", "m3"), layout(2), activate(1), show("m4"));
  assert.deepEqual([subjectName({ ...state, lights: [light("m1"), null, { ...light("m3"), label: "Pb L" }, null] }, 0), subjectName(state, 1)], ["m1 + Pb L", "Hg L"]);
  const asked = reduce(state, answered(answer("r1", { question: "apart", settings: { a: "m3", b: "m1" }, shows: [{ show: "classes", label: "Classes" }] })));
  assert.equal(subjectName(asked, 1), "Apart, Pb L, Ti K");
  const two = reduce(asked, answered(answer("r2", { shows: [{ show: "classes", label: "Classes" }, { show: "excess", label: "Excess" }] })));
  assert.equal(subjectName(two, 1), "Ratio, Ti K, Fe K, Classes");
  assert.equal(subjectName(after(opened({ photos: [{ ...photo("p1"), file: "front.visible.png" }] }), { type: "show_photo", id: "p1" }), 0), "front.visible");
  assert.equal(subjectName(START, 0), "");
});

test("limits belong to the map, in a view of its own and as a light, until the stack loses it", () => {
  const limits = { type: "limits", id: "m1", limits: { low: 7, high: 33 } };
  const state = after(FIVE, lights("m1", "m2"), layout(2), activate(1), show("m1"), limits);
  assert.deepEqual(targetOf(state, 1).settings, { map: "m1", low: 7, high: 33 });
  assert.deepEqual(targetOf(state, 0).settings.lights.map(({ map: id, low, high }) => [id, low, high]), [["m1", 7, 33], ["m2", 3, 90]]);
  assert.deepEqual(targetOf(reduce(state, { ...limits, limits: null }), 1).settings, { map: "m1" });
  assert.deepEqual(reduce(state, opened({ maps: [map("m2", "Fe K")] })).limits, {});
  assert.deepEqual(reduce(state, opened({ maps: [map("m1", "Ti K", { kind: "fitted" })] })).limits, { m1: { low: 7, high: 33 } }, "another kind leaves what the user set");
});

test("scale and colours are the same for all maps, and only what differs from plain is asked for", () => {
  const state = after(FIVE, { type: "scale", scale: "logarithmic" }, { type: "colours", colours: "warm" });
  assert.deepEqual(targetOf(state).settings, { map: "m1", scale: "logarithmic", colours: "warm" });
  assert.equal(targetOf(reduce(state, lights("m2"))).settings.lights[0].scale, "logarithmic");
  assert.deepEqual(targetOf(after(FIVE)).settings, { map: "m1" });
});

test("a light takes new limits and its new name from the core and keeps its colour", () => {
  const state = after(FIVE, lights("m1", "m2"), { type: "light_colour", id: "m2", colour: "#112233" });
  const renewed = reduce(state, { type: "light_defaults", defaults: [{ ...light("m2"), label: "Mn K", low: 5, high: 50 }] });
  assert.deepEqual(renewed.lights[1], { map: "m2", label: "Mn K", colour: "#112233", low: 5, high: 50, gamma: 1 });
  assert.deepEqual(renewed.lights[0], light("m1"), "no word of it, no change");
  assert.equal(renewed.lights[2], null);
});

test("two lights never have one colour: they change colours", () => {
  const two = { type: "lights", lights: [light("m1", "#e69f00"), light("m2", "#56b4e9"), null, null] };
  const state = after(FIVE, two, { type: "light_colour", id: "m1", colour: "#56b4e9" });
  assert.deepEqual(state.lights.slice(0, 2).map(({ colour }) => colour), ["#56b4e9", "#e69f00"]);
});

test("the plane knows the proportion of the pixels, and a binned map lies in the plane of the grid", () => {
  const state = after(opened({ maps: [map("m1", "Ti K"), map("m2", "Fe K", { width: 75, height: 55, cell: [2, 2] })], grid: grid({ step_y_um: 1000, pixel_aspect: 2 }) }), layout(2));
  const [first, second] = [targetOf(state, 0), targetOf(state, 1)];
  assert.deepEqual([first.aspect, first.cell, second.cell], [2, [1, 1], [2, 2]]);
  assert.deepEqual([second.width, second.height], [150, 110]);
  assert.equal(first.plane, second.plane, "they move together");
  const square = reduce(state, opened({ maps: state.maps, grid: grid({ pixel_aspect: 1 }) }));
  assert.notEqual(targetOf(square, 0).plane, first.plane, "another proportion is another plane to look at");
  const with_photo = after(opened({ photos: [photo("p1")], grid: grid({ pixel_aspect: 2 }) }), { type: "show_photo", id: "p1" });
  assert.equal(targetOf(with_photo).aspect, 1, "a photo has its own pixels");
});
