import assert from "node:assert/strict";
import { test } from "node:test";
import { root, texts } from "./support/document.mjs";
import { createPoints } from "../../www/app/components/points.js";
import { PointsControl } from "../../www/app/points-control.js";
import { aroundName, markMoved, materialNamed, materialsFound, placeOn } from "../../www/app/points-state.js";
import { marksOf, pointUnder } from "../../www/app/point-marks.js";
import { problem } from "../../www/app/protocol.js";
import { START, reduce } from "../../www/app/state.js";
import { HOSTILE } from "./support/found.mjs";
import { settled } from "./support/ports.mjs";
import { opened, photo } from "./support/shapes.mjs";

const GRID = { width: 150, height: 110 };
const MATERIALS = [
  { id: "azurite", name: "azurite", other_names: ["mountain blue"], colours: ["blue"] },
  { id: "lead_tin_yellow_1", name: "lead-tin yellow, type I", other_names: ["giallolino"], colours: ["yellow"] },
  { id: "prussian_blue", name: "Prussian blue", other_names: [], colours: ["blue"] },
  { id: "blue_verditer", name: "blue verditer", other_names: [], colours: ["blue"] },
  { id: "vermilion", name: "vermilion", other_names: ["cinnabar"], colours: ["red"] },
];
const point = (id, more = {}) => ({ id, name: `Point ${id}`, at: [20, 30], x_mm: 10, y_mm: 15, place_text: "x 10.0 mm, y 15.0 mm", technique: "Raman", result: "", pigment: null, pigment_name: "", says: "open",
  regions: [], text: `Raman at Point ${id} (x 10.0 mm, y 15.0 mm): no result stated.`, ...more });
const after = (...changes) => changes.reduce(reduce, { ...START, phase: "ready" });
const choices = { type: "choices", techniques: ["Raman", "point XRF"], materials: MATERIALS };

/** The control over a core that remembers what it was told. */
function desk(more = {}, ...changes) {
  const told = [];
  let state = after(opened({ points: [point("a1"), point("a2")] }), choices, ...changes);
  const limner = {
    add_point: async (settings) => (told.push(["add", settings]), point("a3")),
    set_point: async (id, settings) => (told.push(["set", id, settings]), point(id)),
    remove: async (id) => void told.push(["remove", id]),
    ...more,
  };
  const control = new PointsControl(limner, { state: () => state, change: (change) => (state = reduce(state, change)) });
  return { send: (action) => control.send(action), told, limner, state: () => state, change: (change) => (state = reduce(state, change)) };
}

// ---- adding and changing ----

test("a point is placed first and added when it is said what was measured", async () => {
  const { send, told, state } = desk();
  send({ type: "add_point" });
  assert.deepEqual(state().placing, { moves: null });
  send({ type: "place_point", at: [12.5, 7.5] });
  assert.deepEqual([state().placing, state().point_form, state().points_open, told], [null, { id: null, at: [12.5, 7.5] }, true, []]);
  send({ type: "keep_point", settings: { technique: "Raman", says: "open" } });
  await settled();
  assert.deepEqual(told, [["add", { technique: "Raman", says: "open", at: [12.5, 7.5] }]]);
  assert.deepEqual([state().point_form, state().point_made, state().point_lit], [null, "a3", "a3"]);
});

test("what the core refuses is said at the form, which stays as it is", async () => {
  const { send, state, limner } = desk({ add_point: () => Promise.reject(problem("bad_setting", "Say by which technique it was measured.")) });
  send({ type: "add_point" });
  send({ type: "place_point", at: [1, 2] });
  const { point_form } = state();
  send({ type: "keep_point", settings: { technique: "" } });
  await settled();
  assert.deepEqual([state().point_form, state().point_trouble], [point_form, { at: "form", message: "Say by which technique it was measured." }]);
  limner.add_point = async () => point("a3");
  send({ type: "keep_point", settings: { technique: "Raman" } });
  await settled();
  assert.deepEqual([state().point_form, state().point_trouble], [null, null]);
});

test("a point that is there moves at once, and is changed by its own id", async () => {
  const { send, told, state } = desk();
  send({ type: "move_point", id: "a2" });
  send({ type: "place_point", at: [3, 4] });
  send({ type: "edit_point", id: "a1" });
  send({ type: "keep_point", settings: { result: "band at 253" } });
  send({ type: "remove_point", id: "a2" });
  await settled();
  assert.deepEqual(told, [["set", "a2", { at: [3, 4] }], ["set", "a1", { result: "band at 253" }], ["remove", "a2"]]);
  assert.deepEqual([state().placing, state().point_form], [null, null]);
});

test("what cannot be moved or removed is said above the list", async () => {
  const { send, state } = desk({ remove: () => Promise.reject(problem("unknown", "There is nothing of this id.")) });
  send({ type: "remove_point", id: "a9" });
  await settled();
  assert.deepEqual(state().point_trouble, { at: "list", message: "There is nothing of this id." });
});

test("a place is given where the grid is seen", () => {
  const { send, state } = desk({}, opened({ photos: [photo("p1")] }), { type: "show_photo", id: "p1" });
  assert.equal(state().mode, "photo");
  send({ type: "add_point" });
  assert.equal(state().mode, "map");
});

test("giving a place and drawing exclude each other", () => {
  const placing = { type: "placing", placing: { moves: null } };
  assert.equal(after({ type: "drawing", drawing: { tool: "polygon", edits: null } }, placing).drawing, null);
  assert.equal(after(placing, { type: "drawing", drawing: { tool: "polygon", edits: null } }).placing, null);
  assert.equal(after(placing, { type: "drawing_line", setting: "line" }).placing, null);
  assert.notEqual(after(placing, { type: "scale", scale: "linear" }).placing, null);
});

test("what belongs to a point that is gone goes with it; a new one may not be there yet", () => {
  const state = after(opened({ points: [point("a1"), point("a2")] }), { type: "point_form", form: { id: "a1", at: null } }, { type: "point_lit", id: "a1" }, { type: "point_shown", id: "a1" }, { type: "placing", placing: { moves: "a1" } });
  const left = reduce(state, opened({ points: [point("a2")] }));
  assert.deepEqual([left.point_form, left.point_lit, left.point_shown, left.placing], [null, null, null, null]);
  const made = reduce(after(opened({ points: [] })), { type: "point_kept", id: "a1" });
  assert.equal(reduce(made, opened({ points: [] })).point_made, "a1");
});

// ---- places ----

test("the keyboard's cross stands in the middle of pixels and stays on the maps", () => {
  const first = markMoved(null, "ArrowRight", true, [75.2, 55.9], GRID);
  assert.deepEqual(first, [75.5, 55.5], "the first press sets it where one looks");
  assert.deepEqual(markMoved(first, "ArrowRight", false, [0, 0], GRID), [76.5, 55.5]);
  assert.deepEqual(markMoved(first, "ArrowUp", true, [0, 0], GRID), [75.5, 45.5]);
  assert.deepEqual(markMoved([0.5, 0.5], "ArrowLeft", true, [0, 0], GRID), [0.5, 0.5]);
  assert.deepEqual(markMoved([149.5, 109.5], "ArrowDown", true, [0, 0], GRID), [149.5, 109.5]);
  assert.equal(markMoved(first, "Enter", false, [0, 0], GRID), null);
});

test("a press beside the maps gives no place", () => {
  assert.deepEqual(placeOn([10.126, 0], GRID), [10.13, 0]);
  assert.deepEqual([placeOn([-0.1, 5], GRID), placeOn([5, 110.01], GRID), placeOn([NaN, 1], GRID)], [null, null, null]);
});

test("the mark that is pressed is the nearest within reach, never a proposed place", () => {
  const marks = [{ at: [10, 10], id: "a1" }, { at: [13, 10], id: "a2" }, { at: [11, 10], label: "1", is_proposed: true }];
  assert.equal(pointUnder(marks, [11, 10], [5, 5]), "a1");
  assert.equal(pointUnder(marks, [12, 10], [5, 5]), "a2");
  assert.equal(pointUnder(marks, [30, 10], [5, 5]), null);
  assert.equal(pointUnder(marks, [10, 14], [5, 2]), null, "where pixels are not square the reach is not either");
});

test("the point that is pointed at is marked, also with the outlines put away", () => {
  const state = reduce(after(opened({ points: [point("a1"), point("a2")] })), { type: "point_lit", id: "a1" });
  assert.deepEqual(marksOf(state).map(({ id, chosen }) => [id, chosen]), [["a2", false], ["a1", true]]);
  assert.deepEqual(marksOf({ ...state, outlines: false }).map(({ id }) => id), ["a1"]);
});

// ---- materials by typing ----

test("materials are found by the beginnings of their names, other names and colours", () => {
  const found = (typed) => materialsFound(MATERIALS, typed).map(({ id }) => id);
  assert.deepEqual(found(""), MATERIALS.map(({ id }) => id));
  assert.deepEqual(found("blue"), ["blue_verditer", "azurite", "prussian_blue"], "what begins so comes first");
  assert.deepEqual(found("CINN"), ["vermilion"]);
  assert.deepEqual(found("lead yel"), ["lead_tin_yellow_1"]);
  assert.deepEqual(found("tin"), ["lead_tin_yellow_1"]);
  assert.deepEqual(found("xyz"), []);
  assert.equal(materialNamed(MATERIALS, " VERMILION ")?.id, "vermilion");
  assert.equal(materialNamed(MATERIALS, "cinnabar")?.id, "vermilion");
  assert.equal(materialNamed(MATERIALS, "vermil"), null);
  assert.equal(materialNamed(MATERIALS, ""), null);
});

// ---- on the page ----

/** The part of the sheet, and what was sent from it. */
function drawn(...changes) {
  const sent = [];
  const here = root();
  let state = after(opened({ points: [point("a1"), point("a2")] }), choices, ...changes);
  const part = createPoints(here, (action) => sent.push(action));
  part.update(state);
  return { here, sent, change: (change) => part.update((state = reduce(state, change))), press: (selector, text) => here.querySelectorAll(selector).find((one) => one.textContent === text).click() };
}
const labelled = (here, label) => here.all().find((one) => one.getAttribute("aria-label") === label);

test("the sentence on a point stands there once, with its name to be pressed", () => {
  const { here, sent } = drawn();
  assert.deepEqual(texts(here, ".point-line"), ["Raman at Point a1 (x 10.0 mm, y 15.0 mm): no result stated.", "Raman at Point a2 (x 10.0 mm, y 15.0 mm): no result stated."]);
  labelled(here, "Show Point a2").click();
  labelled(here, "edit Point a1").click();
  labelled(here, "remove Point a1").click();
  assert.deepEqual(sent, [{ type: "show_point", id: "a2" }, { type: "edit_point", id: "a1" }, { type: "remove_point", id: "a1" }]);
  assert.equal(document.activeElement, labelled(here, "Show Point a2"), "the focus stays in the list");
  assert.deepEqual(aroundName({ name: "Raman", text: "Raman at Raman (x 1.0 mm, y 2.0 mm): no result stated." }), ["Raman at ", "Raman", " (x 1.0 mm, y 2.0 mm): no result stated."]);
  assert.deepEqual(aroundName({ name: "", text: "x" }), ["", "", " x"]);
  assert.deepEqual(aroundName({ name: "A", text: "" }), ["", "A", " "], "a name is never lost");
});

test("names and results are text, whatever they hold", () => {
  const odd = point("a1", { name: HOSTILE, result: HOSTILE, text: `Raman at ${HOSTILE}: “${HOSTILE}”.`, place_text: HOSTILE });
  const { here, change } = drawn(opened({ points: [odd] }));
  assert.deepEqual(texts(here, ".point-line"), [odd.text]);
  assert.deepEqual(here.all().filter(({ tag }) => ["img", "b", "script"].includes(tag)), []);
  change({ type: "point_form", form: { id: "a1", at: null } });
  assert.equal(here.querySelector(".point-result").value, HOSTILE);
  assert.deepEqual(texts(here, ".point-place"), [HOSTILE]);
});

test("the form of a new point says what it is asked for, and sends the material by its id", () => {
  const { here, sent, change, press } = drawn();
  change({ type: "point_form", form: { id: null, at: [1, 2] } });
  const form = here.querySelector(".point-form");
  assert.equal(document.activeElement.className, "word-button point-technique", "the focus is where one begins");
  const [material, name] = ["point-material", "point-name"].map((id) => here.querySelectorAll("input").find((one) => one.getAttribute("id") === id));
  const result = here.querySelector(".point-result");
  assert.deepEqual([name.value, material.value, result.value], ["", "", ""]);
  form.happens("submit");
  assert.deepEqual(sent.at(-1), { type: "keep_point", settings: { technique: "", name: "", result: "", pigment: "", says: "open" } }, "without a technique the core says so");
  material.value = "cinnabar";
  material.happens("input");
  press(".point-said", "not found");
  result.value = "no band at 253";
  form.happens("submit");
  assert.deepEqual(sent.at(-1), { type: "keep_point", settings: { technique: "", name: "", result: "no band at 253", pigment: "vermilion", says: "not found" } });
});

test("a material that is not known is not taken for another, and nothing is sent", () => {
  const { here, sent, change } = drawn();
  change({ type: "point_form", form: { id: null, at: [1, 2] } });
  const material = here.querySelectorAll("input").find((one) => one.getAttribute("id") === "point-material");
  material.value = "vermilio";
  material.happens("input");
  assert.equal(material.hasAttribute("aria-invalid"), false, "it may be typed to its end");
  here.querySelector(".point-form").happens("submit");
  assert.deepEqual(sent, []);
  assert.equal(material.getAttribute("aria-invalid"), "true");
  assert.match(texts(here, ".scan-said")[0], /No material of this name/);
});

test("materials are taken from the list by keys", () => {
  const { here, change } = drawn();
  change({ type: "point_form", form: { id: null, at: [1, 2] } });
  const material = here.querySelectorAll("input").find((one) => one.getAttribute("id") === "point-material");
  material.value = "blue";
  material.happens("input");
  assert.deepEqual(texts(here, ".listbox-text"), ["blue verditer", "azurite", "Prussian blue"]);
  material.happens("keydown", { key: "ArrowDown" });
  material.happens("keydown", { key: "ArrowDown" });
  assert.match(material.getAttribute("aria-activedescendant"), /-1$/);
  material.happens("keydown", { key: "Enter" });
  assert.deepEqual([material.value, material.getAttribute("aria-expanded")], ["azurite", "false"]);
});

test("editing begins with what stands there, and goes back to the line", () => {
  const { here, change } = drawn(opened({ points: [point("a1", { technique: "point XRF", pigment: "vermilion", pigment_name: "vermilion", says: "found", result: "Hg" })] }));
  change({ type: "point_form", form: { id: "a1", at: null } });
  assert.deepEqual([texts(here, ".point-technique"), here.querySelector(".point-result").value, here.querySelector(".point-line").hidden], [["point XRF"], "Hg", true]);
  assert.deepEqual(here.querySelectorAll(".point-said").filter((one) => one.getAttribute("aria-pressed") === "true").map((one) => one.textContent), ["found"]);
  change({ type: "point_form", form: null });
  assert.equal(here.querySelector(".point-line").hidden, false);
  assert.equal(document.activeElement, labelled(here, "Show Point a1"));
});

test("of the last point's technique the next begins; what it says begins open", () => {
  const { here, change } = drawn(opened({ points: [point("a1", { says: "found", pigment: "vermilion", pigment_name: "vermilion" })] }));
  change({ type: "point_form", form: { id: "a1", at: null } });
  change({ type: "point_form", form: { id: null, at: [1, 1] } });
  assert.deepEqual(texts(here, ".point-technique"), ["Raman"]);
  assert.deepEqual(here.querySelectorAll(".point-said").filter((one) => one.getAttribute("aria-pressed") === "true").map((one) => one.textContent), ["open"]);
});
