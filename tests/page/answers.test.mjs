import assert from "node:assert/strict";
import { test } from "node:test";
import { AnswerControl, isAnswerAction } from "../../www/app/answer-control.js";
import { plotted } from "../../www/app/answer-state.js";
import { readyToAsk } from "../../www/app/asking.js";
import { START, reduce } from "../../www/app/state.js";
import { tableFileName } from "../../www/app/words.js";
import { problem } from "../../www/app/protocol.js";
import { apart, faint, matrix, questions, rasters } from "./support/answers.mjs";
import { settled } from "./support/ports.mjs";
import { map, opened } from "./support/shapes.mjs";

const REGIONS = [{ id: "r1", name: "Hills" }, { id: "r2", name: "Sea" }];
const RECTANGLE = { from: [0, 0.5], to: [0.2, 0.9] };

/** An answer on the page, and a core that the test answers for. */
function page(answer = apart) {
  let state = [opened({ maps: [map("m1", "Ti K"), map("m2", "Fe K"), map("m3", "Pb L")], questions }), { type: "question", key: answer.question },
    { type: "answered", answer, rasters, turn: false }].reduce(reduce, { ...START, regions: REGIONS });
  const calls = [];
  const told = [];
  let asks = 0;
  const waiting = (name) => (...args) => new Promise((resolve, reject) => calls.push({ name, args, resolve, reject }));
  const limner = Object.fromEntries(["preview_region", "add_region", "joint", "export"].map((name) => [name, waiting(name)]));
  const control = new AnswerControl(limner, { state: () => state, change: (change) => (state = reduce(state, change)), tell: (thrown) => told.push(thrown), ask: () => (asks += 1) });
  /** The page goes on to this state. */
  const point = (more) => {
    const before = state;
    state = { ...state, ...more };
    control.changed(before);
  };
  return { point, send: (action) => control.send(action), calls, told, state: () => state, change: (change) => (state = reduce(state, change)), asks: () => asks };
}

const preview = (text) => ({ text, area_text: "153 mm²", mask: { width: 1, height: 1, data: new Uint8Array([1]) } });

test("a rectangle in the joint plot lights its pixels, and is kept as a region by what it is", async () => {
  const { send, calls, state } = page();
  send({ type: "brush", answer: apart.id, brush: RECTANGLE });
  assert.deepEqual([calls[0].name, calls[0].args[0]], ["preview_region", { cloud: { answer: apart.id, ...RECTANGLE } }]);
  calls[0].resolve(preview("Ti K from 12, Fe K to 9"));
  await settled();
  assert.deepEqual([state().brush.lit.text, state().brush.lit.mask.data[0]], ["Ti K from 12, Fe K to 9: 153 mm²", 1]);
  send({ type: "keep_brush" });
  assert.deepEqual([calls[1].name, calls[1].args[0]], ["add_region", { cloud: { answer: apart.id, ...RECTANGLE } }]);
  calls[1].resolve({ id: "r3", name: "Region 3" });
  await settled();
  assert.deepEqual([state().brush.name, state().unfolded], ["Region 3", "r3"], "it is unfolded in the list, where it can be named");
  send({ type: "brush", answer: apart.id, brush: null });
  assert.equal(state().brush, null);
});

test("while a rectangle is drawn only its newest state is looked up, and what is lit does not flicker", async () => {
  const { send, calls, state } = page();
  send({ type: "brush", answer: apart.id, brush: RECTANGLE });
  calls[0].resolve(preview("first"));
  await settled();
  for (const right of [0.3, 0.4, 0.5]) send({ type: "brush", answer: apart.id, brush: { ...RECTANGLE, to: [right, 0.9] } });
  assert.equal(state().brush.lit.text, "first: 153 mm²");
  assert.equal(calls.length, 2);
  calls[1].resolve(preview("second"));
  await settled();
  assert.deepEqual([calls.length, calls[2].args[0].cloud.to], [3, [0.5, 0.9]]);
});

test("a rectangle that was put away lights nothing when its pixels come, and another answer begins without one", async () => {
  const { send, calls, state, change } = page();
  send({ type: "brush", answer: apart.id, brush: RECTANGLE });
  send({ type: "brush", answer: apart.id, brush: null });
  calls[0].resolve(preview("late"));
  await settled();
  assert.equal(state().brush, null);
  send({ type: "brush", answer: apart.id, brush: RECTANGLE });
  change({ type: "answered", answer: { ...apart, id: "a2" }, rasters, turn: false });
  assert.equal(state().brush, null);
});

test("a rectangle that holds nothing says so and cannot be kept", async () => {
  const { send, calls, state } = page();
  send({ type: "brush", answer: apart.id, brush: RECTANGLE });
  calls[0].reject(problem("empty_region", "No pixel lies in it."));
  await settled();
  assert.deepEqual([state().brush.lit, state().brush.trouble], [null, "No pixel lies in it."]);
  send({ type: "keep_brush" });
  assert.equal(calls.length, 1);
});

test("a region that is pointed at, or else unfolded, is marked in the joint plot, and only where there is one", async () => {
  const { point, calls, state } = page();
  const bins = { width: 2, height: 2, data: new Float64Array(4) };
  point({ unfolded: "r1" });
  assert.deepEqual(calls[0].args, [apart.id, "r1"]);
  calls[0].resolve(bins);
  await settled();
  assert.deepEqual([state().marked.region, state().marked.label], ["r1", "Hills"]);
  point({ lit: "r2" });
  calls[1].resolve(bins);
  await settled();
  assert.equal(state().marked.label, "Sea");
  point({ regions: [...REGIONS] });
  assert.deepEqual([state().marked, calls[2].args], [null, [apart.id, "r2"]], "it may have other pixels now");
  calls[2].reject(problem("unknown_region", "It is gone."));
  await settled();
  point({ lit: null, unfolded: null });
  assert.equal(state().marked, null);
  const other = page(faint);
  other.point({ lit: "r1" });
  assert.equal(other.calls.length, 0, "this answer has no joint plot");
});

test("a pair of the matrix becomes the question about that pair", () => {
  const { send, state, asks } = page(matrix);
  send({ type: "choose_form", question: "together", key: "all" });
  send({ type: "ask_pair", a: "m3", b: "m1" });
  assert.deepEqual(readyToAsk(state()), { question: "together", settings: { a: "m3", b: "m1" } });
  assert.equal(asks(), 2);
});

test("a form with settings of its own is asked with them unless others are chosen", () => {
  const { send, state, change } = page();
  change({ type: "question", key: "regions" });
  send({ type: "choose_form", question: "regions", key: "zones" });
  assert.deepEqual(readyToAsk(state()), { question: "regions", settings: { zones: 0 } });
  change({ type: "setting", name: "zones_by", value: "parts" });
  change({ type: "setting", name: "zones", value: 4 });
  assert.deepEqual(readyToAsk(state()), { question: "regions", settings: { zones: 4, zones_by: "parts" } });
  send({ type: "choose_form", question: "regions", key: "" });
  assert.deepEqual(readyToAsk(state()), { question: "regions", settings: {} });
});

test("a line is drawn for the setting that wants one, and another form stops the drawing", () => {
  const { send, state } = page();
  send({ type: "choose_form", question: "regions", key: "" });
  send({ type: "draw_line", setting: "line" });
  assert.equal(state().drawing_line, "line");
  send({ type: "line_drawn", setting: "line", line: { from: [1, 2], to: [9, 9], width_px: 3 } });
  assert.equal(state().drawing_line, null);
  send({ type: "draw_line", setting: "line" });
  send({ type: "choose_form", question: "together", key: "all" });
  assert.equal(state().drawing_line, null);
});

test("a table that cannot be written is told", async () => {
  const { send, calls, told } = page();
  send({ type: "save_csv", what: "table", answer: apart.id });
  assert.deepEqual([calls[0].name, calls[0].args], ["export", ["table", { answer: apart.id }]]);
  calls[0].reject(problem("no_table", "This answer has no table."));
  await settled();
  assert.deepEqual(told.map(({ message }) => message), ["This answer has no table."]);
});

test("of the rasters the page keeps what its plots draw; tables are named after question and maps", () => {
  assert.deepEqual(Object.keys(plotted(apart, rasters)), ["joint"]);
  assert.deepEqual(plotted(faint, rasters), {});
  const maps = [map("m1", "Ti K"), map("m2", "Fe/K <2>")];
  assert.equal(tableFileName({ answer: apart, maps }, apart.id, "table"), "apart Ti K FeK 2 table.csv");
  assert.equal(tableFileName({ answer: apart, maps }, "another", "profile"), "profile.csv");
});

test("an action of answers is told from the others", () => {
  assert.equal(isAnswerAction({ type: "brush" }), true);
  assert.equal(isAnswerAction({ type: "choose_map" }), false);
});
