import assert from "node:assert/strict";
import { test } from "node:test";
import { root } from "./support/document.mjs";
import { createRegions } from "../../www/app/components/regions.js";
import { Controller } from "../../www/app/controller.js";
import { CANCELLED, problem } from "../../www/app/protocol.js";
import { RegionControl } from "../../www/app/region-control.js";
import { START, reduce } from "../../www/app/state.js";
import { HOSTILE } from "./support/found.mjs";
import { settled } from "./support/ports.mjs";
import { answer, grid, map, opened, questions, region, scan } from "./support/shapes.mjs";

const after = (...changes) => changes.reduce(reduce, START);
const listed = (...ids) => ({ type: "regions", regions: ids.map((id) => region(id)) });
const BOX = { rectangle: { x: 1, y: 2, width: 3, height: 4 } };

// ---- the state ----

test("what belongs to a region that was taken away goes with it", () => {
  const state = after(opened(), listed("r1", "r2"), { type: "setting", name: "region", value: "r1" }, { type: "seen", id: "r1", on: false }, { type: "lit", id: "r1" },
    { type: "region_failed", trouble: { at: { region: "r1" }, message: "No." } }, { type: "drawing", drawing: { tool: "rectangle", edits: "r1" } });
  const left = reduce(reduce(state, { type: "region_failed", trouble: { at: { region: "r1" }, message: "No." } }), listed("r2"));
  assert.deepEqual([left.unseen, left.lit, left.drawing, left.region_trouble], [[], null, null, null]);
  assert.equal(reduce(state, listed("r1")).settings.region, "r1");
});

test("a region that was just made is unfolded, asked for its name, and seen, even before the list holds it", () => {
  const state = after(opened(), { type: "outlines", on: false }, { type: "region_made", id: "r1" }, listed("r1"));
  assert.deepEqual([state.regions_open, state.outlines, state.unfolded, state.unnamed], [true, true, "r1", "r1"]);
});

test("drawing a region, drawing a line and proposing exclude each other", () => {
  const line = (setting) => ({ type: "drawing_line", setting });
  const draws = { type: "drawing", drawing: { tool: "polygon", edits: null } };
  assert.equal(after(line("line"), draws).drawing_line, null);
  assert.equal(after(draws, line("line")).drawing, null);
  assert.notEqual(after(draws, line(null)).drawing, null);
  assert.equal(after(line("line"), { type: "drawing", drawing: null }).drawing_line, "line");
  const proposal = { settings: BOX, place: "view", limits_of: null, upward: false, preview: null, message: "" };
  const drawing = { tool: "polygon", edits: null };
  assert.equal(after({ type: "proposal", proposal }, { type: "drawing", drawing }).proposal, null);
  assert.equal(after({ type: "drawing", drawing }, { type: "proposal", proposal }).drawing, null);
  assert.deepEqual(after({ type: "drawing", drawing }, { type: "proposal", proposal: null }).drawing, drawing);
});

// ---- the control ----

/** A control over a core that remembers what it was told; its regions are named r1, r2 ... */
function desk(more = {}) {
  const told = [];
  const files = [];
  let state = START;
  const regions = [];
  const limner = {
    add_region: async (settings) => {
      told.push(["add", settings]);
      regions.push(region(`r${regions.length + 1}`, settings));
      return regions.at(-1);
    },
    set_region: async (id, settings) => void told.push(["set", id, settings]),
    rename: async (id, name) => void told.push(["rename", id, name]),
    remove: async (id) => void told.push(["remove", id]),
    preview_region: async (settings) => ({ ...region("", settings), mask: { width: 1, height: 1, data: new Uint8Array(1) } }),
    export: async (what, settings) => (told.push(["export", what, settings]), new Blob(["png"])),
    ...more,
  };
  const change = (next) => (state = reduce(state, next));
  const control = new RegionControl(limner, { state: () => state, change, tell: (thrown) => assert.fail(thrown), restated: () => {}, regions: async () => [...regions] },
    (file, name) => files.push(name));
  return { control, send: (action) => control.send(action), told, files, change, limner, state: () => state };
}

test("what was drawn becomes a region, and its name is asked for", async () => {
  const { send, told, state } = desk();
  send({ type: "draw_region", tool: "rectangle" });
  send({ type: "region_drawn", shape: BOX });
  await settled();
  assert.deepEqual(told, [["add", BOX]]);
  assert.deepEqual([state().drawing, state().unnamed, state().region_trouble], [null, "r1", null]);
});

test("a drawing that makes no region stays, and says why", async () => {
  const { send, state } = desk({ add_region: () => Promise.reject(problem("empty_region", "No pixel lies in it.")) });
  send({ type: "draw_region", tool: "polygon" });
  send({ type: "region_drawn", shape: { polygon: [[0, 0], [1, 0], [1, 1]] } });
  await settled();
  assert.deepEqual([state().drawing, state().region_trouble], [{ tool: "polygon", edits: null }, { at: "drawing", message: "No pixel lies in it." }]);
  send({ type: "draw_region", tool: "polygon" });
  assert.equal(state().region_trouble, null);
});

test("a drawn region is changed by drawing, any other is not", async () => {
  const { send, change, told, state } = desk();
  change({ type: "regions", regions: [region("r1", BOX), region("r2")] });
  send({ type: "edit_region", id: "r2" });
  assert.equal(state().drawing, null);
  send({ type: "edit_region", id: "r1" });
  assert.deepEqual(state().drawing, { tool: "rectangle", edits: "r1" });
  send({ type: "region_drawn", shape: BOX });
  await settled();
  assert.deepEqual([told, state().drawing], [[["set", "r1", BOX]], null]);
});

test("what a reference is taken as pure in is stated alone, and no element is told at its region", async () => {
  const { send, told, change, limner, state } = desk();
  change(listed("r1"));
  send({ type: "set_pure", id: "r1", text: " Pb " });
  send({ type: "set_pure", id: "r1", text: "" });
  await settled();
  assert.deepEqual(told, [["set", "r1", { pure: "Pb" }], ["set", "r1", { pure: "" }]], "an empty text forgets it");
  limner.set_region = () => Promise.reject(problem("bad_setting", "“Xx” is no element."));
  send({ type: "set_pure", id: "r1", text: "Xx" });
  await settled();
  assert.deepEqual(state().region_trouble, { at: { region: "r1" }, message: "“Xx” is no element." });
});

test("what is proposed is seen before it is kept, and follows the limits it was made by", async () => {
  const { send, control, told, state } = desk();
  send({ type: "propose_limits", map: "m1", limits: { low: 3, high: 90 }, upward: true });
  assert.equal(state().proposal.preview, null);
  await settled();
  assert.deepEqual([state().proposal.settings, state().proposal.preview.text], [{ threshold: { map: "m1", low: 3 } }, "text of "]);
  control.limits_moved("m2", { low: 1, high: 2 });
  control.limits_moved("m1", { low: 5, high: 80 });
  assert.deepEqual(state().proposal.settings, { threshold: { map: "m1", low: 5 } });
  assert.notEqual(state().proposal.preview, null, "the old one stays in sight meanwhile");
  send({ type: "propose_limits", map: "m1", limits: { low: 5, high: 80 }, upward: false });
  await settled();
  send({ type: "keep_proposal" });
  await settled();
  assert.deepEqual(told, [["add", { threshold: { map: "m1", low: 5, high: 80 } }]]);
  assert.deepEqual([state().proposal, state().unnamed], [null, "r1"]);
});

test("a preview that comes too late is not shown", async () => {
  const waiting = [];
  const { send, state } = desk({ preview_region: (settings) => new Promise((resolve) => waiting.push(() => resolve(region("", settings)))) });
  send({ type: "propose_region", settings: { combine: { how: "and", of: ["r1", "r2"] } }, place: "list" });
  send({ type: "drop_proposal" });
  waiting[0]();
  await settled();
  assert.equal(state().proposal, null);
});

test("what cannot be a region says so where it is proposed", async () => {
  const { send, state } = desk({ preview_region: () => Promise.reject(problem("empty_region", "No pixel lies in it.")) });
  send({ type: "propose_region", settings: { combine: { how: "and", of: ["r1", "r2"] } }, place: "list" });
  await settled();
  assert.deepEqual([state().proposal.message, state().proposal.preview], ["No pixel lies in it.", null]);
});

test("a name that is taken is told at its region, one after the other, and gone when another is given", async () => {
  const { send, change, limner, state } = desk();
  change(listed("r1"));
  limner.rename = () => Promise.reject(problem("name_taken", "Another region has this name."));
  send({ type: "name_region", id: "r1", text: "Sky" });
  await settled();
  assert.deepEqual(state().region_trouble, { at: { region: "r1" }, message: "Another region has this name." });
  limner.rename = async () => {};
  send({ type: "name_region", id: "r1", text: "Sea" });
  await settled();
  assert.equal(state().region_trouble, null);
  limner.rename = () => Promise.reject(CANCELLED);
  send({ type: "name_region", id: "r1", text: "Land" });
  await settled();
  assert.equal(state().region_trouble, null);
});

test("a mask comes from a file under the file's name, and goes into one under the region's", async () => {
  const { send, change, told, files } = desk();
  send({ type: "mask_from_file", file: new File([Uint8Array.of(1, 2)], "sky blue.png") });
  await settled();
  assert.deepEqual(told, [["add", { name: "sky blue", mask_png: Uint8Array.of(1, 2) }]]);
  change({ type: "regions", regions: [region("r1", { name: "a/b" })] });
  send({ type: "save_mask", id: "r1" });
  await settled();
  assert.deepEqual([told.at(-1), files], [["export", "mask", { region: "r1" }], ["a b.png"]]);
});

// ---- in the page ----

test("a question that was asked of a region is asked again when the region is another", async () => {
  const asked = [];
  let regions = [region("r1"), region("r2")];
  const replies = { maps: () => [map("m1", "Ti K"), map("m2", "Fe K")], photos: () => [], grid: () => grid(), questions: () => questions(), points: () => [], spectra: () => [], overlaps: () => [], findings: () => [], about: () => null, exports: () => [], techniques: () => [], materials: () => [], lights: () => [], scan: () => scan(), regions: () => regions };
  const client = { call: async (action, args = []) => replies[action](args), ask: async (question, settings) => (asked.push(settings), { answer: answer(), rasters: {} }) };
  const controller = new Controller(client, { inspect: async () => [] }, () => {});
  controller.ready();
  await settled();
  const choose = (name, value) => controller.send({ type: "choose_setting", name, value });
  controller.send({ type: "choose_question", key: "apart" });
  choose("a", "m1");
  choose("b", "m2");
  await settled();
  controller.limner_event({ type: "regions_changed" });
  await settled();
  assert.equal(asked.length, 1, "it was not about a region");
  choose("region", "r1");
  await settled();
  controller.limner_event({ type: "regions_changed" });
  await settled();
  assert.deepEqual(asked.map(({ region }) => region), [undefined, "r1", "r1"]);
  regions = [region("r2")];
  controller.limner_event({ type: "regions_changed" });
  await settled();
  // Not asked of the whole field instead, which would be another question: its answer goes, and the sentence waits for a region.
  assert.deepEqual([asked.length, controller.state.answer, controller.state.regions.length], [3, null, 1]);
  choose("region", "r2");
  await settled();
  assert.deepEqual([asked.length, asked.at(-1).region], [4, "r2"]);
});

// ---- what a reference is taken as pure in, on the page ----

test("only a reference is asked for its element, which is sent when it is typed", () => {
  const sent = [];
  const here = root();
  const part = createRegions(here, (action) => sent.push(action));
  const state = after(opened(), { type: "regions", regions: [region("r1", { role: "reference", pure: "Pb", name: HOSTILE }), region("r2")] });
  part.update(state);
  const [pure, other] = here.querySelectorAll(".region-pure");
  assert.deepEqual([pure.value, other.value, ...here.querySelectorAll(".region-taken").map((one) => one.hidden)], ["Pb", "", false, true]);
  assert.deepEqual(here.all().filter(({ tag }) => ["img", "b"].includes(tag)), []);
  pure.happens("change");
  assert.deepEqual(sent, [], "it is what it was");
  pure.value = "Xx";
  pure.happens("change");
  assert.deepEqual(sent, [{ type: "set_pure", id: "r1", text: "Xx" }]);
  part.update(reduce(state, { type: "region_failed", trouble: { at: { region: "r1" }, message: "“Xx” is no element." } }));
  assert.deepEqual([pure.value, pure.getAttribute("aria-invalid"), here.querySelectorAll(".region-name")[0].hasAttribute("aria-invalid")], ["Xx", "true", false], "it stays to be mended, and the name is not at fault");
});
