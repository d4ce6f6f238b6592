import assert from "node:assert/strict";
import { test } from "node:test";
import { dragged, keyed, limitText, numberOf, outlineOf, placeOf, stepAt, toneOf, typedLimit, valueAt } from "../../www/app/axis.js";

const EVEN = { edges: Array.from({ length: 51 }, (_, index) => index * 4) }; // 0 to 200
const ROOT = { edges: Array.from({ length: 51 }, (_, index) => (index / 50) ** 2 * 400) }; // a square-root axis to 400
/** Whole numbers on a square-root axis: the bars of the first counts are wider than the others. */
const COUNTS = { edges: [0, 1, 4, 9, 12.25, 16], places: [0, 0.25, 0.5, 0.75, 0.875, 1] };
const LIMITS = { low: 20, high: 150 };
const near = (found, wanted) => assert.ok(Math.abs(found - wanted) < 1e-9, `${found}, wanted ${wanted}`);

test("values have places between the edges, and those beyond stand at the ends", () => {
  assert.deepEqual([-5, 0, 50, 200, 1e9].map((value) => placeOf(EVEN, value)), [0, 0, 0.25, 1, 1]);
  near(placeOf(ROOT, 100), 0.5);
  assert.equal(placeOf({ edges: [5, 5] }, 5), 1, "an axis without length has a place for its only value");
});

test("places lead back to their values on every axis", () => {
  for (const axis of [EVEN, ROOT, COUNTS]) for (const place of [0, 0.013, 0.5, 0.777, 1]) near(placeOf(axis, valueAt(axis, place)), place);
  assert.deepEqual([valueAt(EVEN, -3), valueAt(EVEN, 7)], [0, 200]);
});

test("where bars differ in width, their own places count", () => {
  assert.deepEqual([0, 1, 2.5, 9, 12.25, 16].map((value) => placeOf(COUNTS, value)), [0, 0.25, 0.375, 0.75, 0.875, 1]);
  assert.deepEqual([0.25, 0.375, 0.8125].map((place) => valueAt(COUNTS, place)), [1, 2.5, 10.625]);
  assert.equal(outlineOf([1, 0.5], [0, 0.8, 1]), "polygon(0% 100%, 0% 0%, 80% 0%, 80% 50%, 100% 50%, 100% 100%)");
  assert.equal(stepAt(COUNTS, 0.5), 1);
  assert.equal(dragged(COUNTS, { low: 0, high: 16 }, "low", 0.76).low, 9);
});

test("a limit moves in round steps that are finer where the axis is finer", () => {
  assert.equal(stepAt(EVEN, 100), 1);
  assert.equal(stepAt(ROOT, 1), 0.1);
  assert.equal(stepAt(ROOT, 399), 10);
  assert.equal(dragged(EVEN, LIMITS, "low", 0.2512).low, 50);
  assert.deepEqual(dragged(ROOT, { low: 0, high: 300 }, "low", 0.04), { low: 0.6, high: 300 }, "without the dust of binary fractions");
});

test("a dragged limit stops short of the other, and the other stays", () => {
  assert.deepEqual(dragged(EVEN, LIMITS, "low", 1), { low: 149, high: 150 });
  assert.deepEqual(dragged(EVEN, LIMITS, "high", 0), { low: 20, high: 21 });
  assert.deepEqual(dragged(EVEN, LIMITS, "high", 5), { low: 20, high: 200 });
  for (let place = 0; place <= 1; place += 0.01) {
    for (const end of ["low", "high"]) {
      const { low, high } = dragged(ROOT, { low: 0.03, high: 0.04 }, end, place);
      assert.ok(low < high, `${low} < ${high} at ${place}`);
    }
  }
});

test("arrows move a limit by a hundredth, Page by a tenth, Home and End as far as it goes; other keys are left alone", () => {
  const moved = (key, end = "low") => keyed(EVEN, LIMITS, end, key)[end];
  assert.deepEqual(["ArrowRight", "ArrowUp", "ArrowLeft", "ArrowDown"].map((key) => moved(key)), [22, 22, 18, 18]);
  assert.deepEqual([moved("PageUp", "high"), moved("PageDown", "high")], [170, 130]);
  assert.deepEqual([moved("Home"), moved("End"), moved("Home", "high"), moved("End", "high")], [0, 149, 21, 200]);
  assert.deepEqual(["Tab", "a", "Enter"].map((key) => keyed(EVEN, LIMITS, "low", key)), [null, null, null]);
});

test("an arrow always moves a limit, also where a hundredth is less than a step, until the end of the axis", () => {
  const fine = { edges: [0, 1, 2, 3] }; // a hundredth is 0.03, a step 1
  assert.equal(keyed(fine, { low: 1, high: 3 }, "low", "ArrowLeft").low, 0);
  assert.equal(keyed(fine, { low: 0, high: 2 }, "high", "ArrowRight").high, 3);
  assert.deepEqual(keyed(fine, { low: 0, high: 3 }, "low", "ArrowLeft"), { low: 0, high: 3 });
  assert.deepEqual(keyed(fine, { low: 2, high: 3 }, "low", "ArrowRight"), { low: 2, high: 3 });
});

test("numbers are understood as people type them", () => {
  assert.deepEqual(["12.5", " 12,5 ", "1\u202f200", "−3", "-3", "1e3", "0"].map(numberOf), [12.5, 12.5, 1200, -3, -3, 1000, 0]);
  assert.deepEqual(["", " ", "twelve", "1,2,3", "Infinity", "12 counts"].map(numberOf), [null, null, null, null, null, null]);
});

test("a typed limit is set beyond the axis too, and refused when it is no number or passes the other", () => {
  assert.deepEqual(typedLimit(LIMITS, "high", "500"), { low: 20, high: 500 });
  assert.match(typedLimit(LIMITS, "high", "many"), /^Give a number/);
  assert.match(typedLimit(LIMITS, "high", "20"), /lower limit must be below/);
  assert.match(typedLimit(LIMITS, "low", "151"), /lower limit must be below/);
});

test("a limit in its field is short and can be typed again", () => {
  assert.deepEqual([18, 0.123456, 335.5, 12.3456, -4.5, 1234567].map(limitText), ["18", "0.1235", "336", "12.35", "−4.5", "1234567"]);
  for (const value of [18, 0.1235, -4.5, 1234567]) assert.equal(numberOf(limitText(value)), value);
});

test("the outline of the bars begins and ends on the ground", () => {
  assert.equal(outlineOf([1, 0.25]), "polygon(0% 100%, 0% 0%, 50% 0%, 50% 75%, 100% 75%, 100% 100%)");
  assert.equal(outlineOf([7]), "polygon(0% 100%, 0% 0%, 100% 0%, 100% 100%)", "never higher than its box");
});

test("colours stand between the limits", () => {
  assert.equal(toneOf(["#000", "#888", "#fff"], 0.2, 0.6), "linear-gradient(to right, #000 20.00%, #888 40.00%, #fff 60.00%)");
  assert.equal(toneOf(["#000"], 0, 1), "none");
});
