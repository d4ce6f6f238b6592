import assert from "node:assert/strict";
import { test } from "node:test";
import { questionOf, readyToAsk } from "../../www/app/asking.js";
import { LIGHTS, START, answerOf, mapsInView, reduce, slotOf, targetOf } from "../../www/app/state.js";
import { answer, grid, light, map, opened, photo, questions } from "./support/shapes.mjs";

/** The state after these changes. */
const after = (...changes) => changes.reduce(reduce, START);
const NO_LIGHTS = Array.from({ length: LIGHTS }, () => null);
const chosen = (name, value) => ({ type: "setting", name, value });
const answered = (one = answer(), turn = true) => ({ type: "answered", answer: one, turn });
const notice = (file, more = {}) => ({ severity: "error", code: "empty", file, text: "The file is empty.", ...more });

test("a change never alters the state that it began from", () => {
  const before = after(opened(), chosen("a", "m1"), chosen("b", "m2"), answered());
  const copy = structuredClone(before);
  const changes = [opened({ maps: [] }), answered(answer("r2")), chosen("a", "m2"), { type: "lights", lights: [light("m1"), null, null, null] },
    { type: "notices", notices: [notice("a.tif")] }, { type: "asking", progress: { fraction: 0, text: "" } }, { type: "broken", problem: { code: "x", message: "y", detail: "" } }];
  for (const change of changes) reduce(before, change);
  assert.deepEqual(before, copy);
});

test("the first map and the first question are taken; what was chosen stays chosen", () => {
  const state = after(opened());
  assert.deepEqual([state.map, state.question, state.mode], ["m1", "ratio", "map"]);
  const later = after(opened(), { type: "show_map", id: "m2" }, { type: "question", key: "apart" }, opened());
  assert.deepEqual([later.map, later.question], ["m2", "apart"]);
});

test("what named a map that is gone falls away with it", () => {
  const lights = [light("m1"), light("m2"), null, null];
  const state = after(opened(), { type: "show_map", id: "m2" }, { type: "lights", lights }, chosen("a", "m1"), chosen("b", "m2"), chosen("region", "m2"),
    opened({ maps: [map("m1", "Ti K")] }));
  assert.equal(state.map, "m1");
  assert.deepEqual(state.lights, [light("m1"), null, null, null]);
  assert.deepEqual(state.settings, { a: "m1", region: "m2" }, "a region is not a map, whatever it is called");
});

test("a map that has come to the id of another one is not taken for it", () => {
  const chosen_before = [opened(), { type: "show_map", id: "m2" }, { type: "lights", lights: [light("m1"), light("m2"), null, null] }, chosen("a", "m2"), answered()];
  const state = after(...chosen_before, opened({ maps: [map("m1", "Ti K"), map("m2", "Hg L", { file_sha256: "another file" })] }));
  assert.deepEqual([state.map, state.lights, state.settings], ["m1", [light("m1"), null, null, null], {}]);
  assert.deepEqual([state.answer, state.shown, state.mode], [null, null, "map"]);
  const same = after(...chosen_before, opened({ maps: [map("m1", "Ti K"), map("m2", "Hg L", { kind: "net" }), map("m3", "Pb L")] }));
  assert.deepEqual([same.map, same.settings, same.answer?.id], ["m2", { a: "m2" }, "r1"], "a new name is no other map");
});

test("a photo alone is shown at once, and makes way for the first map, but not for later ones", () => {
  const alone = after(opened({ maps: [], photos: [photo("p1")] }));
  assert.deepEqual([alone.mode, alone.photo], ["photo", "p1"]);
  const first = reduce(alone, opened({ photos: [photo("p1")] }));
  assert.equal(first.mode, "map");
  const looking = reduce(first, { type: "show_photo", id: "p1" });
  assert.equal(reduce(looking, opened({ photos: [photo("p1")] })).mode, "photo");
});

test("switching a light on turns the view to the overlay, switching the last one off stays there", () => {
  const on = after(opened(), { type: "lights", lights: [light("m1"), null, null, null] });
  assert.equal(on.mode, "overlay");
  assert.equal(reduce(on, { type: "lights", lights: NO_LIGHTS }).mode, "overlay");
  assert.equal(after(opened(), { type: "lights", lights: NO_LIGHTS }).mode, "map");
});

test("a light goes back to its own slot, a new one to the first free slot, and a fifth to none", () => {
  assert.equal(slotOf([light("m1"), null, light("m3"), null], "m3"), 2);
  assert.equal(slotOf([light("m1"), null, light("m3"), null], "m9"), 1);
  assert.equal(slotOf(["m1", "m2", "m3", "m4"].map((id) => light(id)), "m5"), -1);
});

test("a hint lasts until the user does something else", () => {
  const hinted = after(opened(), { type: "hint", text: "Switch one off first." });
  assert.equal(hinted.hint, "Switch one off first.");
  for (const change of [{ type: "mode", mode: "overlay" }, { type: "show_map", id: "m1" }, { type: "lights", lights: NO_LIGHTS }, { type: "question", key: "apart" }, chosen("a", "m1")]) {
    assert.equal(reduce(hinted, change).hint, "");
  }
});

test("notices are kept one by one, each once, until they are put away", () => {
  const state = after({ type: "notices", notices: [notice("a.tif"), notice("b.tif"), notice("a.tif")], source: "opening" }, { type: "notices", notices: [notice("a.tif", { severity: "info" })] });
  assert.deepEqual(state.notices.map(({ source, severity, file }) => [source, severity, file]), [["opening", "error", "a.tif"], ["opening", "error", "b.tif"], ["page", "info", "a.tif"]]);
  const rest = reduce(state, { type: "dismiss", keys: [state.notices[0].key, state.notices[2].key] });
  assert.deepEqual(rest.notices.map(({ file }) => file), ["b.tif"]);
  assert.deepEqual(reduce(rest, { type: "dismiss_all" }).notices, []);
});

test("a question is ready once every map is chosen; other settings may be left to the core", () => {
  assert.equal(readyToAsk(after()), null);
  assert.equal(readyToAsk(after(opened(), chosen("a", "m1"))), null);
  const both = after(opened(), chosen("a", "m1"), chosen("b", "m2"), chosen("seed", "7"));
  assert.deepEqual(readyToAsk(both), { question: "ratio", settings: { a: "m1", b: "m2" } });
  const apart = reduce(both, { type: "question", key: "apart" });
  assert.deepEqual(readyToAsk(apart), { question: "apart", settings: { a: "m1", b: "m2" } }, "what was chosen for one question holds for the next");
  const regions = [{ id: "g1", name: "Hills" }];
  assert.deepEqual(readyToAsk({ ...reduce(apart, chosen("region", "g1")), regions })?.settings, { a: "m1", b: "m2", region: "g1" });
});

test("a question that the maps do not permit is not asked", () => {
  const state = after(opened({ questions: questions({ ready: false }) }), chosen("a", "m1"), chosen("b", "m2"));
  assert.equal(questionOf(state)?.reason, "A ratio needs two maps.");
  assert.equal(readyToAsk(state), null);
});

test("an answer shows its first picture, and the same kind of picture as the answer before it", () => {
  const two = { shows: [{ show: "classes", label: "Classes" }, { show: "count_ratio", label: "Count ratio" }] };
  const first = after(opened(), answered(answer("r1", two)));
  assert.deepEqual([first.mode, first.shown], ["answer", { answer: "r1", show: "classes" }]);
  const other = reduce(first, { type: "show_answer", show: "count_ratio" });
  assert.deepEqual(reduce(other, answered(answer("r2", two))).shown, { answer: "r2", show: "count_ratio" });
});

test("an answer that nobody asked for just now leaves the view as it is", () => {
  const state = after(opened(), { type: "mode", mode: "overlay" }, answered(answer("r1"), false));
  assert.deepEqual([state.mode, state.shown?.answer], ["overlay", "r1"]);
});

test("an answer without a picture gives the view back to the map", () => {
  const state = after(opened(), answered(), answered(answer("r2", { shows: [] })));
  assert.deepEqual([state.mode, state.shown, state.answer?.id], ["map", null, "r2"]);
  assert.deepEqual(targetOf(reduce(state, { type: "mode", mode: "answer" })), { message: "This answer has no picture." });
});

test("asking puts the old answer away, a failure says why, and a new answer clears the failure", () => {
  const asking = after(opened(), answered(), { type: "asking", progress: { fraction: 0.5, text: "half" } });
  assert.deepEqual([answerOf(asking), asking.asking?.text], [null, "half"]);
  assert.deepEqual(targetOf(asking), targetOf(after(opened(), answered())), "the view keeps its picture until another comes");
  const failed = reduce(asking, { type: "ask_failed", problem: { code: "core_stopped", message: "Stopped.", detail: "" } });
  assert.deepEqual([failed.asking, failed.shown, failed.ask_trouble?.message], [null, null, "Stopped."]);
  assert.deepEqual(targetOf(failed), { message: "There is no answer to show." });
  assert.equal(answerOf(failed), null);
  const again = reduce(failed, answered(answer("r2")));
  assert.deepEqual([again.ask_trouble, answerOf(again)?.id], [null, "r2"]);
});

test("the view shows one map, the lights that are on, the maps of an answer, or none of them", () => {
  const lit = after(opened(), { type: "lights", lights: [null, light("m2"), null, light("m1")] });
  assert.deepEqual(mapsInView(lit), ["m2", "m1"]);
  assert.deepEqual(mapsInView(reduce(lit, { type: "show_map", id: "m1" })), ["m1"]);
  assert.deepEqual(mapsInView(after(opened(), answered(answer("r1", { settings: { a: "m2", b: "gone", floor: 0.05, seed: 1 } })))), ["m2"]);
  assert.deepEqual(mapsInView(after(opened({ photos: [photo("p1")] }), { type: "show_photo", id: "p1" })), []);
});

test("the picture of a map, an overlay, an answer and a photo is asked for with its settings and its own plane", () => {
  const state = after(opened({ photos: [photo("p1")] }), answered(), { type: "lights", lights: [light("m2"), null, null, null] });
  const of = (mode) => targetOf(reduce(state, { type: "mode", mode }));
  assert.deepEqual(of("map").settings, { map: "m1" });
  assert.deepEqual(of("overlay").settings, { lights: [{ map: "m2", colour: "#e69f00", low: 3, high: 90, gamma: 1 }] });
  assert.deepEqual(of("answer").settings, { answer: "r1", show: "count_ratio" });
  assert.deepEqual(of("photo").settings, { photo: "p1" });
  assert.equal(of("map").plane, of("answer").plane, "maps and answers lie in one plane");
  assert.notEqual(of("photo").plane, of("map").plane);
  assert.deepEqual([of("map").readable, of("photo").readable], [true, false]);
  assert.deepEqual([of("photo").width, of("photo").height], [316, 236]);
});

test("a picture is out of date when its map or the step changes, and not when another map does", () => {
  const print = (state) => targetOf(state).fingerprint;
  const state = after(opened());
  assert.equal(print(reduce(state, opened({ maps: [map("m1", "Ti K"), map("m2", "Mn K")] }))), print(state));
  assert.notEqual(print(reduce(state, opened({ maps: [map("m1", "Cr K"), map("m2", "Fe K")] }))), print(state));
  assert.notEqual(print(reduce(state, opened({ grid: grid({ step_x_um: 250 }) }))), print(state));
});

test("where nothing can be shown, the view says what to do", () => {
  const said = (...changes) => targetOf(after(...changes)).message;
  assert.match(said(), /No map is open/);
  assert.match(said(opened(), { type: "mode", mode: "overlay" }), /No light is on/);
  assert.match(said(opened(), { type: "mode", mode: "answer" }), /No answer yet/);
  assert.match(said(opened(), { type: "mode", mode: "answer" }, { type: "asking", progress: { fraction: 0, text: "" } }), /being computed/);
});

test("before the user has chosen, the first map that shows more than background is shown", () => {
  const flat = map("m1", "Ar K", { low: 4, median: 21, high: 44 });
  const sum = map("m2", "Sum", { element: null, median: 100, high: 9000 });
  const full = map("m3", "As K", { median: 32, high: 19424 });
  const reading = { type: "reading", reading: { done: 0, total: 3, name: "" } };
  const come = [reading, opened({ maps: [flat] }), opened({ maps: [flat, sum] }), opened({ maps: [flat, sum, full] }), { type: "reading", reading: null }].reduce(reduce, START);
  assert.equal(come.map, "m3");
  assert.equal([reading, opened({ maps: [flat] })].reduce(reduce, START).map, "m1", "where there is no other");
  assert.equal([reading, opened({ maps: [flat] }), { type: "show_map", id: "m1" }, opened({ maps: [flat, full] })].reduce(reduce, START).map, "m1", "what was chosen stays");
  assert.equal([opened({ maps: [flat] }), opened({ maps: [flat, full] })].reduce(reduce, START).map, "m1", "nothing changes by itself once all is read");
});
