import assert from "node:assert/strict";
import { test } from "node:test";
import { changesOf, commonReason, drafted, lineText, pastedNames, rowOf } from "../../www/app/naming.js";
import { map } from "./support/shapes.mjs";

const none = (id, file) => map(id, file, { element: null, line: null, file });
const maps = [map("m1", "Fe K", { line: "Fe K" }), none("m2", "scan/map_02.tif"), none("m3", "scan/map_03.tif"), none("m4", "scan/sum.tif")];
const typed = (...lines) => lines.reduce((drafts, [id, line]) => drafted(maps, drafts, [id], { line }), {});

test("the field holds element and line as they are", () => {
  assert.deepEqual([maps[0], maps[1], map("m9", "Pb M", { element: "Pb", line: "M" }), map("m9", "Zn", { element: "Zn", line: null })].map(lineText), ["Fe K", "", "Pb M", "Zn"]);
});

test("only what differs is stated, in the order of the maps", () => {
  const drafts = typed(["m3", "pb-lα"], ["m2", "Cu"], ["m1", " Fe K "]);
  assert.deepEqual(changesOf(maps, drafts), [{ id: "m2", element: "Cu" }, { id: "m3", element: "Pb", line: "Lα" }]);
  assert.deepEqual(changesOf(maps, drafted(maps, drafts, ["m2"], { line: "" })), [{ id: "m3", element: "Pb", line: "Lα" }]);
  assert.deepEqual(changesOf(maps, typed(["m1", ""])), [{ id: "m1", element: "" }], "an element can be taken away");
});

test("several maps get one kind in one go, and taking it back leaves nothing to state", () => {
  const drafts = drafted(maps, typed(["m2", "Cu K"]), ["m1", "m2", "m3"], { kind: "fitted" });
  assert.deepEqual(changesOf(maps, drafts), [{ id: "m1", kind: "fitted" }, { id: "m2", element: "Cu", line: "K", kind: "fitted" }, { id: "m3", kind: "fitted" }]);
  assert.deepEqual(Object.keys(drafted(maps, drafts, ["m1", "m3"], { kind: "window" })), ["m2"]);
});

test("a typed word for what a map is becomes its role", () => {
  assert.deepEqual(changesOf(maps, typed(["m4", "Live Time"])), [{ id: "m4", element: "", line: "", role: "live time" }]);
  assert.deepEqual(changesOf(maps, drafted(maps, {}, ["m4"], { role: "sum" })), [{ id: "m4", role: "sum" }]);
});

test("a pasted column fills the rows from here on; one name is pasted as text", () => {
  assert.deepEqual(pastedNames("Cu K\r\nPb L\r\n\r\n", maps, 1), [{ id: "m2", line: "Cu K" }, { id: "m3", line: "Pb L" }]);
  assert.deepEqual(pastedNames("Cu K\n\nPb L", maps, 1).map(({ line }) => line), ["Cu K", "", "Pb L"], "an empty cell stays an empty cell");
  assert.deepEqual(pastedNames("Cu K\n", maps, 1), []);
  assert.deepEqual(pastedNames("a\nb\nc", maps, 3), [{ id: "m4", line: "a" }], "what has no row is left out");
});

test("a pasted table of files and names goes by the files", () => {
  assert.deepEqual(pastedNames("MAP_03\tPb L\nother\tXx\nscan/map_02.tif\tCu K", maps, 0), [{ id: "m3", line: "Pb L" }, { id: "m2", line: "Cu K" }]);
});

test("a failure finds its row: by the core's detail, by what it quotes, or because there is one", () => {
  const changes = [{ id: "m2", element: "Xx", line: "K" }, { id: "m3", element: "Pb", line: "L" }];
  assert.equal(rowOf({ message: "No.", detail: "m3" }, changes), "m3");
  assert.equal(rowOf({ message: "“Xx K” is no element line.", detail: "" }, changes), "m2");
  assert.equal(rowOf({ message: "No memory.", detail: "" }, changes), null);
  assert.equal(rowOf({ message: "No memory.", detail: "" }, changes.slice(1)), "m3");
});

test("the reason of most proposed kinds is said once, of few or stated ones never", () => {
  const proposed = (id, kind_reason, kind_is_stated = false) => map(id, "Fe K", { kind_reason, kind_is_stated });
  const [whole, mixed] = ["Whole numbers.", "Negative values."];
  assert.equal(commonReason([proposed("m1", whole), proposed("m2", mixed), proposed("m3", whole)]), whole);
  assert.equal(commonReason([proposed("m1", whole), proposed("m2", mixed), proposed("m3", whole), proposed("m4", mixed)]), "");
  assert.equal(commonReason([proposed("m1", whole), proposed("m2", whole), proposed("m3", whole, true)]), "");
});
