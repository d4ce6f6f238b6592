import assert from "node:assert/strict";
import { test } from "node:test";
import { lineOf, stepOf, stepText } from "../../www/app/typed.js";

test("a step is understood with point or comma, with or without its unit, and as whole micrometres where it is one", () => {
  for (const [text, um] of [["0.5", 500], [" 0,29 ", 290], ["1,005", 1005], ["1 mm", 1000], ["0.0005", 0.5]]) {
    assert.deepEqual(stepOf(text), { step_x_um: um, step_y_um: um }, text);
  }
});

test("a step may differ across and down", () => {
  for (const text of ["0.25 × 0.4", "0,25x0,4", "0.25 mm X 0.4 mm"]) assert.deepEqual(stepOf(text), { step_x_um: 250, step_y_um: 400 }, text);
});

test("what is no length is no step", () => {
  for (const text of ["", " ", "abc", "0", "-1", "Infinity", "1 × 0", "1 × ", "1 × 2 × 3", "0.5 m"]) assert.equal(stepOf(text), null, text);
});

test("a step as it is offered for change is taken again as the same", () => {
  for (const [x, y] of [[500, 500], [250, 400], [1005, 0.5]]) assert.deepEqual(stepOf(stepText(x, y)), { step_x_um: x, step_y_um: y });
});

test("an element line is understood however it is spaced and written", () => {
  const lines = { "Cu K": ["Cu", "K"], "cu k": ["Cu", "K"], "CU-KA": ["Cu", "Kα"], "Pb_Lb1": ["Pb", "Lβ"], "Pb Lα": ["Pb", "Lα"], "FeK": ["Fe", "K"], "CuKa1": ["Cu", "Kα"],
    "K K": ["K", "K"], "KK": ["K", "K"], "tl m": ["Tl", "M"] };
  for (const [text, [element, line]] of Object.entries(lines)) assert.deepEqual(lineOf(text), { element, line }, text);
});

test("an element whose symbol ends like a line stays that element", () => {
  for (const text of ["Tl", "Al", "Fm", "K", "U"]) assert.deepEqual(lineOf(text), { element: text, line: null });
});

test("nothing typed means no element, and what is none is left to the core to refuse", () => {
  assert.deepEqual(lineOf("  "), { element: "", line: null });
  assert.deepEqual(lineOf("iron"), { element: "iron", line: null });
  assert.deepEqual(lineOf("Cu Q"), { element: "Cu Q", line: null });
});
