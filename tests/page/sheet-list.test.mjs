import assert from "node:assert/strict";
import { test } from "node:test";
import { belongsText, commonKind, marksOf, matches, sheetOf, sumOf, together } from "../../www/app/sheet-list.js";
import { thumbSize } from "../../www/app/thumb-size.js";
import { map } from "./support/shapes.mjs";

const detectors = ["m2", "m3", "m4"].map((id, at, all) => map(id, "Fe K", { detector: at + 1, group: all.filter((one) => one !== id) }));
const error = map("m5", "fe_err", { element: null, role: "fit error", belongs_to: "m2" });
const made = map("d1", "Fe K sum", { derived: { how: "sum", of: ["m4", "m2", "m3"], text: "Fe K + Fe K + Fe K", account: [] } });
const maps = [map("m1", "Cu K"), ...detectors, error, made];
const ids = (places) => places.map(({ map, of }) => (of.length > 1 ? of.map(({ id }) => id) : map.id));

test("element maps come first with their detectors folded, then auxiliary maps, then what was made here", () => {
  const { elements, auxiliary, made } = sheetOf(maps, "", new Set());
  assert.deepEqual([ids(elements), ids(auxiliary), ids(made)], [["m1", ["m2", "m3", "m4"]], ["m5"], ["d1"]]);
});

test("unfolded, the other detectors follow the first", () => {
  const { elements } = sheetOf(maps, "", new Set(["m2"]));
  assert.deepEqual(ids(elements), ["m1", ["m2", "m3", "m4"], "m3", "m4"]);
  assert.equal(elements[1].is_open, true);
});

test("a map whose group names maps that are not there stands alone", () => {
  assert.deepEqual(ids(sheetOf([map("m1", "Cu K", { group: ["m9"] })], "", new Set()).elements), ["m1"]);
});

test("maps are found by the beginnings of words, and by three letters of their file", () => {
  const found = (filter) => maps.filter((map) => matches(map, filter)).map(({ id }) => id);
  assert.deepEqual(found("fe"), ["m2", "m3", "m4", "m5", "d1"]);
  assert.deepEqual(found("cu"), ["m1"]);
  assert.deepEqual(found("aux"), ["m5"]);
  assert.deepEqual(found("AUX fe"), ["m5"]);
  assert.deepEqual(found("u"), [], "not inside a word");
  assert.deepEqual(found("tif").length, maps.length);
  assert.deepEqual(found(" "), maps.map(({ id }) => id));
});

test("the kind that most element maps have is said once; without a majority each says its own", () => {
  const kinds = (...texts) => commonKind(texts.map((kind_text, at) => map(`m${at}`, "x", { kind_text })));
  assert.deepEqual(kinds("counts", "counts"), { text: "counts", is_of_all: true });
  assert.deepEqual(kinds("counts", "shape only", "counts"), { text: "counts", is_of_all: false });
  assert.deepEqual(kinds("counts", "shape only"), { text: "", is_of_all: false });
  assert.deepEqual(kinds("", ""), { text: "", is_of_all: false }, "a core that says no kinds");
});

test("below a map stands what is not said elsewhere, and nothing twice", () => {
  const marks = (one, common = "counts", of = 1) => marksOf(one, maps, common, of);
  assert.deepEqual(marks(map("m1", "Cu K", { kind_text: "counts", marks: ["faint"] })), { quiet: [], caution: ["faint"] });
  assert.deepEqual(marks(map("m1", "Cu K", { kind: "display copy", kind_text: "shape only", marks: ["shape only", "faint"] })), { quiet: [], caution: ["shape only", "faint"] });
  assert.deepEqual(marks(map("m1", "Cu K", { kind: "fitted", kind_text: "fitted, error map", marks: ["fitted"] })), { quiet: ["fitted, error map"], caution: [] });
  assert.deepEqual(marks({ ...error, kind_text: "auxiliary", marks: ["no element"] }), { quiet: ["fit error of Fe K"], caution: [] });
  assert.deepEqual([marks({ ...error, label: "Fe K (fit error)" }).quiet, marks({ ...error, label: "fit error" }).quiet], [[], []], "the name says it already");
  assert.deepEqual(marks(detectors[0], "counts", 3).quiet, [], "of folded detectors the number is said beside it");
  assert.deepEqual(marks(detectors[1]).quiet, ["detector\u00a02"]);
  assert.deepEqual(marks({ ...detectors[1], label: "Fe K (detector 2)" }).quiet, []);
});

test("two maps of one line are told apart by their files", () => {
  const twice = [map("m1", "Cu K", { file: "a.tif" }), map("m2", "Cu K", { file: "b.tif" })];
  assert.deepEqual(marksOf(twice[0], twice, "").quiet, ["a.tif"]);
});

test("what an auxiliary map belongs to is said in words, or its role alone", () => {
  assert.equal(belongsText(error, maps), "fit error of Fe K");
  assert.equal(belongsText({ ...error, belongs_to: "gone" }, maps), "fit error");
});

test("a sum of exactly these detectors is found, one of some of them is not", () => {
  assert.equal(sumOf(detectors, maps)?.id, "d1");
  assert.equal(sumOf(detectors.slice(1), maps), null);
});

test("small pictures keep the proportion of the scan, fill their place and never more", () => {
  const place = { width: 150, height: 180 };
  assert.deepEqual(thumbSize({ width: 300, height: 220 }, 1, place), { out_width: 150, out_height: 110 });
  assert.deepEqual(thumbSize({ width: 300, height: 220 }, 0.5, place), { out_width: 150, out_height: 55 }, "pixels half as high as wide");
  assert.deepEqual(thumbSize({ width: 75, height: 220, cell: [4, 1] }, 1, place), { out_width: 150, out_height: 110 }, "binned across only");
  assert.deepEqual(thumbSize({ width: 100, height: 1000 }, 1, place), { out_width: 18, out_height: 180 });
  assert.deepEqual(thumbSize({ width: 4, height: 4 }, 1, place), { out_width: 8, out_height: 8 });
  assert.deepEqual(thumbSize({ width: 100000, height: 1 }, 1, place), { out_width: 150, out_height: 1 });
  assert.deepEqual(thumbSize({ width: 300, height: 220 }, NaN, place), { out_width: 150, out_height: 110 });
});

test("marks of overlaps say their kind once, and of very many the first", () => {
  const plain = (marks) => together(marks).map((one) => one.replaceAll("\u00a0", " "));
  assert.deepEqual(plain(["faint", "overlap Pb", "escape Ti", "overlap Hg"]), ["faint", "overlap Pb, Hg", "escape Ti"]);
  assert.deepEqual(plain(["overlap Sn", "overlap Au", "overlap Hg", "overlap Pb"]), ["overlap Sn, Au, Hg …"]);
  assert.deepEqual(plain(["overlap of much", "<b>overlap Pb"]), ["overlap of much", "<b>overlap Pb"], "only the core's own words are put together");
});
