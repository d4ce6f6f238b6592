import assert from "node:assert/strict";
import { test } from "node:test";
import { Controller } from "../../www/app/controller.js";
import { CANCELLED, problem } from "../../www/app/protocol.js";
import { keyed } from "../../www/app/keys.js";
import { settled } from "./support/ports.mjs";
import { answer } from "./support/shapes.mjs";
import { about, finding, replies, whole } from "./support/findings.mjs";

const SEEN = { picture: { map: "m1" }, windows: [] };

/** A controller over a core that keeps findings in a list. */
async function page({ list = [finding(1), finding(2), finding(3)], changed = {} } = {}) {
  const told = [];
  const asked = [];
  const answers = replies(list);
  const at = (id) => list.findIndex((one) => one.id === id);
  const limner = {
    is_study: async () => false,
    inspect: async () => [],
    object: async () => null,
    keep: async (id, settings) => {
      told.push(["keep", id, settings]);
      list.push(finding(9, { question: id === null ? null : "ratio" }));
      return list.at(-1);
    },
    finding: async (id) => ({ ...whole(1), ...changed.whole, finding: { ...list[at(id)], place: at(id) + 1 } }),
    set_finding: async (id, settings) => {
      told.push(["set_finding", id, settings]);
      const [one] = list.splice(at(id), 1);
      list.splice(settings.place === undefined ? list.length : settings.place - 1, 0, { ...one, ...settings });
    },
    renew_finding: async (id, options) => void told.push(["renew_finding", id, options]),
    remove: async (id) => void (told.push(["remove", id]), list.splice(at(id), 1)),
    set_about: async (value) => void told.push(["set_about", value]),
    undo: async () => (told.push(["undo"]), { text: "region “sky” added", undo: 0, redo: 1 }),
    redo: async () => (told.push(["redo"]), { text: "region “sky” added", undo: 1, redo: 0 }),
  };
  const client = {
    call: async (action, args = []) => answers[action](args),
    ask: (question, settings, options) => new Promise((resolve, reject) => {
      asked.push({ question, settings, resolve: (one) => resolve({ answer: one, rasters: {} }), reject });
      options.signal.addEventListener("abort", () => reject(CANCELLED));
    }),
  };
  const controller = new Controller(client, limner, () => {});
  controller.ready();
  await settled();
  return { controller, send: controller.send, state: () => controller.state, told, asked, list, limner, answers };
}

/** With an answer to keep. */
async function answered() {
  const all = await page();
  all.send({ type: "choose_setting", name: "a", value: "m1" });
  all.send({ type: "choose_setting", name: "b", value: "m2" });
  await settled();
  all.asked[0].resolve(answer("r1"));
  await settled();
  return all;
}

test("keeping an answer hands over its id, the picture that is seen and the scene; then its title is asked for", async () => {
  const { send, told, state } = await answered();
  send({ type: "keep", at: "answer", seen: SEEN });
  send({ type: "keep", at: "answer", seen: SEEN });
  await settled();
  assert.equal(told.length, 1, "a second press while it is kept keeps nothing");
  const [, id, settings] = told[0];
  assert.deepEqual([id, settings.picture, settings.scene.version, settings.scene.question, settings.scene.settings.a], ["r1", { map: "m1" }, 1, "ratio", "m1"]);
  assert.deepEqual([state().kept, state().findings.length], [{ id: "f9", at: "answer" }, 4]);
});

test("keeping a view hands over no answer, and where nothing is seen no picture", async () => {
  const { send, told } = await answered();
  send({ type: "keep", at: "view", seen: { picture: null, windows: [] } });
  await settled();
  assert.deepEqual([told[0][1], "picture" in told[0][2]], [null, false]);
});

test("without an answer nothing is kept as one, and a refusal stands where it was pressed", async () => {
  const { send, told, state, limner } = await page();
  send({ type: "keep", at: "answer", seen: SEEN });
  await settled();
  assert.deepEqual(told, []);
  limner.keep = () => Promise.reject(problem("bad_setting", "There is nothing to keep."));
  send({ type: "keep", at: "view", seen: SEEN });
  await settled();
  assert.deepEqual(state().keep_trouble, { at: "view", message: "There is nothing to keep." });
});

test("title and note are written once and only where they are others; Escape leaves what was proposed", async () => {
  const { send, told, state } = await answered();
  send({ type: "keep", at: "answer", seen: SEEN });
  await settled();
  send({ type: "write_kept", title: " My title ", note: "" });
  await settled();
  assert.deepEqual(told.slice(1), [["set_finding", "f9", { title: "My title" }]]);
  assert.equal(state().kept, null);
  send({ type: "keep", at: "answer", seen: SEEN });
  await settled();
  send({ type: "leave_kept" });
  assert.equal(state().kept, null);
  assert.equal(told.filter(([name]) => name === "set_finding").length, 1);
});

test("an unchanged finding is asked again as it was asked, in the background, and then it is live", async () => {
  const { send, asked, state } = await page();
  send({ type: "open_finding", id: "f2" });
  await settled();
  assert.deepEqual(asked.map(({ question, settings }) => [question, settings]), [["ratio", { a: "m1", b: "m2" }]]);
  assert.deepEqual([state().answer?.id, state().opened?.id, state().opened?.live], ["kept1", "f2", false]);
  asked[0].resolve(answer("kept1"));
  await settled();
  assert.equal(state().opened?.live, true);
});

test("a changed finding is shown and not asked again by itself, whatever changes meanwhile", async () => {
  const { controller, send, asked, state } = await page({ list: [finding(1, { changed: ["Fe K has another kind."], can_renew: true })] });
  send({ type: "open_finding", id: "f1" });
  await settled();
  controller.limner_event({ type: "maps_changed" });
  controller.limner_event({ type: "regions_changed" });
  await settled();
  assert.deepEqual([asked.length, state().answer?.id, state().opened?.live], [0, "kept1", false]);
});

test("opening takes back what is being asked, and only the last one opened is shown", async () => {
  const { send, asked, state, limner } = await page();
  send({ type: "choose_setting", name: "a", value: "m1" });
  send({ type: "choose_setting", name: "b", value: "m2" });
  await settled();
  const held = [];
  const finding_of = limner.finding;
  limner.finding = (id) => new Promise((resolve) => held.push(() => resolve(finding_of(id))));
  send({ type: "open_finding", id: "f1" });
  send({ type: "open_finding", id: "f3" });
  held[1]();
  await settled();
  held[0]();
  await settled();
  assert.equal(state().opened?.id, "f3");
  asked[0].resolve(answer("late"));
  await settled();
  assert.equal(state().answer?.id, "kept1");
});

test("moving goes by the order that is there by then, and stops at the ends", async () => {
  const { send, told, state, list } = await page();
  for (let press = 0; press < 5; press += 1) send({ type: "move_finding", id: "f1", by: 1 });
  await settled();
  await settled();
  assert.deepEqual(told.map(([, , { place }]) => place), [2, 3]);
  assert.deepEqual(list.map(({ id }) => id), ["f2", "f3", "f1"]);
  assert.deepEqual([state().findings.map(({ id }) => id), state().moved], [["f2", "f3", "f1"], { id: "f1" }]);
});

test("editing ends when it is written, and a refusal stands with its finding", async () => {
  const { send, state, limner } = await page();
  send({ type: "edit_finding", id: "f2" });
  assert.equal(state().editing, "f2");
  send({ type: "write_finding", id: "f2", title: "Other", note: "n" });
  await settled();
  assert.equal(state().editing, null);
  limner.set_finding = () => Promise.reject(problem("bad_setting", "Too long."));
  send({ type: "edit_finding", id: "f2" });
  send({ type: "write_finding", id: "f2", title: "Longer", note: "" });
  await settled();
  assert.deepEqual([state().editing, state().finding_trouble], ["f2", { id: "f2", message: "Too long." }]);
});

test("renewing shows how far it is, can be cancelled, and opens the one that is open anew", async () => {
  const { send, state, limner, told } = await page({ list: [finding(1, { changed: ["x"], can_renew: true })] });
  send({ type: "open_finding", id: "f1" });
  await settled();
  let options;
  limner.renew_finding = (_, given) => new Promise((resolve, reject) => {
    options = { ...given, resolve };
    given.signal.addEventListener("abort", () => reject(CANCELLED));
  });
  send({ type: "renew_finding", id: "f1" });
  options.on_progress({ fraction: 0.4, text: "Half" });
  assert.deepEqual(state().renewing, { id: "f1", progress: { fraction: 0.4, text: "Half" } });
  send({ type: "cancel_renew" });
  await settled();
  assert.deepEqual([state().renewing, state().finding_trouble], [null, null]);
  const before = state().opened;
  send({ type: "renew_finding", id: "f1" });
  options.resolve();
  await settled();
  assert.notEqual(state().opened, before);
  assert.deepEqual([state().renewing, told], [null, []]);
});

test("removing asks nothing, and the list follows", async () => {
  const { controller, send, told, state } = await page();
  send({ type: "remove_finding", id: "f2" });
  await settled();
  controller.limner_event({ type: "findings_changed" });
  await settled();
  assert.deepEqual([told, state().findings.map(({ id }) => id)], [[["remove", "f2"]], ["f1", "f3"]]);
});

test("undo and redo are made where there is something to undo, and what was undone is said", async () => {
  const { controller, send, told, state } = await page();
  send({ type: "undo" });
  await settled();
  assert.deepEqual(told, []);
  controller.limner_event({ type: "history_changed", history: { undo: 2, redo: 0, undo_text: "region “sky” added", redo_text: "" } });
  send({ type: "undo" });
  send({ type: "redo" });
  await settled();
  assert.deepEqual([told, state().told], [[["undo"]], "Undone: region “sky” added."]);
});

test("after undo, redo or another study everything is asked for anew", async () => {
  const { controller, answers, state } = await page();
  answers.about = () => about({ object: "A chart" });
  answers.regions = () => [];
  answers.findings = () => [finding(1)];
  controller.limner_event({ type: "study_changed" });
  await settled();
  assert.deepEqual([state().about?.object, state().regions, state().findings.length], ["A chart", [], 1]);
});

test("what findings rest on is looked up again whenever something changes, if there are any", async () => {
  const counted = async (list) => {
    const { controller, answers } = await page({ list });
    let calls = 0;
    answers.findings = () => ((calls += 1), list);
    for (const type of ["maps_changed", "regions_changed", "points_changed", "photos_changed"]) {
      controller.limner_event({ type });
      await settled();
    }
    controller.limner_event({ type: "history_changed", history: { undo: 0, redo: 0, undo_text: "", redo_text: "" } });
    await settled();
    return calls;
  };
  assert.deepEqual([await counted([finding(1)]), await counted([])], [4, 0]);
});

test("the keys of the whole page", () => {
  const press = (key, more = {}) => keyed({ key, ctrlKey: false, metaKey: false, altKey: false, shiftKey: false, ...more });
  assert.deepEqual([press("z", { ctrlKey: true }), press("Z", { ctrlKey: true, shiftKey: true }), press("y", { ctrlKey: true }), press("z", { metaKey: true }), press("k"), press("K", { shiftKey: true })], ["undo", "redo", "redo", "undo", "keep", "keep"]);
  assert.deepEqual([press("z"), press("k", { ctrlKey: true }), press("z", { ctrlKey: true, altKey: true }), press("Y", { ctrlKey: true, shiftKey: true })], [null, null, null, null]);
});
