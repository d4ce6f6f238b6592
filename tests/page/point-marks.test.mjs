import assert from "node:assert/strict";
import { test } from "node:test";
import { AnswerControl } from "../../www/app/answer-control.js";
import { labelPlaces, marksOf } from "../../www/app/point-marks.js";
import { START, reduce } from "../../www/app/state.js";
import { materials, points } from "./support/found.mjs";
import { answer, map, opened, photo } from "./support/shapes.mjs";

/** Two places that decide the same, and a third. */
const [first, second, third] = materials.materials.measure_next;
const measure_next = [first, { ...second, technique: first.technique, between: first.between }, third];
const found = { ...materials, shows: [], materials: { ...materials.materials, measure_next } };
const asked = (more = {}) => [opened({ ...more }), { type: "answered", answer: found, turn: true }].reduce(reduce, { ...START, phase: "ready" });
const choose = (index) => ({ type: "place", place: { answer: "m1", index } });
const labels = (state) => marksOf(state).map(({ label, is_proposed, chosen }) => `${is_proposed ? "ring" : "dot"} ${label}${chosen ? " chosen" : ""}`);

test("an answer's places are rings with its numbers, analysis points are marks with their names", () => {
  const state = asked({ points: points.slice(0, 1) });
  assert.deepEqual(labels(state), ["dot Raman 3", "ring 1", "ring 2"]);
  assert.deepEqual(marksOf(state)[1].at, [182.5, 96.5]);
  assert.deepEqual(labels(reduce(state, choose(0))), ["dot Raman 3", "ring 2", "ring 1 chosen"], "the one that is shown lies on top");
  assert.deepEqual(labels(reduce(state, choose(2))), ["dot Raman 3", "ring 3 chosen"], "of another aim its own");
});

test("with the outlines put away only the place that was asked for is seen", () => {
  const state = { ...asked({ points }), outlines: false };
  assert.deepEqual(labels(state), []);
  assert.deepEqual(labels(reduce(state, choose(1))), ["ring 2 chosen"]);
});

test("the rings go with their answer", () => {
  const chosen = reduce(asked(), choose(1));
  assert.deepEqual(labels({ ...chosen, asking: { fraction: 0, text: "" } }), [], "while another is computed none stands there");
  const other = reduce(chosen, { type: "answered", answer: answer("r9"), turn: false });
  assert.deepEqual([other.place, labels(other)], [null, []]);
  const again = reduce(chosen, { type: "answered", answer: { ...materials }, turn: false });
  assert.deepEqual(again.place, { answer: "m1", index: 1 }, "the same answer keeps what was shown");
  assert.deepEqual(reduce(chosen, { type: "ask_failed", problem: null }).answer, null);
  assert.deepEqual(labels(reduce(chosen, { type: "ask_failed", problem: null })), []);
});

/** The control on its own, as it changes the state. */
function control(state) {
  let now = state;
  const one = new AnswerControl({}, { state: () => now, change: (change) => (now = reduce(now, change)), tell: assert.fail, ask: assert.fail });
  return { send: (action) => one.send(action), state: () => now };
}
const show = { type: "show_place", answer: "m1", index: 0 };

test("a place is shown where the grid is seen: a photo or another scan makes way, a map or the overlay stays", () => {
  const stays = control(asked());
  stays.send(show);
  assert.deepEqual([stays.state().mode, stays.state().map, stays.state().place], ["map", "m1", { answer: "m1", index: 0 }]);
  const taken = control(reduce(asked({ photos: [photo("p1")] }), { type: "show_photo", id: "p1" }));
  taken.send(show);
  assert.equal(taken.state().mode, "map");
  const maps = [map("m1", "Ti K", { field: 1 }), map("m2", "Fe K")];
  const scans = control(reduce(asked({ maps }), { type: "show_map", id: "m1" }));
  scans.send(show);
  assert.deepEqual([scans.state().mode, scans.state().map], ["map", "m2"]);
  const dark = control(reduce(asked(), { type: "mode", mode: "overlay" }));
  dark.send(show);
  assert.equal(dark.state().mode, "map", "an overlay without a light shows nothing");
});

test("a label covers no mark, no other label, and stands within the canvas; where there is no room it is left out", () => {
  const canvas = { width: 200, height: 100 };
  const one = (x, y, width = 20) => ({ x, y, half: 8, width, height: 14 });
  const [free] = labelPlaces([one(100, 50)], canvas);
  assert.ok(free.x > 108, "to the right");
  const [at_edge] = labelPlaces([one(190, 50)], canvas);
  assert.ok(at_edge.x + 20 < 182, "at the right edge it stands left");
  const close = [one(100, 50), one(115, 50), one(100, 62), one(115, 62)];
  const boxes = labelPlaces(close, canvas).flatMap((place) => (place === null ? [] : [{ left: place.x, right: place.x + 20, top: place.y - 10.9, bottom: place.y + 3 }]));
  assert.ok(boxes.length >= 2);
  const marks = close.map(({ x, y, half }) => ({ left: x - half, right: x + half, top: y - half, bottom: y + half }));
  for (const [index, box] of boxes.entries()) {
    for (const other of [...boxes.slice(0, index), ...marks]) assert.ok(other.left >= box.right || box.left >= other.right || other.top >= box.bottom || box.top >= other.bottom, JSON.stringify([box, other]));
  }
  assert.deepEqual(labelPlaces([one(100, 50, 400)], canvas), [null]);
  assert.deepEqual(labelPlaces([], canvas), []);
});
