import assert from "node:assert/strict";
import { test } from "node:test";
import { Controller } from "../../www/app/controller.js";
import { CANCELLED, problem } from "../../www/app/protocol.js";
import { settled } from "./support/ports.mjs";
import { grid, map, questions, scan } from "./support/shapes.mjs";

/** A page whose core answers at once with what the test lays ready, and remembers what it was told. */
async function page() {
  const told = [];
  const maps = [map("m1", "Ti K"), map("m2", "a.tif", { element: null, line: null })];
  const replies = { maps: () => maps, photos: () => [], grid: () => grid({ turns: 1, mirror: false }), questions: () => questions(), points: () => [], spectra: () => [], overlaps: () => [], findings: () => [], about: () => null, exports: () => [], techniques: () => [], materials: () => [], lights: () => [], scan: () => scan({ kv: 40 }), regions: () => [] };
  const call = (name, reply = () => undefined) => async (...args) => {
    told.push([name, ...args.filter((one) => !(one !== null && typeof one === "object" && ("signal" in one || "on_progress" in one)))]);
    return reply(...args);
  };
  const limner = { is_study: async () => false, open: call("open"), read_as: call("read_as"), set_map: call("set_map"), set_maps: call("set_maps"), set_grid: call("set_grid"), remove: call("remove"),
    derive: call("derive", ({ of }) => map(`d of ${of}`, "made")), inspect: call("inspect", () => []), set_scan: call("set_scan", (next) => controller.limner_event({ type: "scan_changed", scan: next })) };
  const controller = new Controller({ call: async (action, args = []) => replies[action](args), ask: async () => assert.fail("nothing is asked") }, limner, () => {});
  controller.ready();
  await settled();
  return { controller, send: controller.send, limner, told, replies, maps, state: () => controller.state };
}

const found = (id, more = {}) => ({ severity: "warning", code: "fill_value", file: `${id}.tif`, map: id, text: "It holds 0.", offers: [], ...more });
const act = (keys, calls) => ({ key: "act", label: "Do", of: keys, calls });

test("after reading, and after changes when they have come to rest, the stack is looked through once", async (t) => {
  t.mock.timers.enable({ apis: ["setTimeout"] });
  const { controller, limner, told, state } = await page();
  limner.inspect = async () => (told.push(["inspect"]), [found("m1")]);
  controller.limner_event({ type: "reading_over" });
  controller.limner_event({ type: "maps_changed" });
  controller.limner_event({ type: "grid_changed", grid: grid() });
  t.mock.timers.tick(1000);
  await settled();
  assert.equal(told.filter(([name]) => name === "inspect").length, 1);
  assert.deepEqual(state().notices.map(({ source, map }) => [source, map]), [["inspection", "m1"]]);
  controller.limner_event({ type: "reading", done: 0, total: 2, name: "a", stop: () => {} });
  controller.limner_event({ type: "maps_changed" });
  t.mock.timers.tick(1000);
  assert.equal(told.filter(([name]) => name === "inspect").length, 1, "not while files are read");
});

test("an offer makes exactly its call, and its notice is gone when it is done", async () => {
  const { controller, send, told, state } = await page();
  controller.limner_event({ type: "read", opened: { maps: [], photos: [], notices: [found("m1"), found("m2")], asks: [] } });
  await settled();
  const [{ key }] = state().notices;
  send({ type: "act", act: act([key], [{ call: "set_map", args: ["m1", { fill_values: [0] }] }]) });
  assert.equal(state().doing?.key, "act");
  await settled();
  assert.deepEqual(told.filter(([name]) => name === "set_map"), [["set_map", "m1", { fill_values: [0] }]]);
  assert.deepEqual([state().notices.map(({ map }) => map), state().doing], [["m2"], null]);
});

test("an offer that fails leaves its notice and says why in its place; one that is cancelled says nothing", async () => {
  const { controller, send, limner, state } = await page();
  controller.limner_event({ type: "read", opened: { maps: [], photos: [], notices: [found("m1")], asks: [] } });
  limner.set_grid = () => Promise.reject(problem("no_memory", "There is not enough memory."));
  send({ type: "act", act: act([], [{ call: "set_grid", args: [{ turns: 1 }] }]) });
  await settled();
  assert.deepEqual([state().act_trouble, state().notices.length, state().doing], [{ key: "act", message: "There is not enough memory." }, 1, null]);
  limner.derive = (_, { signal }) => new Promise((resolve, reject) => signal.addEventListener("abort", () => reject(CANCELLED)));
  send({ type: "act", act: act([], [{ call: "derive", args: [{ how: "sum" }] }]) });
  send({ type: "cancel_act" });
  await settled();
  assert.deepEqual([state().act_trouble, state().doing, state().notices.length], [null, null, 1]);
});

test("one choice is made for all files of a question, which is then gone; what is left out is not read", async () => {
  const { controller, send, told, state } = await page();
  const ask = (sha256) => ({ file: sha256, sha256, question: "How?", ways: [] });
  controller.limner_event({ type: "read", opened: { maps: [], photos: [], notices: [], asks: [ask("1"), ask("2"), ask("3")] } });
  send({ type: "read_as", sha256s: ["1", "2"], way: "rows" });
  send({ type: "leave_out", sha256s: ["3"] });
  await settled();
  assert.deepEqual(told.filter(([name]) => name === "read_as"), [["read_as", ["1", "2"], "rows"]]);
  assert.deepEqual(state().asks, []);
});

test("a folder is walked and its files are read; an empty one says so", async () => {
  const { send, told, state } = await page();
  const file = new File([], "a.tif");
  const folder = (files) => ({ isDirectory: true, fullPath: "/scan", createReader: () => ({ readEntries: (ok) => ok(files.splice(0)) }) });
  send({ type: "walk_folders", entries: [folder([{ isDirectory: false, fullPath: "/scan/a.tif", file: (ok) => ok(file) }])] });
  assert.equal(state().looking, 0);
  await settled();
  assert.deepEqual(told.filter(([name]) => name === "open"), [["open", [{ file, name: "scan/a.tif", way: null }]]]);
  assert.equal(state().looking, null);
  send({ type: "walk_folders", entries: [folder([])] });
  await settled();
  assert.deepEqual(state().notices.map(({ text }) => text), ["No files were found in what was dropped."]);
});

test("names are stated in one go; the table stays open with the sentence where they cannot be", async () => {
  const { send, limner, told, state } = await page();
  send({ type: "open_naming" });
  limner.set_maps = () => Promise.reject(problem("bad_setting", "“Xx K” is no element line."));
  send({ type: "name_maps", changes: [{ id: "m2", element: "Xx", line: "K" }, { id: "m1", element: "Ti" }] });
  assert.equal(state().naming?.busy, true);
  await settled();
  assert.deepEqual(state().naming, { busy: false, trouble: { map: "m2", message: "“Xx K” is no element line." } });
  limner.set_maps = async (changes) => void told.push(["set_maps", changes]);
  send({ type: "name_maps", changes: [{ id: "m2", element: "Cu", line: "K" }] });
  await settled();
  assert.deepEqual([state().naming, told.at(-1)], [null, ["set_maps", [{ id: "m2", element: "Cu", line: "K" }]]]);
});

test("fields of the scan are stated one after the other, each with what was stated before it", async () => {
  const { send, told, state } = await page();
  send({ type: "set_scan", field: "anode", text: "Rh" });
  send({ type: "set_scan", field: "current_ua", text: "200,5" });
  await settled();
  assert.deepEqual(told.filter(([name]) => name === "set_scan").map(([, { anode, kv, current_ua }]) => [anode, kv, current_ua]), [["Rh", 40, null], ["Rh", 40, 200.5]]);
  assert.deepEqual([state().scan?.anode, state().scan_trouble], ["Rh", null]);
});

test("a slip in the scan says its sentence at its field and keeps what was typed", async () => {
  const { send, limner, told, state } = await page();
  send({ type: "set_scan", field: "kv", text: "much" });
  await settled();
  assert.deepEqual(state().scan_trouble, { field: "kv", text: "much", message: "Voltage: give a number in kV, for example 50." });
  limner.set_scan = () => Promise.reject(problem("bad_setting", "The voltage must lie between 1 and 500 kV."));
  send({ type: "set_scan", field: "kv", text: "5000" });
  await settled();
  assert.deepEqual([state().scan_trouble?.message, state().scan?.kv], ["The voltage must lie between 1 and 500 kV.", 40]);
  send({ type: "set_scan_step", text: "wide" });
  await settled();
  assert.equal(state().scan_trouble?.field, "step");
  send({ type: "set_scan_step", text: "" });
  send({ type: "lay", how: "right" });
  await settled();
  assert.deepEqual(told.filter(([name]) => name === "set_grid").map(([, one]) => one), [{ step_x_um: null, step_y_um: null }, { turns: 2, mirror: false }]);
  assert.equal(state().scan_trouble, null);
});

test("maps are made one after the other; one that cannot be does not stop the rest, and the last is shown when it is there", async () => {
  const { controller, send, limner, maps, state } = await page();
  const made = [];
  limner.derive = async ({ of }) => {
    if (of[0] === "m1") throw problem("nothing_to_repair", "There is nothing to repair.");
    const one = map("d1", "made", { derived: { how: "bin", of, text: "", account: [] } });
    made.push(of);
    maps.push(one);
    controller.limner_event({ type: "maps_changed" });
    return one;
  };
  send({ type: "make", calls: [{ how: "bin", of: ["m1"] }, { how: "bin", of: ["m2"] }] });
  assert.deepEqual(state().making, { fraction: 0, text: "Making map 1 of 2" });
  await settled();
  await settled();
  assert.deepEqual([made, state().made, state().make_troubles, state().making, state().map], [[["m2"]], ["d1"], ["There is nothing to repair."], null, "d1"]);
});

test("making is taken back at once, and what was made before stays", async () => {
  const { send, limner, state } = await page();
  limner.derive = (_, { signal }) => new Promise((resolve, reject) => signal.addEventListener("abort", () => reject(CANCELLED)));
  send({ type: "make", calls: [{ how: "bin", of: ["m1"] }, { how: "bin", of: ["m2"] }] });
  send({ type: "cancel_make" });
  await settled();
  assert.deepEqual([state().making, state().made, state().make_troubles], [null, [], []]);
});

test("a map that cannot be removed says why at its place", async () => {
  const { send, limner, state } = await page();
  limner.remove = () => Promise.reject(problem("bad_setting", "It is part of another."));
  send({ type: "remove_map", id: "m1" });
  await settled();
  assert.deepEqual(state().map_trouble, { map: "m1", message: "It is part of another." });
});
