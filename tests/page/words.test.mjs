import assert from "node:assert/strict";
import { test } from "node:test";
import { unbroken } from "../../www/app/words.js";
import { map } from "./support/shapes.mjs";

test("an element is not parted from its line, and other words break as they like", () => {
  const maps = [map("m1", "Ti K"), map("m2", "Fe K"), map("m3", "sum of all", { element: null })];
  assert.equal(unbroken("blocks of 4 × 4 pixels", maps), "blocks of 4\u00a0×\u00a04 pixels");
  assert.equal(unbroken("Ti K occurs without Fe K, Ti K only; sum of all is no line", maps), "Ti\u00a0K occurs without Fe\u00a0K, Ti\u00a0K only; sum of all is no line");
});
