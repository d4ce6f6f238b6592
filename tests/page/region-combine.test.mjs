import assert from "node:assert/strict";
import { test } from "node:test";
import { chosenOf, combineParts, combined } from "../../www/app/region-combine.js";
import { region } from "./support/shapes.mjs";

const THREE = ["r1", "r2", "r3"].map((id) => region(id));
const settings = (parts) => parts.filter((part) => typeof part !== "string").map(({ setting }) => setting);

test("the sentence begins with the first two regions and always makes something", () => {
  assert.deepEqual(combined(THREE, {}), { combine: { how: "and", of: ["r1", "r2"] } });
  assert.deepEqual(combined(THREE, { first: "r2", way: "without" }), { combine: { how: "without", of: ["r2", "r1"] } });
});

test("one region alone can be grown and shrunk", () => {
  assert.deepEqual(combined(THREE.slice(0, 1), { way: "and" }), { combine: { how: "grown", of: ["r1"], by_px: 1 } });
  const ways = combineParts(THREE.slice(0, 1), {}).find(({ setting }) => setting === "way").choices.map(({ value }) => value);
  assert.deepEqual(ways, ["grown", "shrunk"]);
});

test("a region is not combined with itself, and one that is gone is chosen anew", () => {
  assert.equal(chosenOf(THREE, { first: "r1", second: "r1" }).second, "r2");
  assert.deepEqual(combined(THREE.slice(1), { first: "r1", second: "r3" }), { combine: { how: "and", of: ["r2", "r3"] } });
});

test("growing asks for pixels instead of another region", () => {
  assert.deepEqual(settings(combineParts(THREE, { way: "grown" })), ["first", "way", "by"]);
  assert.deepEqual(settings(combineParts(THREE, { way: "or" })), ["first", "way", "second"]);
  assert.deepEqual(combined(THREE, { way: "shrunk", by: " 12" }), { combine: { how: "shrunk", of: ["r1"], by_px: 12 } });
  for (const by of ["", "many", "0", "-1", "2,5"]) assert.match(combined(THREE, { way: "grown", by }).message, /number of pixels/);
});
