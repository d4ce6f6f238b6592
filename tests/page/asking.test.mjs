import assert from "node:assert/strict";
import { test } from "node:test";
import { GONE, OPEN, choicesOf, formOf, keptAs, numberText, readyToAsk, regionsText, typedNumber, valueOf, wordOf } from "../../www/app/asking.js";
import { START, reduce } from "../../www/app/state.js";
import { questions } from "./support/answers.mjs";
import { map, opened } from "./support/shapes.mjs";

const REGIONS = [{ id: "r1", name: "Hills", area_text: "360 mm²" }, { id: "r2", name: "Sea", area_text: "" }, { id: "r3", name: "Rose" }];
const MAPS = [map("m1", "Ti K"), map("m2", "Fe K"), map("m3", "Ti K", { file: "second.tif" })];
const after = (...changes) => [opened({ maps: MAPS, questions }), ...changes].reduce(reduce, { ...START, regions: REGIONS });
const asks = (key) => ({ type: "question", key });
const set = (name, value, of) => ({ type: "setting", name, value, ...(of ? { of } : {}) });
const part = (state, setting) => [...formOf(state).parts, ...formOf(state).more, ...formOf(state).rest].find((one) => one.setting === setting);

test("what a map and a region are chosen for in one question stands in the next; lists belong to their question", () => {
  const state = after(asks("faint"), set("map", "m1"), set("region", "r1"), asks("apart"));
  assert.equal(readyToAsk(state), null, "B is still to be chosen");
  assert.deepEqual(readyToAsk(reduce(state, set("b", "m2")))?.settings, { a: "m1", b: "m2", region: "r1" });
  const lists = after(asks("regions"), set("maps", ["m1"]), { type: "form", question: "together", key: "all" }, asks("together"));
  assert.deepEqual(readyToAsk(lists)?.settings, {}, "all maps, not those of the other question");
  assert.deepEqual(readyToAsk(reduce(lists, asks("regions")))?.settings, { maps: ["m1"] }, "and they are still there on the way back");
  assert.notEqual(keptAs("regions", "maps"), keptAs("together", "maps"));
});

test("a region that is gone is asked for and never replaced by the whole field", () => {
  const chosen = after(asks("faint"), set("map", "m1"), set("region", "r2"));
  assert.deepEqual(readyToAsk(chosen)?.settings, { map: "m1", region: "r2" });
  const gone = { ...chosen, regions: REGIONS.slice(0, 1) };
  assert.equal(valueOf(gone, part(gone, "region")), GONE);
  assert.equal(readyToAsk(gone), null);
  assert.deepEqual(wordOf(gone, part(gone, "region"), false), { text: "a region (the one chosen is gone)", open: true });
  const none = { ...chosen, regions: [] };
  assert.deepEqual(choicesOf(none, part(none, "region")).map(({ value }) => value), [OPEN], "also when no region is left");
  assert.deepEqual(readyToAsk(reduce(gone, set("region", "")))?.settings, { map: "m1" }, "the whole field, once it is chosen");
  const list = after(asks("regions"), set("regions", ["r1", "r2"]));
  assert.deepEqual(readyToAsk({ ...list, regions: REGIONS.slice(0, 1) })?.settings, { regions: ["r1"] });
});

test("a region can be chosen where there are regions, with its area beside it; without any its word opens nothing", () => {
  const state = after(asks("faint"));
  assert.deepEqual(choicesOf(state, part(state, "region")).map(({ value, text, detail }) => [value, text, detail]),
    [["", "the whole field", ""], ["r1", "Hills", "360 mm²"], ["r2", "Sea", ""], ["r3", "Rose", ""]]);
  assert.deepEqual(choicesOf({ ...state, regions: [] }, part(state, "region")), []);
  assert.deepEqual(["r1"], readyToAsk(after(asks("faint"), set("map", "m1"), set("region", "r1")))?.settings.region.split(","));
});

test("several regions in words", () => {
  assert.equal(regionsText(["r1"], REGIONS), "Hills");
  assert.equal(regionsText(["r2", "r1"], REGIONS), "Hills and Sea");
  assert.equal(regionsText(["r1", "r2", "r3"], REGIONS), "all 3 regions");
  assert.equal(regionsText(["r1", "r2", "r3"], [...REGIONS, { id: "r4", name: "Bay" }]), "Hills and 2 more");
});

test("a second map of the same element is offered for its map only, and is handed in under it", () => {
  const state = after(asks("apart"), set("a", "m1"), set("b", "m2"));
  assert.deepEqual(choicesOf(state, part(state, "held_out")).map(({ value }) => value), ["", "m3"]);
  assert.deepEqual(choicesOf(reduce(state, set("a", "m2")), part(state, "held_out")), [], "no other iron map");
  const held = reduce(state, set("held_out", "m3", "m1"));
  assert.deepEqual(readyToAsk(held)?.settings.held_out, { m1: "m3" });
  assert.equal(readyToAsk(reduce(held, set("a", "m2")))?.settings.held_out, undefined, "what is said of one map is not said of another");
  assert.deepEqual(readyToAsk(reduce(reduce(held, set("a", "m2")), set("a", "m1")))?.settings.held_out, { m1: "m3" });
});

test("numbers are typed in their unit, kept as the core takes them, and refused outside of their ends", () => {
  const floor = { text: "", setting: "floor", kind: "number", unit: "%", low: 0, high: 100, start: 5, per: 0.01 };
  assert.equal(typedNumber(floor, "10"), 0.1);
  assert.equal(typedNumber(floor, "7,5 %"), 0.075);
  assert.equal(typedNumber(floor, "5"), null, "the default is left to the core");
  assert.equal(typedNumber(floor, ""), null);
  for (const wrong of ["101", "-1", "half", "1e999"]) assert.match(typedNumber(floor, wrong).message, /between 0 and 100/, wrong);
  assert.match(typedNumber({ ...floor, high: undefined }, "x").message, /from 0 on/);
  const state = after(asks("ratio"));
  assert.equal(numberText(state, part(state, "floor")), "5");
  assert.equal(numberText(reduce(state, set("floor", 0.125)), part(state, "floor")), "12.5");
  assert.equal(numberText(state, part(state, "rim_px")), "", "found by the core");
});

test("another form of a question is asked with its own settings, and the way back is kept", () => {
  const state = after(asks("together"), set("a", "m1"), set("b", "m2"));
  assert.equal(formOf(state).key, "");
  const all = reduce(state, { type: "form", question: "together", key: "all" });
  assert.deepEqual([formOf(all).key, readyToAsk(all)], ["all", { question: "together", settings: {} }]);
  assert.deepEqual(readyToAsk(reduce(all, { type: "form", question: "together", key: "" }))?.settings, { a: "m1", b: "m2" });
  assert.equal(formOf(reduce(all, asks("apart"))).key, "", "only that question has another form");
});

test("words that stand before anything is chosen", () => {
  const state = after(asks("together"));
  const [a, b] = ["a", "b"].map((setting) => part(state, setting));
  assert.deepEqual([wordOf(state, a, true), wordOf(state, b, false)], [{ text: "a map", open: true }, { text: "another map", open: true }]);
  const regions = after(asks("regions"));
  assert.deepEqual(wordOf(regions, part(regions, "line"), false), { text: "with no line across", open: false });
  assert.equal(wordOf(reduce(regions, set("line", { from: [0, 0], to: [9, 9], width_px: 1 })), part(regions, "line"), false).text, "the line drawn");
  assert.equal(wordOf(reduce(regions, set("maps", ["m1", "m2"])), part(regions, "maps"), false).text, "Ti K and Fe K");
});

test("a second region is chosen for its question alone and is needed, so the sentence waits for it", () => {
  const state = after(asks("covered"), set("region", "r1"));
  assert.deepEqual(wordOf(state, part(state, "against"), false), { text: "a bare region", open: true });
  assert.deepEqual(choicesOf(state, part(state, "against")).map(({ value }) => value), ["r1", "r2", "r3"], "nothing stands for having none");
  assert.equal(readyToAsk(state), null);
  const both = reduce(state, set("against", "r2"));
  assert.deepEqual(readyToAsk(both)?.settings, { region: "r1", against: "r2" });
  assert.equal(readyToAsk(reduce(both, asks("faint"))), null, "no map is chosen for it yet");
  assert.deepEqual(readyToAsk(after(asks("faint"), set("map", "m1"), asks("covered"), set("against", "r2"), asks("faint")))?.settings, { map: "m1" });
  const gone = { ...both, regions: REGIONS.slice(0, 1) };
  assert.equal(readyToAsk(gone), null);
  assert.equal(wordOf(gone, part(gone, "against"), false).open, true);
  assert.deepEqual(choicesOf({ ...state, regions: [] }, part(state, "against")), []);
});

test("choices of the core can be taken back to what stood there before", () => {
  const state = after(asks("materials"), set("colour", "blue"));
  assert.deepEqual(choicesOf(state, part(state, "colour")).map(({ text }) => text), ["any colour", "white", "grey", "blue"]);
  assert.deepEqual([wordOf(state, part(state, "colour"), false).text, readyToAsk(state)?.settings], ["blue", { colour: "blue" }]);
  assert.deepEqual(readyToAsk(reduce(state, set("colour", OPEN)))?.settings, {});
  const layers = after(asks("covered"));
  assert.deepEqual(choicesOf(layers, part(layers, "layer")).map(({ text, detail }) => [text, detail]), [["any layer", ""], ["natural resin varnish", "1.07 g/cm³"], ["dirt", ""]]);
  const zones = after({ type: "form", question: "regions", key: "zones" }, asks("regions"));
  assert.deepEqual(choicesOf(zones, part(zones, "zones_by")).map(({ value }) => value), ["means", "parts"], "where it is one of them nothing is added");
  const said = { text: "any colour", setting: "colour", kind: "choice", choices: [{ value: "", text: "any" }] };
  assert.equal(choicesOf(state, said).length, 1, "nor where the core offers it");
});

test("years are plain whole numbers, stand in both questions that ask for them, and may be left open where they are not needed", () => {
  const open = after(asks("materials"));
  assert.deepEqual(readyToAsk(open)?.settings, {}, "no colour, no date");
  assert.equal(readyToAsk(after(asks("dates"))), null, "two years are needed here");
  const dated = after(asks("materials"), set("from", 1640), set("to", 1670), asks("dates"));
  assert.deepEqual(readyToAsk(dated)?.settings, { from: 1640, to: 1670 });
  const from = part(dated, "from");
  assert.equal(numberText(dated, from), "1640");
  assert.equal(numberText(reduce(dated, set("from", -500)), from), "−500");
  assert.deepEqual([typedNumber(from, "1640"), typedNumber(from, " 1 640 "), typedNumber(from, "−500"), typedNumber(from, "")], [1640, 1640, -500, null]);
  for (const wrong of ["1,640", "1640.5", "c. 1640", "16th", "1e3"]) assert.match(typedNumber(from, wrong).message, /whole number/, wrong);
  assert.match(typedNumber(from, "20000").message, /between −?-?3000 and 2100/);
});
