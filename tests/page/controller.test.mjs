import assert from "node:assert/strict";
import { test } from "node:test";
import { Controller } from "../../www/app/controller.js";
import { CANCELLED, problem } from "../../www/app/protocol.js";
import { settled } from "./support/ports.mjs";
import { answer, grid, light, map, photo, questions, region, scan } from "./support/shapes.mjs";

/** A controller over a core that answers at once, but for questions, which the test answers. */
async function page({ maps = ["Ti K", "Fe K", "Pb L", "Hg L", "Zn K"] } = {}) {
  const asked = [];
  const replies = {
    maps: () => maps.map((label, at) => map(`m${at + 1}`, label)),
    photos: () => [],
    grid: () => grid(),
    questions: () => questions(),
    points: () => [],
    spectra: () => [],
    overlaps: () => [],
    findings: () => [],
    about: () => null, exports: () => [],
    techniques: () => [],
    materials: () => [],
    lights: ([ids]) => ids.map((id, at) => light(id, `colour ${at}`)),
    scan: () => scan(),
    regions: () => [],
  };
  const client = {
    call: async (action, args = []) => replies[action](args),
    ask: (question, settings, options) => new Promise((resolve, reject) => {
      asked.push({ question, settings, options, resolve: (one) => resolve({ answer: one, rasters: {} }), reject });
      options.signal.addEventListener("abort", () => reject(CANCELLED));
    }),
  };
  const limner = { opened: [], steps: [], set: [], inspect: async () => [], object: async () => null,
    is_study: async () => false, open: async (files) => void limner.opened.push(files),
    set_grid: async (settings) => void limner.steps.push(settings),
    set_map: async (id, settings) => void limner.set.push([id, settings]) };
  const controller = new Controller(client, limner, () => {});
  controller.ready();
  await settled();
  const choose = (name, value) => controller.send({ type: "choose_setting", name, value });
  return { controller, send: controller.send, asked, limner, replies, choose, state: () => controller.state };
}

async function compared() {
  const all = await page();
  all.choose("a", "m1");
  all.choose("b", "m2");
  await settled();
  return all;
}

test("once the core answers, the page knows what is open", async () => {
  const { state } = await page();
  assert.equal(state().phase, "ready");
  assert.equal(state().maps.length, 5);
});

test("a question is asked when its sentence is complete, and not twice for the same words", async () => {
  const { choose, asked, state } = await page();
  choose("a", "m1");
  assert.equal(asked.length, 0);
  choose("b", "m2");
  choose("b", "m2");
  assert.deepEqual(asked.map(({ question, settings }) => [question, settings]), [["ratio", { a: "m1", b: "m2" }]]);
  asked[0].resolve(answer("r1"));
  await settled();
  assert.deepEqual([state().answer?.id, state().mode, state().asking], ["r1", "answer", null]);
});

test("a changed word takes the running question back, and only the answer to the new one is shown", async () => {
  const { choose, asked, state } = await compared();
  asked[0].resolve(answer("old")); // it is on its way when the word is changed
  choose("b", "m3");
  assert.equal(asked[0].options.signal.aborted, true);
  asked[0].options.on_progress({ fraction: 0.9, text: "old" });
  await settled();
  assert.deepEqual([state().answer, state().asking, state().ask_trouble], [null, null, null]);
  asked[1].resolve(answer("new"));
  await settled();
  assert.equal(state().answer?.id, "new");
});

test("a sentence that becomes incomplete takes question and answer away", async () => {
  const { send, asked, state, replies, controller } = await compared();
  asked[0].resolve(answer("r1"));
  await settled();
  replies.questions = () => questions({ ready: false });
  controller.limner_event({ type: "read", opened: { maps: [], photos: [], notices: [], asks: [] } });
  await settled();
  send({ type: "choose_question", key: "ratio" });
  await settled();
  assert.deepEqual([state().answer, state().shown], [null, null]);
});

test("a cancelled question says so and can be asked again", async () => {
  const { send, asked, state } = await compared();
  send({ type: "cancel_ask" });
  await settled();
  assert.equal(state().ask_trouble?.code, CANCELLED.code);
  send({ type: "ask_again" });
  assert.equal(asked.length, 2);
});

test("a failed question says why, and the same words ask it again", async () => {
  const { choose, asked, state } = await compared();
  asked[0].reject(problem("core_stopped", "Stopped."));
  await settled();
  assert.equal(state().ask_trouble?.message, "Stopped.");
  choose("b", "m2");
  assert.equal(asked.length, 2);
});

test("a new step or kind asks the last question again and leaves the view as it is", async () => {
  const { controller, send, asked, state } = await compared();
  asked[0].resolve(answer("r1"));
  await settled();
  send({ type: "choose_map", id: "m1" });
  controller.limner_event({ type: "maps_changed" });
  await settled();
  assert.equal(asked.length, 2);
  asked[1].resolve(answer("r2"));
  await settled();
  assert.deepEqual([state().answer?.id, state().mode], ["r2", "map"]);
});

test("a new step or kind also asks what failed before, and not what was cancelled or never asked", async () => {
  const failed = await compared();
  failed.asked[0].reject(problem("no_step", "There is no step."));
  await settled();
  failed.controller.limner_event({ type: "grid_changed", grid: grid() });
  assert.equal(failed.asked.length, 2);

  const cancelled = await compared();
  cancelled.send({ type: "cancel_ask" });
  await settled();
  cancelled.controller.limner_event({ type: "maps_changed" });
  assert.equal(cancelled.asked.length, 1);

  const never = await page();
  never.controller.limner_event({ type: "maps_changed" });
  assert.equal(never.asked.length, 0);
});

test("lights pressed in quick succession take one slot each, and a freed slot is taken next", async () => {
  const { send, state } = await page();
  for (const id of ["m1", "m2", "m3"]) send({ type: "toggle_light", id });
  await settled();
  const lit = () => state().lights.map((one) => one && [one.map, one.colour]);
  assert.deepEqual(lit(), [["m1", "colour 0"], ["m2", "colour 1"], ["m3", "colour 2"], null]);
  send({ type: "toggle_light", id: "m2" });
  await settled();
  assert.deepEqual(lit(), [["m1", "colour 0"], null, ["m3", "colour 2"], null]);
  send({ type: "toggle_light", id: "m5" });
  await settled();
  assert.deepEqual(lit()[1], ["m5", "colour 1"]);
});

test("a fifth light is refused with a hint, and the four stay", async () => {
  const { send, state } = await page();
  for (const id of ["m1", "m2", "m3", "m4", "m5"]) send({ type: "toggle_light", id });
  await settled();
  assert.deepEqual(state().lights.map((one) => one?.map), ["m1", "m2", "m3", "m4"]);
  assert.match(state().hint, /4 lights are on/);
});

test("a step is set as it was typed, and what is no length is refused with an example", async () => {
  const { send, limner, state } = await page();
  send({ type: "set_step", text: "half" });
  await settled();
  assert.deepEqual(limner.steps, []);
  assert.match(state().step_trouble?.message ?? "", /for example 0\.5/);
  send({ type: "set_step", text: "0,25 × 0,4" });
  await settled();
  assert.deepEqual(limner.steps, [{ step_x_um: 250, step_y_um: 400 }]);
});

test("a map is named and its kind is set, and a refusal is told", async () => {
  const { send, limner, state } = await page();
  send({ type: "name_map", id: "m2", text: "cu-ka" });
  send({ type: "set_kind", id: "m2", kind: "net" });
  await settled();
  assert.deepEqual(limner.set, [["m2", { element: "Cu", line: "Kα" }], ["m2", { kind: "net" }]]);
  limner.set_map = () => Promise.reject(problem("bad_setting", "There is no element Xx."));
  send({ type: "name_map", id: "m2", text: "Xx" });
  await settled();
  assert.deepEqual(state().notices.map(({ text }) => text), ["There is no element Xx."]);
});

test("a lost file is told with its name and what to do", async () => {
  const { controller, state } = await page();
  controller.client_event({ type: "input_lost", file: "one.tif", problem: problem("file_unreadable", "It was moved.") });
  assert.deepEqual(state().notices.map(({ severity, file }) => [severity, file]), [["error", "one.tif"]]);
  assert.match(state().notices[0].text, /It was moved\. .* it is opened again\.$/);
});

test("a core that cannot be brought back is the state of the page and no notice beside it", async () => {
  const { controller, state, replies } = await page();
  const trouble = problem("core_stopped", "It stopped.");
  controller.client_event({ type: "broken", problem: trouble });
  replies.maps = () => Promise.reject(trouble);
  controller.limner_event({ type: "maps_changed" });
  await settled();
  assert.deepEqual([state().phase, state().trouble, state().notices], ["broken", trouble, []]);
});

test("views, limits, scale and colours change at once and ask nothing of the core", async () => {
  const { send, state, replies } = await page();
  for (const action of Object.keys(replies)) replies[action] = () => assert.fail(`${action} was called`);
  send({ type: "choose_layout", layout: 2 });
  send({ type: "activate_view", view: 1 });
  send({ type: "choose_map", id: "m4" });
  send({ type: "set_limits", id: "m4", limits: { low: 2, high: 9 } });
  send({ type: "choose_scale", scale: "square root" });
  send({ type: "choose_colours", colours: "warm" });
  await settled();
  assert.deepEqual([state().layout, state().active, state().map, state().scale, state().colours], [2, 1, "m4", "square root", "warm"]);
  assert.deepEqual(state().limits, { m4: { low: 2, high: 9 } });
  send({ type: "set_limits", id: "m4", limits: null });
  assert.deepEqual(state().limits, {});
});

test("the view that has the focus already is not activated again", async () => {
  const { send, state } = await page();
  const before = state();
  send({ type: "activate_view", view: 0 });
  assert.equal(state(), before);
});

test("when maps change, the limits of the lights come anew and their chosen colours stay", async () => {
  const { controller, send, state, replies } = await page();
  send({ type: "toggle_light", id: "m1" });
  send({ type: "toggle_light", id: "m2" });
  await settled();
  send({ type: "choose_light_colour", id: "m2", colour: "#123456" });
  const asked = [];
  replies.lights = ([ids]) => (asked.push(ids), ids.map((id) => ({ ...light(id, "default"), low: 11, high: 22 })));
  controller.limner_event({ type: "maps_changed" });
  await settled();
  assert.deepEqual(asked, [["m1", "m2"]]);
  assert.deepEqual(state().lights.slice(0, 2).map(({ colour, low, high }) => [colour, low, high]), [["colour 0", 11, 22], ["#123456", 11, 22]]);
  replies.lights = () => Promise.reject(problem("unknown_map", "No map m1."));
  controller.limner_event({ type: "maps_changed" });
  await settled();
  assert.deepEqual(state().notices.map(({ text }) => text), ["No map m1."]);
});

test("when a photo lies elsewhere, the page looks at the photos and at regions of their colours again", async () => {
  const { controller, replies, state } = await page();
  replies.photos = () => [{ ...photo("p1"), alignment: { trouble: "", transform: [1, 0, 0, 0, 1, 0, 0, 0, 1] } }];
  const before = state().regions;
  replies.regions = () => [region("r1")];
  controller.limner_event({ type: "photos_changed" });
  await settled();
  assert.equal(state().photos.length, 1);
  assert.notEqual(state().regions, before);
  controller.send({ type: "photo_under", under: { photo: "p1", mix: 0.3, divide: null } });
  assert.equal(state().photo_under.mix, 0.3);
  controller.send({ type: "side_by_side", photo: "p1" });
  assert.deepEqual([state().layout, state().photo_under], [2, null]);
});

test("analysis points are looked up again when they or the grid have changed", async () => {
  const { controller, replies, state } = await page();
  const point = (at) => ({ id: "p1", name: "Raman 1", at, technique: "Raman", result: "", pigment: null, says: "open" });
  replies.points = () => [point([3, 4])];
  controller.limner_event({ type: "points_changed" });
  await settled();
  assert.deepEqual(state().points.map(({ at }) => at), [[3, 4]]);
  replies.points = () => [point([7, 3])];
  controller.limner_event({ type: "grid_changed", grid: grid() });
  await settled();
  assert.deepEqual(state().points.map(({ at }) => at), [[7, 3]]);
});

test("line warnings are asked for when maps, the scan or a region taken as pure have changed, and not after each file", async () => {
  const { controller, replies, state } = await page();
  let asked = 0;
  replies.overlaps = () => [{ map: "m1", mark: `overlap ${(asked += 1)}` }];
  const after = async (event) => {
    const before = asked;
    controller.limner_event(event);
    await settled();
    return asked - before;
  };
  const opened = { maps: ["m6"], photos: [], notices: [], asks: [], is_kept: true };
  assert.deepEqual([await after({ type: "read", opened }), await after({ type: "reading_over" })], [0, 1]);
  assert.equal(await after({ type: "maps_changed" }), 1);
  assert.equal(await after({ type: "scan_changed", scan: scan({ kv: 40 }) }), 1);
  replies.regions = () => [region("r1")];
  assert.equal(await after({ type: "regions_changed" }), 0);
  replies.regions = () => [region("r1", { pure: "Pb" })];
  assert.equal(await after({ type: "regions_changed" }), 1);
  replies.regions = () => [region("r1")];
  assert.equal(await after({ type: "regions_changed" }), 1, "nor is it what it was when none is pure any more");
  assert.equal(state().warnings[0].mark, `overlap ${asked}`);
});

test("after an undo the last question is asked again only once it is known what is open; of what is gone it is not", async () => {
  const { controller, asked, state, replies } = await compared();
  asked[0].resolve(answer("r1"));
  await settled();
  controller.limner_event({ type: "study_changed" });
  await settled();
  assert.equal(asked.length, 2);
  asked[1].resolve(answer("r1"));
  await settled();
  const troubles = [];
  replies.maps = () => [map("m2", "Fe K")];
  replies.lights = ([ids]) => ids.map((id) => {
    if (id !== "m2") troubles.push(id);
    return light(id);
  });
  controller.limner_event({ type: "study_changed" });
  await settled();
  assert.deepEqual([asked.length, troubles, state().answer, state().ask_trouble], [2, [], null, null]);
});

test("a question that was under way at an undo is asked again", async () => {
  const { controller, asked, state } = await compared();
  asked[0].reject(problem("study_changed", "The study became another one."));
  controller.limner_event({ type: "study_changed" });
  await settled();
  assert.equal(asked.length, 2);
  asked[1].resolve(answer("r1"));
  await settled();
  assert.equal(state().answer?.id, "r1");
});
