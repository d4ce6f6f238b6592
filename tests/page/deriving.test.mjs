import assert from "node:assert/strict";
import { test } from "node:test";
import { MAKINGS, built, makingOf, manyText, placesOf, valuesOf } from "../../www/app/deriving.js";
import { map } from "./support/shapes.mjs";

const maps = [map("m1", "Fe K"), map("m2", "Ti K"), map("m3", "Pb L"), map("m4", "live time", { element: null, role: "live time" })];
const calls = (key, values, name) => built(makingOf(key), valuesOf(makingOf(key), values, maps), name);

test("every sentence names only settings that its recipe knows", () => {
  // The fields of each recipe, as src/condition/recipe.rs has them.
  const fields = { sum: [], subtract: ["k"], divide: ["by"], dwell: ["seconds"], dead_time: ["tau_us", "dwell_s"], bin: ["by", "take"], smooth: ["filter", "sigma_px"],
    line_shift: ["lines", "direction", "shift_px"], line_drift: ["direction", "window"], turn_round: ["direction"], hot_pixels: ["pixels", "as"] };
  const said = Object.fromEntries(MAKINGS.map(({ key, parts }) => [key, parts.filter((part) => typeof part !== "string" && part.kind !== "map" && part.kind !== "maps").map(({ setting }) => setting)]));
  assert.deepEqual(said, fields);
});

test("a sum is one map of several, and what is not chosen is asked for", () => {
  assert.deepEqual(calls("sum", { of: ["m1", "m2"] }, " Fe + Ti "), { calls: [{ how: "sum", of: ["m1", "m2"], name: "Fe + Ti" }] });
  assert.deepEqual(calls("sum", {}), { open: "which maps" });
  assert.deepEqual(calls("sum", { of: ["m1"] }), { open: "at least two maps" });
});

test("a difference has its factor, with point or comma", () => {
  assert.deepEqual(calls("subtract", { a: "m1", b: "m2", k: "0,1" }), { calls: [{ how: "subtract", k: 0.1, of: ["m1", "m2"] }] });
  assert.deepEqual(calls("subtract", { a: "m1", b: "m2", k: "a tenth" }), { message: "Factor k: give a number." });
  assert.deepEqual(calls("subtract", { a: "m1" }), { open: "another map" });
});

test("what a map is divided by follows from what it is, unless it is chosen", () => {
  assert.deepEqual(calls("divide", { of: ["m1"], b: "m4" }), { calls: [{ how: "divide", by: "live_time", of: ["m1", "m4"] }] });
  assert.deepEqual(calls("divide", { of: ["m1", "m3"], b: "m2" }), { calls: [{ how: "divide", by: "map", of: ["m1", "m2"] }, { how: "divide", by: "map", of: ["m3", "m2"] }] });
  assert.deepEqual(calls("divide", { of: ["m1"], b: "m4", by: "map" }).calls[0].by, "map");
});

test("one sentence repairs a whole stack, each map in a call of its own and without a common name", () => {
  assert.deepEqual(calls("line_shift", { of: ["m1", "m2"] }, "x"), { calls: [
    { how: "line_shift", lines: "odd", direction: "across", of: ["m1"] }, { how: "line_shift", lines: "odd", direction: "across", of: ["m2"] }] });
  assert.equal(calls("line_shift", { of: ["m1"], shift_px: "−0.43" }).calls[0].shift_px, -0.43);
});

test("defaults hold: bins of 2 as suits the kind, medians without a width", () => {
  assert.deepEqual(calls("bin", { of: ["m1"] }), { calls: [{ how: "bin", by: 2, of: ["m1"] }] });
  assert.deepEqual(calls("bin", { of: ["m1"], by: "4", take: "mean" }), { calls: [{ how: "bin", by: 4, take: "mean", of: ["m1"] }] });
  assert.deepEqual(calls("smooth", { of: ["m1"] }), { calls: [{ how: "smooth", filter: "gaussian", sigma_px: 1, of: ["m1"] }] });
  assert.deepEqual(calls("smooth", { of: ["m1"], filter: "median" }), { calls: [{ how: "smooth", filter: "median", of: ["m1"] }] });
});

test("dead time needs its two numbers, and a second map only if it is chosen", () => {
  assert.deepEqual(calls("dead_time", { of: ["m1"], tau_us: "5" }), { open: "seconds for each pixel" });
  assert.deepEqual(calls("dead_time", { of: ["m1"], tau_us: "5", dwell_s: "0.1" }), { calls: [{ how: "dead_time", tau_us: 5, dwell_s: 0.1, of: ["m1"] }] });
  assert.deepEqual(calls("dead_time", { of: ["m1"], tau_us: "5", dwell_s: "0.1", b: "m3" }).calls[0].of, ["m1", "m3"]);
});

test("hot pixels are named by their places, however they are written", () => {
  for (const text of ["12 40, 13 41", "12,40; 13,41", "x=12 y=40 x=13 y=41", "(12, 40) (13, 41)"]) assert.deepEqual(placesOf(text), [[12, 40], [13, 41]], text);
  for (const text of ["", "12", "12 40 13", "1.5 2", "a b"]) assert.equal(placesOf(text), null, text);
  assert.deepEqual(calls("hot_pixels", { of: ["m1"], pixels: "12 40" }), { calls: [{ how: "hot_pixels", pixels: [[12, 40]], as: "blank", of: ["m1"] }] });
  assert.deepEqual(calls("hot_pixels", { of: ["m1"] }), { open: "pixels" });
  assert.match(calls("hot_pixels", { of: ["m1"], pixels: "12" }).message, /x and y/);
});

test("maps that are gone are no longer chosen", () => {
  assert.deepEqual(valuesOf(makingOf("sum"), { of: ["m1", "gone"] }, maps).of, ["m1"]);
  assert.equal(valuesOf(makingOf("subtract"), { a: "gone" }, maps).a, undefined);
});

test("several maps in words", () => {
  assert.deepEqual([[], ["m1"], ["m1", "m2"], ["m1", "m2", "m4"], ["m1", "m2", "m3"]].map((ids) => manyText(ids, maps)),
    ["", "Fe K", "Fe K and Ti K", "Fe K and 2 more", "all 3 element maps"]);
});
