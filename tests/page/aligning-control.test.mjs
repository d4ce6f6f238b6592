import assert from "node:assert/strict";
import { test } from "node:test";
import { Controller } from "../../www/app/controller.js";
import { CANCELLED, problem } from "../../www/app/protocol.js";
import { edgePlaced, edgesBegun, placed } from "../../www/app/aligning-state.js";
import { settled } from "./support/ports.mjs";
import { grid, map, photo, questions, scan } from "./support/shapes.mjs";

const shot = (more = {}) => ({ ...photo("p1"), name: "p1.png", turns: 0, mirror: false, alignment: null, ...more });
const said = (points) => ({ model: "affine", model_stated: null, points: points.map((one) => ({ ...one, error_px: null, left_out_px: null, text: "" })), transform: null, corners: [], text: `${points.length} points`, trouble: "" });

/** A page whose core answers at once, and remembers what it was told. */
async function page(t) {
  t.mock.timers.enable({ apis: ["setTimeout"] });
  const told = [];
  const photos = [shot()];
  const replies = { maps: () => [map("m1", "Ti K")], photos: () => photos, grid: () => grid(), questions: () => questions(), points: () => [], spectra: () => [], overlaps: () => [], findings: () => [], about: () => null, exports: () => [], techniques: () => [], materials: () => [], scan: () => scan(), regions: () => [] };
  const limner = {
    align: async (settings) => (told.push(["align", settings]), said(settings.points)),
    set_photo: async (id, settings) => (told.push(["set_photo", id, settings]), shot(settings)),
    set_object: async (settings) => {
      told.push(["set_object", settings]);
      controller.limner_event({ type: "object_changed", object: settings && { ...settings, text: "the edges", trouble: "" } });
    },
    object: async () => null,
  };
  const controller = new Controller({ call: async (action, args = []) => replies[action](args), ask: async () => assert.fail("nothing is asked") }, limner, () => {});
  controller.ready();
  await settled();
  controller.send({ type: "open_aligning", photo: "p1" });
  await settled();
  const rest = async () => {
    t.mock.timers.tick(1000);
    await settled();
  };
  const now = () => controller.state.aligning;
  const edit = (next) => controller.send({ type: "align_edit", next });
  const point = (at) => edit(placed(placed(now(), "photo", at), "maps", at));
  return { controller, limner, told, photos, now, edit, point, rest };
}

test("what is set is told once it rests, all of it in one go, and what the core says comes back", async (t) => {
  const { told, now, point, rest, edit } = await page(t);
  point([1, 2]);
  point([3, 4]);
  edit(placed(now(), "photo", [5, 6]));
  assert.deepEqual([told, now().unsent], [[], true]);
  await rest();
  assert.deepEqual(told, [["align", { photo: "p1", points: [{ from: [1, 2], to: [1, 2] }, { from: [3, 4], to: [3, 4] }] }]]);
  assert.deepEqual([now().unsent, now().alignment.text, now().points.length], [false, "2 points", 3]);
});

test("an answer that comes after another change is not taken for what is set now", async (t) => {
  const { limner, told, now, point, rest } = await page(t);
  let answer = () => {};
  const align = limner.align;
  limner.align = (settings) => new Promise((resolve) => (answer = () => resolve(said(settings.points))));
  point([1, 2]);
  await rest();
  point([3, 4]);
  limner.align = align;
  answer();
  await settled();
  assert.deepEqual([now().unsent, now().alignment], [true, null]);
  await rest();
  assert.deepEqual([told.length, now().alignment.text], [1, "2 points"]);
});

test("what the core refuses is said, and nothing that was set is lost", async (t) => {
  const { limner, now, point, rest } = await page(t);
  limner.align = () => Promise.reject(problem("bad_setting", "There are at most 500 matching points."));
  point([1, 2]);
  await rest();
  assert.deepEqual([now().trouble, now().points.length], ["There are at most 500 matching points.", 1]);
});

test("leaving tells the rest at once, and the photo is turned only after its points were told", async (t) => {
  const { controller, told, now, point, rest } = await page(t);
  point([1, 2]);
  controller.send({ type: "state_photo", photo: "p1", settings: { turns: 1 } });
  await settled();
  assert.deepEqual(told.map(([name]) => name), ["align", "set_photo"]);
  point([3, 4]);
  controller.send({ type: "close_aligning" });
  await settled();
  assert.deepEqual([told.length, told[2]?.[1].points.length, now()], [3, 2, null]);
  await rest();
  assert.equal(told.length, 3, "and only once");
});

test("a search is shown with its progress, cancelled without a word, and takes nothing over by itself", async (t) => {
  const { controller, limner, told, now, rest } = await page(t);
  const found = { transform: [1, 0, 0, 0, 1, 0, 0, 0, 1], is_accepted: true, text: "Found.", measure_before: 0.1, measure_after: 0.4, corners: [] };
  limner.align_auto = (id, { signal, on_progress }) => new Promise((resolve, reject) => {
    signal.addEventListener("abort", () => reject(CANCELLED));
    on_progress({ fraction: 0.5, text: "half" });
    limner.finish = () => resolve(found);
  });
  controller.send({ type: "align_find" });
  await settled();
  assert.deepEqual(now().finding, { fraction: 0.5, text: "half" });
  controller.send({ type: "align_stop" });
  await settled();
  assert.deepEqual([now().finding, now().found, now().trouble], [null, null, ""]);
  controller.send({ type: "align_find" });
  await settled();
  limner.finish();
  await settled();
  await rest();
  assert.deepEqual([now().found, told], [found, []]);
  controller.send({ type: "align_refuse" });
  assert.equal(now().found, null);
  controller.send({ type: "align_find" });
  await settled();
  limner.finish();
  await settled();
  controller.send({ type: "align_take" });
  await rest();
  assert.deepEqual(told, [["align", { photo: "p1", points: [], transform: found.transform }]]);
});

test("the object’s edges are stated when all three are marked, and forgotten by a word", async (t) => {
  const { controller, told, now, edit, rest } = await page(t);
  edit(edgesBegun(now(), null));
  for (const at of [[1, 1], [100, 1], [1, 80]]) {
    edit(edgePlaced(now(), at));
    await rest();
  }
  assert.deepEqual(told.filter(([name]) => name === "set_object"), [["set_object", { corner: "upper left", at: [1, 1], across: [100, 1], down: [1, 80] }]]);
  assert.equal(controller.state.object.text, "the edges");
  controller.send({ type: "forget_object" });
  await settled();
  assert.deepEqual([controller.state.object, now().edges], [null, null]);
});
