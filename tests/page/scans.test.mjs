import assert from "node:assert/strict";
import { test } from "node:test";
import { isLaying, placed, resumed, ruleOf, scanBegun, scanSeen, settingsOf } from "../../www/app/aligning-state.js";
import { nextWords } from "../../www/app/aligning-words.js";
import { Controller } from "../../www/app/controller.js";
import { changesOf, drafted, mayBeScans, scanChoices, scanChosen } from "../../www/app/naming.js";
import { actsOf, inspected } from "../../www/app/noticed.js";
import { problem } from "../../www/app/protocol.js";
import { labelInScan, scanWord } from "../../www/app/scan-words.js";
import { besideOf, comparedOf, comparisonOf, isLaidScan, mapsOfScan, pairOf } from "../../www/app/scans-state.js";
import { marksOf, sheetOf } from "../../www/app/sheet-list.js";
import { START, reduce, targetOf } from "../../www/app/state.js";
import { settled } from "./support/ports.mjs";
import { grid, map, opened, photo, questions, scan } from "./support/shapes.mjs";

const line = (id, label, more = {}) => map(id, label, { line: label, ...more });
const other = (id, label, more = {}) => line(id, label, { field: 1, width: 90, height: 80, marks: ["second scan"], ...more });
const maps = [line("m1", "Ti K"), line("m2", "Fe K"), other("s1", "Ca K"), other("s2", "Fe K"), other("s3", "", { element: null, line: null, role: "sum" })];
const field = (more = {}) => ({ field: 1, label: "second scan", maps: ["s1", "s2", "s3"], width: 90, height: 80, alignment: null, ...more });
const corners = [[60, 0], [132, 0], [132, 64], [60, 64]];
/** 0.8 of a pixel of the grid, 60 to the right. */
const laid = (points = [], more = {}) => ({ model: "affine", model_stated: null, points: points.map((one) => ({ ...one, error_px: null, left_out_px: null, text: "" })),
  transform: [0.8, 0, 60, 0, 0.8, 0, 0, 0, 1], corners, text: "laid", trouble: "", ...more });
const stack = (more = {}) => reduce(START, opened({ maps, fields: [field()], ...more }));

test("a scan is called as the core calls it", () => {
  assert.deepEqual([0, 1, 2, 3].map(scanWord), ["first scan", "second scan", "scan 3", "scan 4"]);
  assert.deepEqual([other("s1", "Fe K (second scan)"), other("s2", "Fe K"), line("m1", "Ti K (second scan)")].map(labelInScan), ["Fe K", "Fe K", "Ti K (second scan)"]);
});

test("the same line of both scans is proposed first", () => {
  assert.deepEqual(pairOf(maps, 1), { map: "s2", first: "m2" });
  assert.deepEqual(mapsOfScan(maps, 1).map(({ id }) => id), ["s1", "s2"], "what is no element map is not looked at first");
  assert.equal(besideOf(maps, "s1"), "m1", "without one of its line the first map");
  assert.equal(pairOf(maps, 2), null);
  assert.deepEqual(pairOf([maps[2]], 1), { map: "s1", first: null });
  // Maps that nobody named are of no line, and so not of the same.
  const unnamed = [map("m1", "a", { element: null, line: null }), map("m2", "b"), other("s1", "c", { element: null, line: null })];
  assert.deepEqual(pairOf(unnamed, 1), { map: "s1", first: "m1" });
});

test("a map of another scan has pixels of its own, where no region and no photo lies", () => {
  const state = reduce({ ...stack({ photos: [{ ...photo("p1"), alignment: laid() }] }), photo_under: { photo: "p1", mix: 0.5, divide: null } }, { type: "show_map", id: "s2" });
  const target = targetOf(state);
  assert.deepEqual([target.width, target.height, target.readable, target.on_grid, target.settings.photo], [90, 80, true, false, undefined]);
  const first = targetOf(reduce(state, { type: "show_map", id: "m2" }));
  assert.deepEqual([first.width, first.on_grid], [150, true]);
  assert.notEqual(first.plane, target.plane);
  // Also where it is as large as the grid.
  const alike = reduce(reduce(START, opened({ maps: [line("m1", "Ti K"), other("s1", "Ti K", { width: 150, height: 110 })], fields: [field({ maps: ["s1"] })] })), { type: "show_map", id: "s1" });
  assert.notEqual(targetOf(alike).plane, targetOf(reduce(alike, { type: "show_map", id: "m1" })).plane);
});

test("a scan is laid by one of its maps, whichever is looked at", () => {
  const state = stack();
  let now = scanBegun(field(), maps, grid());
  assert.deepEqual([now.photo, now.scan.map, now.scan.first, isLaying(now), now.size], [null, "s2", "m2", true, { width: 90, height: 80 }]);
  now = placed(placed(now, "photo", [10, 20]), "maps", [68, 16]);
  assert.deepEqual(settingsOf(now), { map: "s1", points: [{ from: [10, 20], to: [68, 16] }] });
  const seen = scanSeen(now, maps, "s1");
  assert.deepEqual([seen.scan.map, seen.scan.first, settingsOf(seen).map], ["s1", "m1", "s1"]);
  assert.match(nextWords(placed(now, "photo", [1, 1])), /waits for its place in the first scan/);
  // Its last map is gone, and so is the place where it was laid.
  assert.equal(resumed({ ...state, aligning: now, maps: maps.slice(0, 2), fields: [] }), null);
  const less = resumed({ ...state, aligning: { ...now, unsent: false }, maps: maps.filter(({ id }) => id !== "s2"), fields: [field({ maps: ["s1", "s3"], alignment: laid([{ from: [10, 20], to: [68, 16] }]) })] });
  assert.deepEqual([less.scan.map, less.scan.first, less.points.length, less.alignment.text], ["s1", "m1", 1, "laid"]);
  const { there } = ruleOf(less);
  assert.deepEqual([there[0], there[2]], [0.8, 60]);
});

test("a photo stays laid as before beside another scan", () => {
  const state = stack({ photos: [{ ...photo("p1"), alignment: laid() }] });
  const now = { ...scanBegun(field(), maps, grid()), photo: "p1", scan: null };
  assert.equal(resumed({ ...state, aligning: now }).photo, "p1");
  assert.equal(resumed({ ...state, aligning: now, photos: [] }), null);
});

test("what was compared is told of the same maps and the same alignment alone", () => {
  const state = stack({ fields: [field({ alignment: laid() })] });
  const pair = { map: "s2", first: "m2" };
  const compared = { of: comparisonOf(state, pair), busy: false, found: { text: ["0.870"] }, trouble: "" };
  const told = reduce(state, { type: "compared", compared });
  assert.deepEqual(comparedOf(told, pair).found.text, ["0.870"]);
  assert.equal(comparedOf(told, { map: "s2", first: "m1" }), null);
  const again = (more) => comparedOf(reduce(told, opened({ maps, fields: [field({ alignment: laid() })], ...more })), pair);
  assert.notEqual(again({}), null);
  assert.equal(again({ fields: [field({ alignment: laid([], { text: "otherwise" }) })] }), null);
  assert.equal(again({ maps: maps.map((one) => (one.id === "m2" ? { ...one, kind: "fitted" } : one)) }), null);
  assert.equal(again({ grid: grid({ step_x_um: 400 }) }), null);
  assert.deepEqual([field(), field({ alignment: laid() }), field({ alignment: laid([], { trouble: "Two points are one." }) })].map(isLaidScan), [false, true, false]);
});

test("the sheet keeps the maps of each scan together, and says once which it is", () => {
  const made = other("d1", "Fe K", { derived: { how: "sum", of: ["s2"], text: "", account: [] } });
  const { elements, auxiliary, scans, made: last } = sheetOf([...maps, made], "", new Set());
  const ids = (places) => places.map((place) => place.map.id);
  assert.deepEqual([ids(elements), ids(auxiliary), scans.map((one) => [one.field, ids(one.places)]), ids(last)], [["m1", "m2"], [], [[1, ["s1", "s2", "s3"]]], ["d1"]]);
  assert.deepEqual(marksOf(maps[3], maps, "").caution, []);
  assert.deepEqual(marksOf(made, maps, "").caution, ["second scan"], "what is made stands elsewhere");
  assert.deepEqual(marksOf(maps[3], maps, "").quiet, [], "a line that both scans have is not there twice");
});

test("maps of one file are stated to be of a scan together, and those of a folder at once", () => {
  const files = [["m1", "a/Fe.tif"], ["m2", "b/two.tif"], ["m3", "b/two.tif"], ["m4", "b/Ca.tif"], ["m5", "alone.tif"]].map(([id, file]) => map(id, id, { file, file_sha256: file, element: null }));
  const chosen = (id, value) => scanChosen(files, files.find((one) => one.id === id), value);
  assert.deepEqual(chosen("m2", "1"), { ids: ["m2", "m3"], field: 1 });
  assert.deepEqual(chosen("m2", "1 folder"), { ids: ["m2", "m3", "m4"], field: 1 });
  const choices = (id, drafts = {}) => scanChoices(files, drafts, files.find((one) => one.id === id) ?? null).map(({ value }) => value);
  assert.deepEqual(choices("m2"), ["0", "1", "0 folder", "1 folder"]);
  assert.deepEqual([choices("m1"), choices("m5"), choices("")], [["0", "1"], ["0", "1"], ["0", "1"]]);
  const drafts = drafted(files, {}, ["m2", "m3"], { field: 1 });
  assert.deepEqual(choices("m5", drafts), ["0", "1", "2"], "one more than there are");
  assert.deepEqual(changesOf(files, drafts), [{ id: "m2", field: 1 }, { id: "m3", field: 1 }]);
  assert.deepEqual(drafted(files, drafts, ["m2", "m3"], { field: 0 }), {}, "taken back");
  // What is made of maps belongs to their scan.
  assert.deepEqual(drafted([map("d1", "sum", { derived: { how: "sum", of: [], text: "", account: [] } })], {}, ["d1"], { field: 1 }), {});
  assert.deepEqual([mayBeScans(files, {}), mayBeScans(files, drafts), mayBeScans(maps, {})], [false, true, true]);
});

test("a seam’s sides are each made a region by its button, and the notice goes with the last", () => {
  const offers = ["left", "right"].map((name) => ({ label: name, call: "add_region", args: [{ name }] }));
  const seam = { severity: "warning", code: "seam", file: "", text: "A seam.", map: null, offers };
  const state = reduce(stack(), { type: "inspected", notices: [seam, { ...seam, code: "x", text: "Other.", offers: [{ label: "do", call: "set_grid", args: [{}] }] }] });
  const [left, right] = actsOf(state.notices[0]);
  const one = reduce(state, { type: "done", keys: left.of, calls: left.calls });
  assert.deepEqual(one.notices.map(({ text, offers }) => [text, offers.map(({ label }) => label)]), [["A seam.", ["right"]], ["Other.", ["do"]]]);
  const both = reduce(one, { type: "done", keys: right.of, calls: right.calls });
  assert.deepEqual(both.notices.map(({ text }) => text), ["Other."]);
  assert.deepEqual(inspected(both.notices, [seam], both.put_away).map(({ text }) => text), [], "the seam is still there, and told already");
  const [other_act] = actsOf(both.notices[0]);
  assert.deepEqual(reduce(both, { type: "done", keys: other_act.of, calls: other_act.calls }).notices, [], "any other offer settles its notice");
});

/** A page whose core holds a second scan. */
async function page(limner) {
  let alignment = null;
  const replies = { maps: () => maps, photos: () => [], grid: () => grid(), questions: () => questions(), points: () => [], spectra: () => [], overlaps: () => [], findings: () => [], about: () => null, exports: () => [], techniques: () => [], materials: () => [], scan: () => scan(), regions: () => [], fields: () => [field({ alignment })] };
  const controller = new Controller({ call: async (action, args = []) => replies[action](args), ask: async () => assert.fail("nothing is asked") }, {
    align: async ({ points }) => {
      alignment = laid(points);
      controller.limner_event({ type: "photos_changed" });
      return alignment;
    },
    ...limner,
  }, () => {});
  controller.ready();
  await settled();
  return controller;
}

test("a second scan is aligned, compared and laid from its place", async (t) => {
  t.mock.timers.enable({ apis: ["setTimeout"] });
  const told = [];
  const controller = await page({
    compare_scans: async (settings) => (told.push(["compare", settings]), { text: ["0.87 times"], second: "s2", outline: corners }),
    lay_on_grid: async (id, { on_progress }) => (told.push(["lay", id]), on_progress({ fraction: 0.5, text: "" }), { id: "d1" }),
  });
  assert.equal(controller.state.fields[0].label, "second scan");
  controller.send({ type: "open_aligning", photo: null, scan: 1 });
  await settled();
  const now = () => controller.state.aligning;
  controller.send({ type: "align_edit", next: placed(placed(now(), "photo", [10, 20]), "maps", [68, 16]) });
  t.mock.timers.tick(1000);
  await settled();
  assert.deepEqual([now().unsent, now().alignment.text, controller.state.fields[0].alignment.text], [false, "laid", "laid"]);
  controller.send({ type: "compare_scans", map: now().scan.map, first: now().scan.first });
  assert.equal(controller.state.compared.busy, true);
  await settled();
  assert.deepEqual(comparedOf(controller.state, now().scan).found.text, ["0.87 times"]);
  controller.send({ type: "lay_on_grid", map: now().scan.map });
  assert.equal(controller.state.making.fraction, 0.5);
  await settled();
  assert.deepEqual([controller.state.making, controller.state.make_troubles], [null, []]);
  assert.deepEqual(told, [["compare", { map: "s2", first: "m2" }], ["lay", "s2"]]);
  controller.send({ type: "open_aligning", photo: null, scan: 7 });
  await settled();
  assert.equal(now().scan.field, 1, "a scan that is not there is not opened");
});

test("a comparison that cannot be made says why; one that comes too late is told nowhere", async () => {
  let answer = () => {};
  const controller = await page({ compare_scans: () => new Promise((resolve, reject) => (answer = { resolve, reject })) });
  controller.send({ type: "compare_scans", map: "s2", first: "m1" });
  controller.send({ type: "compare_scans", map: "s2", first: "m1" });
  answer.reject(problem("bad_setting", "They are not of one line."));
  await settled();
  assert.deepEqual([comparedOf(controller.state, { map: "s2", first: "m1" }).trouble, controller.state.compared.busy], ["They are not of one line.", false]);
  controller.send({ type: "compare_scans", map: "s2", first: "m1" });
  const late = answer;
  controller.send({ type: "compare_scans", map: "s2", first: "m2" });
  late.resolve({ text: ["late"] });
  await settled();
  assert.deepEqual([controller.state.compared.busy, controller.state.compared.found], [true, null]);
});
