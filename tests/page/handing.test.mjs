import assert from "node:assert/strict";
import { test } from "node:test";
import { HandingControl } from "../../www/app/handing-control.js";
import { exportChosen, exportOf, handFileName, leftOutText, sizeText } from "../../www/app/handing.js";
import { CANCELLED, problem } from "../../www/app/protocol.js";
import { START, reduce } from "../../www/app/state.js";
import { Controller } from "../../www/app/controller.js";
import { settled } from "./support/ports.mjs";
import { answer, opened, region } from "./support/shapes.mjs";
import { about, finding, kinds, replies } from "./support/findings.mjs";

function desk() {
  let state = [{ type: "ready" }, opened(), { type: "about", about: about({ object: "Chart: of a/sound" }) }].reduce(reduce, START);
  const [told, files] = [[], []];
  const limner = {
    save: async () => (told.push(["save"]), new Blob(["study"])),
    report: async (...args) => (told.push(["report", ...args.slice(0, -1)]), new Blob(["report"])),
    share: async (...args) => (told.push(["share", ...args.slice(0, -1)]), new Blob(["share"])),
    share_size: async (how) => (told.push(["share_size", how]), { bytes: 12e6, text: "About 12 MB." }),
    reproduce: async () => [{ id: "f1", title: "One", same: true, text: "The same.", differences: [] }],
    export: async (...args) => (told.push(["export", ...args]), new Blob(["x"])),
  };
  const control = new HandingControl(limner, { state: () => state, change: (change) => (state = reduce(state, change)), tell: (thrown) => { throw thrown; } }, (file, name) => files.push([name, file.size]));
  return { control, limner, told, files, send: (action) => control.send(action), state: () => state };
}

test("a study is saved under the object's name, and its size is said", async () => {
  const { send, files, state } = desk();
  send({ type: "save_study" });
  assert.equal(state().handing?.what, "study");
  await settled();
  assert.deepEqual(files, [["Chart of a sound study.limner.zip", 5]]);
  assert.match(state().handed.text, /^Saved as “Chart of a sound study\.limner\.zip”, 1\u202fkB\.$/);
  assert.equal(state().handing, null);
});

test("a report is for the chosen paper, and one thing is written at a time", async () => {
  const { send, told, files } = desk();
  send({ type: "set_report", how: { paper: "Letter", dpi: 150 } });
  send({ type: "save_report" });
  send({ type: "save_study" });
  await settled();
  assert.deepEqual(told, [["report", { paper: "Letter", dpi: 150 }]]);
  assert.deepEqual(files.map(([name]) => name), ["Chart of a sound report.html"]);
});

test("a copy without the object's name does not carry it in its file's name either", async () => {
  const { send, told, files, state } = desk();
  send({ type: "set_share", how: { findings_only: true, leave_out: ["photo", "object"] } });
  await settled();
  assert.equal(state().share_size, "About 12 MB.");
  send({ type: "share" });
  await settled();
  assert.deepEqual(told.at(-1), ["share", { findings_only: true, leave_out: ["photo", "object"] }]);
  assert.deepEqual(files.map(([name]) => name), ["shared.html"]);
});

test("what is cancelled says nothing, what fails says why in its place", async () => {
  const { send, limner, state, files } = desk();
  limner.report = (_, { signal, on_progress }) => new Promise((resolve, reject) => {
    on_progress({ fraction: 0.5, text: "Drawing figure 2" });
    signal.addEventListener("abort", () => reject(CANCELLED));
  });
  send({ type: "save_report" });
  assert.equal(state().handing?.progress?.text, "Drawing figure 2");
  send({ type: "cancel_hand" });
  await settled();
  assert.deepEqual([state().handing, state().handed, files], [null, null, []]);
  limner.report = () => Promise.reject(problem("no_memory", "There is not enough memory."));
  send({ type: "save_report" });
  await settled();
  assert.deepEqual(state().handed, { what: "report", text: "There is not enough memory.", is_trouble: true });
});

test("all findings computed again are a list", async () => {
  const { send, state } = desk();
  send({ type: "reproduce" });
  await settled();
  assert.deepEqual([state().reproduced.map(({ same }) => same), state().handing], [[true], null]);
});

test("words and sizes", () => {
  assert.deepEqual([leftOutText([]), leftOutText(["notes"]), leftOutText(["notes", "photo"]), leftOutText(["object", "notes", "photo", "coordinates", "file names"])], ["nothing", "notes", "the photo and notes", "all five"]);
  assert.deepEqual([0, 640, 64e3, 1234567, 123456789, 2.5e9].map(sizeText), ["1\u202fkB", "1\u202fkB", "64\u202fkB", "1.23\u202fMB", "123\u202fMB", "2.5\u202fGB"]);
  assert.equal(handFileName({ about: null, share_how: { leave_out: [] } }, "report"), "report.html");
});

async function page() {
  const list = [finding(1)];
  const answers = replies(list);
  const opens = [];
  const limner = { inspect: async () => [], is_study: async (file) => file.name.endsWith(".zip"), open: async (files) => void opens.push([...files].map(({ name }) => name)), save: async () => new Blob(["study"]) };
  const controller = new Controller({ call: async (action, args = []) => answers[action](args) }, limner, () => {});
  controller.ready();
  await settled();
  return { controller, send: controller.send, state: () => controller.state, opens, limner };
}

test("a study that is added waits until it is said what it replaces; other files are read at once", async () => {
  const { send, state, opens } = await page();
  send({ type: "add_files", files: [new File(["x"], "a.tif")] });
  await settled();
  assert.deepEqual([opens, state().study_waits], [[["a.tif"]], null]);
  send({ type: "add_files", files: [new File(["x"], "study.zip")] });
  await settled();
  assert.deepEqual([opens.length, state().study_waits?.input.name], [1, "study.zip"]);
  send({ type: "leave_waiting" });
  assert.equal(state().study_waits, null);
  send({ type: "add_files", files: [new File(["x"], "study.zip")] });
  await settled();
  send({ type: "open_waiting", save_first: false });
  await settled();
  assert.deepEqual([opens.at(-1), state().study_waits], [["study.zip"], null]);
});

test("where the open study cannot be saved, the other one is not opened", async () => {
  const { send, state, opens, limner } = await page();
  limner.save = () => Promise.reject(problem("file_unreadable", "A file has changed."));
  send({ type: "add_files", files: [new File(["x"], "study.zip")] });
  await settled();
  send({ type: "open_waiting", save_first: true });
  await settled();
  assert.deepEqual([opens, state().study_waits?.input.name, state().handed?.text], [[], "study.zip", "A file has changed."]);
});

test("single files: what can be saved is offered, the map in view first, and the call says no more than is chosen", () => {
  const start = [{ type: "ready" }, opened(), { type: "export_kinds", kinds }, { type: "show_map", id: "m2" }].reduce(reduce, START);
  assert.deepEqual(exportChosen(start).kinds.map(({ what }) => what), ["map", "points"], "no answer, no region");
  assert.deepEqual(exportOf(start), { what: "map", options: { format: "tiff", map: "m2" }, name: "Fe K the values of a map.tif" });
  const chosen = (state, exported) => exportOf(reduce(state, { type: "exported", exported }));
  assert.deepEqual(chosen(start, { what: "map", of: "m1", as: "npy" }).options, { format: "npy", map: "m1" });
  assert.deepEqual(chosen(start, { what: "points" }), { what: "points", options: {}, name: "all analysis points.csv" });
  const more = [{ type: "regions", regions: [region("r1")] }, { type: "answered", answer: answer("a1"), turn: true }].reduce(reduce, start);
  assert.deepEqual(chosen(more, { what: "raster" }).options, { format: "tiff", answer: "a1", raster: "count_ratio" });
  assert.deepEqual(chosen(more, { what: "mask" }).options, { format: "png", region: "r1" });
  assert.deepEqual(chosen(more, { what: "mask", as: "csv" }).options, { format: "csv", region: "r1", as_file_of: "" }, "the sentence says that it lies as the maps do");
  assert.deepEqual(chosen(more, { what: "mask", as: "png", lies: "m1" }).options, { format: "png", region: "r1", as_file_of: "m1" });
  assert.ok(!exportChosen(more).kinds.some(({ what }) => what === "table"), "an answer without a table has none to save");
});
