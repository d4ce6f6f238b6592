import assert from "node:assert/strict";
import { test } from "node:test";
import { makersText, unbroken } from "../../www/app/words.js";
import { map } from "./support/shapes.mjs";

test("an element is not parted from its line, and other words break as they like", () => {
  const maps = [map("m1", "Ti K"), map("m2", "Fe K"), map("m3", "sum of all", { element: null })];
  assert.equal(unbroken("blocks of 4 × 4 pixels", maps), "blocks of 4\u00a0×\u00a04 pixels");
  assert.equal(unbroken("Ti K occurs without Fe K, Ti K only; sum of all is no line", maps), "Ti\u00a0K occurs without Fe\u00a0K, Ti\u00a0K only; sum of all is no line");
});

test("a number keeps its per cent, and an interval its dash", () => {
  assert.equal(unbroken("holds with thresholds 20 % higher; 0.2 – 0.3 or −2 – −1", []), "holds with thresholds 20\u00a0% higher; 0.2\u00a0–\u2060\u00a00.3 or −2\u00a0–\u2060\u00a0−1");
  assert.equal(unbroken("so it is – or seems", []), "so it is – or seems");
});

test("the maps that a region was made from are said once", () => {
  const maps = [map("m1", "Cu K"), map("m2", "Fe K")];
  const region = (text, ...makers) => ({ text, makers, makers_text: "made from them" });
  assert.equal(makersText(region("Cu K from 12 counts", "m1"), maps), "");
  assert.equal(makersText(region("Sky without Sea", "m1", "m2"), maps), "made from them");
  assert.equal(makersText(region("Cu K from 12 counts", "m1", "gone"), maps), "made from them");
});
