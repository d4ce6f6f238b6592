import assert from "node:assert/strict";
import { test } from "node:test";
import { chosenOf, combineParts, combined } from "../../www/app/region-combine.js";
import { region } from "./support/shapes.mjs";

const THREE = ["r1", "r2", "r3"].map((id) => region(id));
const settings = (parts) => parts.filter((part) => typeof part !== "string").map(({ setting }) => setting);

test("the sentence begins with the first two regions and always makes something", () => {
  assert.deepEqual(combined(THREE, {}), { combine: { how: "and", of: ["r1", "r2"] } });
  assert.deepEqual(combined(THREE, { a: "r2", how: "without" }), { combine: { how: "without", of: ["r2", "r1"] } });
});

test("one region alone can be grown and shrunk", () => {
  assert.deepEqual(combined(THREE.slice(0, 1), { how: "and" }), { combine: { how: "grown", of: ["r1"], by_px: 1 } });
  const ways = combineParts(THREE.slice(0, 1), {}).find(({ setting }) => setting === "how").choices.map(({ value }) => value);
  assert.deepEqual(ways, ["grown", "shrunk"]);
});

test("a region is not combined with itself, and one that is gone is chosen anew", () => {
  assert.equal(chosenOf(THREE, { a: "r1", b: "r1" }).b, "r2");
  assert.deepEqual(combined(THREE.slice(1), { a: "r1", b: "r3" }), { combine: { how: "and", of: ["r2", "r3"] } });
});

test("growing asks for pixels instead of another region", () => {
  assert.deepEqual(settings(combineParts(THREE, { how: "grown" })), ["a", "how", "by"]);
  assert.deepEqual(settings(combineParts(THREE, { how: "or" })), ["a", "how", "b"]);
  assert.deepEqual(combined(THREE, { how: "shrunk", by: " 12" }), { combine: { how: "shrunk", of: ["r1"], by_px: 12 } });
  for (const by of ["", "many", "0", "-1", "2,5"]) assert.match(combined(THREE, { how: "grown", by }).message, /number of pixels/);
});
