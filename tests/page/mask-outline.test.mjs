import assert from "node:assert/strict";
import { test } from "node:test";
import { outlinesOf } from "../../www/app/mask-outline.js";

const mask = (...rows) => ({ width: rows[0].length, height: rows.length, data: Uint8Array.from(rows.join(""), (one) => (one === "#" ? 1 : 0)) });

/** Twice the area that a closed line encloses, with its sign (the shoelace formula). */
const twice = (line) => line.reduce((sum, _, at) => (at % 2 ? sum : sum + line[at] * line[(at + 3) % line.length] - line[(at + 2) % line.length] * line[at + 1]), 0);

test("a block has four corners, whatever its size", () => {
  assert.deepEqual(outlinesOf(mask("....", ".##.", ".##.", "....")), [[1, 1, 3, 1, 3, 3, 1, 3]]);
  assert.deepEqual(outlinesOf(mask("#")), [[0, 0, 1, 0, 1, 1, 0, 1]]);
});

test("an empty mask has no outline, a full one that of the field", () => {
  assert.deepEqual(outlinesOf(mask("...", "...")), []);
  assert.deepEqual(outlinesOf(mask("###", "###")), [[0, 0, 3, 0, 3, 2, 0, 2]]);
});

test("a hole is a line of its own, the other way round", () => {
  const lines = outlinesOf(mask("###", "#.#", "###"));
  assert.deepEqual(lines.map(twice), [18, -2]);
});

test("pixels that touch at a corner only are two areas", () => {
  assert.deepEqual(outlinesOf(mask("#.", ".#")).map(twice), [2, 2]);
  assert.deepEqual(outlinesOf(mask(".#", "#.")).map(twice), [2, 2]);
});

test("the lines of any mask enclose as many pixels as are inside", () => {
  let seed = 7;
  const next = () => (seed = (seed * 48271) % 2147483647) / 2147483647;
  for (let round = 0; round < 40; round += 1) {
    const one = { width: 13, height: 9, data: Uint8Array.from({ length: 117 }, () => (next() < 0.2 + round / 60 ? 1 : 0)) };
    const inside = one.data.reduce((sum, value) => sum + value, 0);
    assert.equal(outlinesOf(one).map(twice).reduce((sum, area) => sum + area, 0), 2 * inside);
  }
});

test("what is too ragged is drawn in blocks, and stays within the field", () => {
  const ragged = { width: 65, height: 65, data: Uint8Array.from({ length: 65 * 65 }, (_, at) => at % 2) };
  const lines = outlinesOf(ragged, 500);
  assert.ok(lines.flat().length / 2 <= 500);
  assert.ok(Math.max(...lines.flat()) <= 65);
});
