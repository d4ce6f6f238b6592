import assert from "node:assert/strict";
import { test } from "node:test";
import { groupedAsks, withAsks } from "../../www/app/asked.js";
import { laidAfter, laidText } from "../../www/app/laying.js";
import { FIELDS, fieldText, numberOf, stepFieldText, stepSettings, withField } from "../../www/app/scan-fields.js";
import { grid, scan } from "./support/shapes.mjs";

const field = (key) => FIELDS.find((one) => one.key === key);

test("numbers are read with point or comma, with or without their unit", () => {
  assert.deepEqual(["50", " 50,5 ", "50 kV", "50KV", "−3", ".5", "", " kV "].map((text) => numberOf(text, "kV")), [50, 50.5, 50, 50, -3, 0.5, null, null]);
  for (const text of ["fifty", "5 0", "1,000.5", "1e3", "50 mV", "--1"]) assert.ok(Number.isNaN(numberOf(text, "kV")), text);
});

test("one field changes one value of the scan; an empty one forgets it", () => {
  const before = scan({ anode: "Rh", kv: 50 });
  assert.deepEqual(withField(before, field("kv"), "40 kV"), { scan: { ...before, kv: 40 } });
  assert.deepEqual(withField(before, field("kv"), ""), { scan: { ...before, kv: null } });
  assert.deepEqual(withField(before, field("anode"), " "), { scan: { ...before, anode: null } });
  assert.deepEqual(withField(before, field("kv"), "much"), { message: "Voltage: give a number in kV, for example 50." });
  assert.deepEqual(FIELDS.map(({ key }) => key).toSorted(), Object.keys(scan()).filter((key) => key !== "text").toSorted());
});

test("fields hold what is stated, and the step in millimetres", () => {
  assert.deepEqual([fieldText(null, "kv"), fieldText(scan({ kv: 50 }), "kv"), fieldText(scan(), "date")], ["", "50", ""]);
  assert.deepEqual([fieldText(scan(), "own_lines"), fieldText(scan({ own_lines: ["Rh L", "Ar K"] }), "own_lines")], ["", "Rh L, Ar K"]);
  assert.deepEqual([stepFieldText(null), stepFieldText(grid({ step_x_um: null, step_y_um: null })), stepFieldText(grid({ step_y_um: 250 }))], ["", "", "0.5 × 0.25"]);
  assert.deepEqual([stepSettings(" "), stepSettings("0,5 mm"), stepSettings("wide")], [{ step_x_um: null, step_y_um: null }, { step_x_um: 500, step_y_um: 500 }, null]);
});

/** Mirrored left to right first, then turned clockwise, as the core does it. */
function laid(rows, { turns, mirror }) {
  let now = mirror ? rows.map((row) => [...row].reverse()) : rows;
  for (let turn = 0; turn < turns; turn += 1) now = now[0].map((_, x) => now.map((row) => row[x]).reverse());
  return now;
}

test("a turn or a mirroring does to what is seen what it says, however the maps lay before", () => {
  const rows = [[1, 2, 3], [4, 5, 6]];
  const seen_after = { right: (now) => laid(now, { turns: 1, mirror: false }), left: (now) => laid(now, { turns: 3, mirror: false }), mirror: (now) => laid(now, { turns: 0, mirror: true }) };
  for (const turns of [0, 1, 2, 3]) for (const mirror of [false, true]) for (const how of ["left", "right", "mirror"]) {
    const before = laid(rows, { turns, mirror });
    assert.deepEqual(laid(rows, laidAfter({ turns, mirror }, how)), seen_after[how](before), `${how} of ${turns} ${mirror}`);
  }
});

test("how the maps lie is said in words, and nothing where they lie as in their files", () => {
  assert.deepEqual([laidText({ turns: 0, mirror: false }), laidText({ turns: 1, mirror: true }), laidText({ turns: 2, mirror: false })], ["", "mirrored, then turned a quarter to the right", "turned by half"]);
});

const ask = (file, more = {}) => ({ file, sha256: `hash of ${file}`, question: "How?", ways: [{ key: "a", text: "As rows", sample: file }, { key: "b", text: "As columns", sample: "" }], ...more });

test("files with the same question and the same ways are asked about once, with the samples of the first", () => {
  const groups = groupedAsks([ask("1"), ask("2", { question: "Which?" }), ask("3"), ask("4", { ways: [{ key: "a", text: "As rows", sample: "" }] })]);
  assert.deepEqual(groups.map(({ asks, ways }) => [asks.map(({ file }) => file), ways[0].sample]), [[["1", "3"], "1"], [["2"], "2"], [["4"], ""]]);
});

test("a file that is asked about again is asked about once", () => {
  assert.deepEqual(withAsks([ask("1"), ask("2")], [ask("1", { question: "Now?" })]).map(({ file, question }) => [file, question]), [["2", "How?"], ["1", "Now?"]]);
});
