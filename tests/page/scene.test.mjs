import assert from "node:assert/strict";
import { test } from "node:test";
import { sceneOf, windowsOf, withScene } from "../../www/app/scene.js";
import { START, reduce } from "../../www/app/state.js";
import { answer, map, opened, photo, region } from "./support/shapes.mjs";

const aligned = { ...photo("p1"), alignment: { trouble: "", transform: [1, 0, 0, 0, 1, 0, 0, 0, 1] } };
const many = (...changes) => changes.reduce(reduce, START);
const fresh = () => many({ type: "ready" }, opened({ maps: ["Ti K", "Fe K", "Pb L", "Cu K"].map((label, at) => map(`m${at + 1}`, label)), photos: [aligned] }), { type: "regions", regions: [region("r1"), region("r2")] });
const light = (id, colour) => ({ map: id, label: id, colour, low: 3, high: 90, gamma: 1 });
const WINDOW = { plane: "maps 150 110 1", x: 10.5, y: 20, width: 40, height: 30 };

/** Everything is otherwise than at the start. */
const busy = () => [
  { type: "question", key: "apart" }, { type: "setting", name: "a", value: "m1" }, { type: "setting", name: "b", value: "m2" }, { type: "setting", name: "region", value: "r2" }, { type: "setting", name: "floor", value: 0.08 },
  { type: "setting", name: "maps", value: ["m1", "m3"] }, { type: "setting", name: "line", value: { from: [1, 2], to: [3, 4.5], width_px: 3 } }, { type: "form", question: "apart", key: "" },
  { type: "show_map", id: "m3" }, { type: "lights", lights: [light("m2", "#e69f00"), null, light("m4", "#56b4e9"), null] }, { type: "limits", id: "m3", limits: { low: -2, high: 17.5 } },
  { type: "scale", scale: "square root" }, { type: "colours", colours: "warm" }, { type: "layout", layout: 4 }, { type: "activate", view: 2 }, { type: "show_map", id: "m4" },
  { type: "photo_under", under: { photo: "p1", mix: 0.25, divide: { at: 0.4, along: "y" } } }, { type: "seen", id: "r1", on: false }, { type: "unfolded", id: "r2" },
].reduce(reduce, fresh());
const KEYS = ["layout", "active", "views", "mode", "map", "lights", "limits", "scale", "colours", "photo_under", "photo_as_taken", "question", "settings", "forms", "outlines", "unseen", "unfolded"];
const of = (state) => Object.fromEntries(KEYS.map((key) => [key, key === "lights" ? state.lights.map((one) => one && { ...one, label: "" }) : state[key]]));

test("a scene brings everything back after all of it was changed, also through JSON", () => {
  const before = busy();
  const scene = JSON.parse(JSON.stringify(sceneOf(before, [WINDOW])));
  const after = withScene(fresh(), scene);
  assert.deepEqual(of(after), of(before));
  assert.deepEqual(windowsOf(scene), [WINDOW]);
  assert.deepEqual(after.lights.map((one) => one?.label), ["Fe K", undefined, "Cu K", undefined], "labels are those of the maps now");
});

test("the answer's picture of the scene is shown when the answer is there, and none when there is none", () => {
  const shown = many({ type: "ready" }, opened(), { type: "answered", answer: answer("a1"), turn: true });
  const scene = sceneOf(shown, []);
  assert.equal(scene.views[0].show, "count_ratio");
  const back = withScene({ ...many({ type: "ready" }, opened()), answer: answer("a2") }, scene);
  assert.deepEqual([back.mode, back.shown], ["answer", { answer: "a2", show: "count_ratio" }]);
});

test("maps, photos, regions and questions that are not there are left out", () => {
  const scene = sceneOf(busy(), []);
  const other = many({ type: "ready" }, opened({ maps: [map("m1", "Ti K"), map("m4", "Cu K")], questions: [] }));
  const back = withScene(other, scene);
  const ids = new Set(back.views.map((view) => view.map));
  assert.ok([...ids].every((id) => id === null || ["m1", "m4"].includes(id)), [...ids].join());
  assert.deepEqual([back.lights.map((one) => one?.map), back.limits, back.photo_under, back.unseen, back.unfolded, back.question], [[undefined, undefined, "m4", undefined], {}, null, [], null, null]);
});

test("what is no scene, or of another version, changes nothing", () => {
  const state = fresh();
  for (const scene of [null, undefined, 1, "scene", [], {}, { version: 2 }, { version: "1" }, [sceneOf(state, [])]]) {
    assert.equal(withScene(state, scene), null);
    assert.deepEqual(windowsOf(scene), []);
  }
});

test("hostile scenes are read as far as they fit, and never break the state", () => {
  const deep = JSON.parse('{"__proto__": {"polluted": true}, "constructor": {"prototype": {"polluted": true}}}');
  const values = [undefined, null, NaN, Infinity, -1, 1e300, 3, "", "x".repeat(5000), "<img src=x onerror=alert(1)>", true, [], {}, [[]], deep, Array(100000).fill("m1"), { low: 5, high: 1 }, { low: NaN, high: 2 }, { plane: 3 }, [null, 3, "a"]];
  const good = sceneOf(busy(), [WINDOW]);
  for (const key of Object.keys(good).filter((name) => name !== "version")) {
    for (const value of values) {
      const back = withScene(fresh(), { ...good, [key]: value });
      assert.ok([1, 2, 4].includes(back.layout), `${key}: layout ${back.layout}`);
      assert.ok(Number.isInteger(back.active) && back.active >= 0 && back.active < back.layout, `${key}: active ${back.active}`);
      assert.equal(back.views.length, 4);
      assert.equal(back.lights.length, 4);
      for (const view of back.views) assert.ok(["map", "overlap", "overlay", "answer", "photo"].includes(view.mode) && (view.map === null || back.maps.some(({ id }) => id === view.map)), key);
      for (const one of back.lights) assert.ok(one === null || (one.low < one.high && /^#[0-9a-f]{6}$/i.test(one.colour) && back.maps.some(({ id }) => id === one.map)), key);
      for (const { low, high } of Object.values(back.limits)) assert.ok(Number.isFinite(low) && Number.isFinite(high) && low < high, key);
      assert.ok(["linear", "square root", "logarithmic"].includes(back.scale), key);
      assert.ok(back.photo_under === null || (back.photo_under.mix >= 0 && back.photo_under.mix <= 1), key);
      for (const window of windowsOf({ ...good, [key]: value })) assert.ok(window.width > 0 && window.height > 0 && typeof window.plane === "string", key);
      assert.ok(Object.keys(back.settings).length <= 256 && Object.keys(back.unseen).length <= 256, key);
    }
  }
  assert.equal({}.polluted, undefined);
});

test("parts within lists and records are looked at one by one", () => {
  const good = sceneOf(busy(), [WINDOW]);
  const back = withScene(fresh(), {
    ...good,
    lights: [{ map: "m1", colour: "red", low: 1, high: 2, gamma: 1 }, { map: "m2", colour: "#00ff00", low: 1, high: 2, gamma: -4 }, { map: "m2", colour: "#00ff01", low: 1, high: 2, gamma: 1 }, { map: "m3", colour: "#00ff00", low: 1, high: 2, gamma: 1 }],
    limits: { m1: { low: 1, high: 2 }, m2: { low: 2, high: 2 }, m9: { low: 1, high: 2 }, __proto__: { low: 1, high: 2 } },
    settings: { a: "m1", b: { from: [1, 2] }, c: [1, 2], d: Infinity, e: { from: [1, 2], to: [3, 4], width_px: 2, more: "x" }, f: () => 1, g: null },
    views: [{ mode: "photo", map: "m1", photo: "p9", show: 3 }, { mode: "overlap", map: "m9" }, "map", { mode: "answer", map: {}, photo: [], show: "x".repeat(999) }],
  });
  assert.deepEqual(back.lights.map((one) => one && [one.map, one.gamma]), [null, ["m2", 1], null, null], "no colour, no second light of a map or a colour");
  assert.deepEqual(Object.keys(back.limits), ["m1"]);
  assert.deepEqual(back.settings, { a: "m1", e: { from: [1, 2], to: [3, 4], width_px: 2 }, g: null });
  assert.deepEqual(back.views.map(({ mode }) => mode), ["map", "overlay", "map", "answer"], "a view without a subject shows what is likely wanted");
});

test("windows of one plane are taken once, and without a size not at all", () => {
  const scene = { version: 1, windows: [WINDOW, { ...WINDOW, x: 3 }, { ...WINDOW, plane: "photo", width: 0 }, { plane: "photo", x: 1, y: 2, width: 3, height: 4 }] };
  assert.deepEqual(windowsOf(scene).map(({ plane, x }) => [plane, x]), [[WINDOW.plane, 10.5], ["photo", 1]]);
});
