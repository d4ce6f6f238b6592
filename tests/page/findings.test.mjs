import assert from "node:assert/strict";
import { test } from "node:test";
import { START, answerOf, reduce, targetOf } from "../../www/app/state.js";
import { columnOf, findingOpen, isAsKept, isKeptInSight } from "../../www/app/findings-state.js";
import { sceneOf } from "../../www/app/scene.js";
import { answer, map, opened, photo } from "./support/shapes.mjs";
import { about, finding, whole } from "./support/findings.mjs";

const many = (state, ...changes) => changes.reduce(reduce, state);
const fresh = () => many(START, { type: "ready" }, opened({ photos: [photo("p1")] }), { type: "findings", findings: [finding(1), finding(2)] });
const asked = () => many(fresh(), { type: "question", key: "ratio" }, { type: "setting", name: "a", value: "m1" }, { type: "setting", name: "b", value: "m2" }, { type: "answered", answer: answer("kept1"), turn: true });
const scene = () => sceneOf(many(asked(), { type: "layout", layout: 2 }), [{ plane: "maps 150 110 1", x: 1, y: 2, width: 30, height: 20 }]);
const open = (state, place, more = {}) => reduce(state, { type: "opened", whole: whole(place, { scene: scene(), ...more }) });

test("what was kept shows its fields in its place, and they go with the finding", () => {
  const kept = many(fresh(), { type: "keeping", at: "answer" }, { type: "kept", kept: { id: "f2", at: "answer" } });
  assert.deepEqual([kept.keeping, kept.kept], [null, { id: "f2", at: "answer" }]);
  assert.equal(reduce(kept, { type: "findings", findings: [finding(1)] }).kept, null);
  const failed = many(fresh(), { type: "keeping", at: "view" }, { type: "keep_failed", trouble: { at: "view", message: "No." } });
  assert.deepEqual([failed.keeping, failed.keep_trouble?.message], [null, "No."]);
  assert.equal(reduce(failed, { type: "keeping", at: "view" }).keep_trouble, null);
});

test("an opened finding shows its answer at once, as kept, with its picture over the views, and brings the scene back", () => {
  const state = open(fresh(), 1);
  assert.deepEqual([state.answer?.id, state.column, state.layout, state.mode, state.question], ["kept1", "ask", 2, "answer", "ratio"]);
  assert.deepEqual(state.look, { windows: [{ plane: "maps 150 110 1", x: 1, y: 2, width: 30, height: 20 }] });
  assert.ok(isAsKept(state) && isKeptInSight(state));
  assert.equal(findingOpen(state)?.id, "f1");
  // The core does not hold it, so its picture is not asked for.
  assert.match(targetOf(state).message, /as it was kept/);
});

test("asked again it is live, its answer stays in sight meanwhile, and its pictures are the core's", () => {
  let state = many(open(fresh(), 1), { type: "asking", progress: { fraction: 0.5, text: "" } });
  assert.equal(answerOf(state)?.id, "kept1");
  state = reduce(state, { type: "answered", answer: answer("kept1"), turn: false });
  assert.deepEqual([isAsKept(state), isKeptInSight(state), state.opened?.live, state.asking], [false, false, true, null]);
  assert.deepEqual(targetOf(state).settings, { answer: "kept1", show: "count_ratio" });
});

test("answered otherwise, or not at all, it stays as it was kept", () => {
  const otherwise = reduce(open(fresh(), 1), { type: "answered", answer: answer("other"), turn: false });
  assert.deepEqual([otherwise.answer?.id, otherwise.opened?.otherwise, isAsKept(otherwise)], ["kept1", true, true]);
  const failed = reduce(open(fresh(), 1), { type: "ask_failed", problem: { code: "x", message: "It stopped.", detail: "" } });
  assert.deepEqual([failed.answer?.id, failed.ask_trouble?.message], ["kept1", "It stopped."]);
});

test("whoever asks something else leaves it; an answer that was only shown as kept goes with it", () => {
  for (const change of [{ type: "question", key: "apart" }, { type: "setting", name: "a", value: "m2" }, { type: "form", question: "ratio", key: "" }]) {
    const left = reduce(open(fresh(), 1), change);
    assert.deepEqual([left.opened, left.answer, left.shown], [null, null, null], change.type);
    assert.notEqual(left.mode, "answer");
  }
  const live = many(open(fresh(), 1), { type: "answered", answer: answer("kept1"), turn: false });
  assert.equal(reduce(live, { type: "setting", name: "a", value: "m2" }).answer?.id, "kept1", "it is an answer like any other until the next one comes");
  assert.equal(many(live, { type: "answered", answer: answer("next"), turn: false }).opened, null);
});

test("whoever turns to the views takes the kept picture away, and 'Answer' brings it back", () => {
  const changed = { finding: { changed: ["Fe K is another map now."], can_renew: true } };
  let state = open(fresh(), 1, changed);
  for (const change of [{ type: "show_map", id: "m2" }, { type: "mode", mode: "overlay" }, { type: "lights", lights: [null, null, null, null] }, { type: "layout", layout: 4 }, { type: "drawing", drawing: { tool: "polygon", edits: null } }, { type: "limits", id: "m1", limits: null }]) {
    const next = reduce(reduce(state, { type: "see_now" }), change);
    assert.equal(isKeptInSight(next), false, change.type);
    assert.equal(next.answer?.id, "kept1", "what is said stays as it was kept");
  }
  state = reduce(state, { type: "show_map", id: "m2" });
  assert.equal(isKeptInSight(reduce(state, { type: "mode", mode: "answer" })), true);
});

test("a refresh of maps or regions neither takes the kept picture away nor the answer", () => {
  const state = many(open(fresh(), 1), opened({ maps: [map("m2", "Fe K")] }), { type: "regions", regions: [] });
  assert.deepEqual([isKeptInSight(state), state.answer?.id], [true, "kept1"]);
});

test("a view that was kept is live at once when nothing has changed, and as it was kept when something has", () => {
  const view = { answer: null, finding: { question: null, verdict: "" } };
  const live = open(fresh(), 2, view);
  assert.deepEqual([live.opened?.live, isKeptInSight(live), live.answer, live.layout], [true, false, null, 2]);
  const changed = open(fresh(), 2, { answer: null, finding: { question: null, changed: ["The photo lies elsewhere."] } });
  assert.deepEqual([changed.opened?.live, isKeptInSight(changed)], [false, true]);
  const now = reduce(changed, { type: "see_now" });
  assert.deepEqual([isKeptInSight(now), now.mode === "answer"], [false, false]);
});

test("in a copy with findings alone the kept answer and picture are shown without maps", () => {
  const copy = many(START, { type: "ready" }, { type: "findings", findings: [finding(1)] });
  const state = open(copy, 1);
  assert.deepEqual([state.answer?.id, isAsKept(state), isKeptInSight(state), state.look], ["kept1", true, true, null]);
  assert.equal(answerOf(state)?.sentence, "One value.");
});

test("without maps the view says what can be seen, and the same words of an undo are said twice", () => {
  const copy = many(START, { type: "ready" }, { type: "findings", findings: [finding(1)] });
  assert.equal(columnOf(copy), "findings", "there is nothing to ask");
  assert.equal(columnOf(open(copy, 1)), "ask", "but a kept answer is read there");
  assert.match(targetOf(copy).message, /^No maps are open\. Open a finding/);
  const told = many(copy, { type: "told", text: "Undone." }, { type: "told", text: "Undone." });
  assert.equal(told.told, "Undone.\u00a0");
});

test("a finding that is hostile inside opens without its scene", () => {
  for (const bad of [null, 7, { version: 99 }, { version: 1, views: "x", layout: {} }]) {
    const state = open(fresh(), 1, { scene: bad });
    assert.deepEqual([state.answer?.id, state.question], ["kept1", "ratio"]);
  }
});

test("a finding that was removed is open no more", () => {
  const state = reduce(open(fresh(), 1), { type: "findings", findings: [finding(2)] });
  assert.deepEqual([state.opened, state.answer], [null, null]);
});

test("what has changed is told of the one that is open as well", () => {
  const state = reduce(open(fresh(), 1), { type: "findings", findings: [finding(1, { changed: ["The region is another."] }), finding(2)] });
  assert.deepEqual(state.opened?.changed, ["The region is another."]);
});

test("the object is said, and what is refused stays said until it is right", () => {
  let state = reduce(fresh(), { type: "about", about: about({ object: "A chart" }) });
  state = reduce(state, { type: "about_failed", message: "Too long." });
  assert.deepEqual([state.about?.object, state.about_trouble], ["A chart", "Too long."]);
  assert.equal(reduce(state, { type: "about", about: about() }).about_trouble, "");
});

test("a finding without a scene, as a script keeps it, fills the sentence with what was asked", () => {
  const state = open(fresh(), 1, { scene: null, settings: { a: "m2", b: "m1", region: "r1", floor: 0.05, presence: { m1: 3 } } });
  assert.equal(state.question, "ratio");
  const said = JSON.stringify(state.settings);
  assert.ok(["m2", "m1", "r1"].every((id) => said.includes(`"${id}"`)), said);
  assert.ok(!said.includes("presence") && !said.includes("0.05"), said);
});
