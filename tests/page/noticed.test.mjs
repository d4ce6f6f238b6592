import assert from "node:assert/strict";
import { test } from "node:test";
import { actsForAll, actsOf, grouped, inSight, inspected, namesOf, sentenceOf, unsettled, withNotices } from "../../www/app/noticed.js";
import { map } from "./support/shapes.mjs";

const of_map = (id, more = {}) => ({ severity: "warning", code: "fill_value", file: `${id}.tif`, map: id, text: `It holds ${id}.`, offers: [], ...more });
const offer = (id, value, label = `Leave ${value} out`) => ({ label, call: "set_map", args: [id, { fill_values: [value] }] });
const texts = (groups) => groups.map(({ held }) => held.map(({ text }) => text));

test("the same notice is kept once, of each source", () => {
  const once = withNotices(withNotices([], "opening", [of_map("m1"), of_map("m1")]), "opening", [of_map("m1")]);
  assert.equal(once.length, 1);
  assert.equal(withNotices(once, "page", [of_map("m1")]).length, 2);
});

test("a later look through the stack takes the place of the earlier, and of what opening said of the same map", () => {
  const opening = withNotices([], "opening", [of_map("m1"), of_map("m2", { code: "other_size" }), { severity: "error", code: "not_read", file: "a", text: "No." }]);
  const first = inspected(opening, [of_map("m1", { text: "Now with an offer." }), of_map("m3")], []);
  assert.deepEqual(first.map(({ source, map, text }) => [source, map, text]), [
    ["opening", "m2", "It holds m2."], ["opening", null, "No."], ["inspection", "m1", "Now with an offer."], ["inspection", "m3", "It holds m3."]]);
  assert.deepEqual(inspected(first, [], []).map(({ map }) => map), ["m2", null]);
});

test("what was put away is not told again while it says the same", () => {
  const [one] = inspected([], [of_map("m1")], []);
  assert.deepEqual(inspected([], [of_map("m1")], [one.key]), []);
  assert.equal(inspected([], [of_map("m1", { text: "It holds more." })], [one.key]).length, 1);
});

test("a map that has its element, or another role, is no longer told to have none; a map that is gone is not told of", () => {
  const none = withNotices([], "opening", ["m1", "m2", "m3"].map((id) => of_map(id, { code: "no_element" })));
  const maps = [map("m1", "Fe K"), map("m2", "a.tif", { element: null }), map("m3", "b.tif", { element: null, role: "sum" })];
  assert.deepEqual(unsettled(none, maps).map((one) => one.map), ["m2"]);
  assert.deepEqual(unsettled(inspected([], [of_map("m9")], []), maps), []);
  const same = withNotices([], "opening", [of_map("m2")]);
  assert.equal(unsettled(same, maps), same);
});

test("the same text is one line; three maps or more of one code are, whatever their numbers; what was left out comes first", () => {
  const two = withNotices([], "opening", [of_map("m1"), of_map("m2")]);
  assert.deepEqual(texts(grouped(two)), [["It holds m1."], ["It holds m2."]]);
  const four = withNotices(two, "opening", [of_map("m3"), { severity: "error", code: "a", file: "x", text: "Bad." }, { severity: "error", code: "a", file: "y", text: "Bad." }, { severity: "error", code: "a", file: "z", text: "Worse." }]);
  assert.deepEqual(texts(grouped(four)), [["Bad.", "Bad."], ["Worse."], ["It holds m1.", "It holds m2.", "It holds m3."]]);
  assert.deepEqual(grouped(four).map(({ is_one_text }) => is_one_text), [true, true, false]);
});

test("files that are only told of fold too, those left out for different reasons do not", () => {
  const told = (severity) => grouped(withNotices([], "opening", ["a", "b", "c"].map((file) => ({ severity, code: "x", file, text: `As ${file}.` }))));
  assert.equal(told("info").length, 1);
  assert.equal(told("error").length, 3);
});

test("what happened to the page itself is never folded away, nor is a single line", () => {
  const info = (code, file = "") => ({ severity: "info", code, file, text: `It is ${code}.` });
  const codes = (groups) => groups.map(({ code }) => code);
  const of_files = withNotices([], "opening", ["a", "b", "c", "d"].map((code) => info(code)));
  assert.deepEqual(codes(inSight(grouped(of_files), 2)), ["a", "b"]);
  assert.deepEqual(codes(inSight(grouped(of_files), 3)), ["a", "b", "c", "d"]);
  const restarted = withNotices(of_files, "page", [info("restarted"), info("unreadable", "e.tif")]);
  assert.deepEqual(codes(inSight(grouped(restarted), 2)), ["a", "b", "restarted"]);
});

test("names are those of the maps where they are open, else of the files, each once", () => {
  const held = withNotices([], "opening", [of_map("m1"), of_map("m7"), of_map("m1", { text: "Other." }), { severity: "info", code: "x", file: "", text: "All." }]);
  assert.deepEqual(namesOf(held, [map("m1", "Fe K")]), ["Fe K", "m7.tif"]);
});

test("an offer is exactly its call", () => {
  const [one] = withNotices([], "inspection", [of_map("m1", { offers: [offer("m1", 0)] })]);
  assert.deepEqual(actsOf(one).map(({ label, of, calls }) => [label, of, calls]), [["Leave 0 out", [one.key], [{ call: "set_map", args: ["m1", { fill_values: [0] }] }]]]);
});

test("offers of one kind for many maps are one statement about all of them", () => {
  const [group] = grouped(inspected([], ["m1", "m2", "m3"].map((id, at) => of_map(id, { offers: [offer(id, at)] })), []));
  const [all, ...more] = actsForAll(group);
  assert.deepEqual(more, []);
  assert.equal(all.label, "Do what is proposed for all 3");
  assert.deepEqual(all.calls, [{ call: "set_maps", args: [[{ id: "m1", fill_values: [0] }, { id: "m2", fill_values: [1] }, { id: "m3", fill_values: [2] }]] }]);
  assert.equal(all.of.length, 3);
});

test("of several offers only those in the same words are for all, and the same call is made once", () => {
  const offers = (id) => [{ label: "Turn all", call: "set_grid", args: [{ turns: 1 }] }, offer(id, id, `Leave ${id} out`)];
  const [group] = grouped(inspected([], ["m1", "m2", "m3"].map((id) => of_map(id, { offers: offers(id) })), []));
  assert.deepEqual(actsForAll(group).map(({ label, calls }) => [label, calls]), [["Turn all: all 3", [{ call: "set_grid", args: [{ turns: 1 }] }]]]);
  const mixed = ["m1", "m2", "m3"].map((id, at) => of_map(id, { offers: at === 0 ? [] : [offer(id, 0)] }));
  assert.deepEqual(actsForAll(grouped(inspected([], mixed, []))[0]), []);
  assert.deepEqual(actsForAll(grouped(inspected([], [...mixed].reverse(), []))[0]), []);
});

test("derivations for many maps are made one after the other", () => {
  const found = ["m1", "m2", "m3"].map((id) => of_map(id, { offers: [{ label: "Move lines", call: "derive", args: [{ how: "line_shift", of: [id] }] }] }));
  const [act] = actsForAll(grouped(inspected([], found, []))[0]);
  assert.deepEqual(act.calls.map(({ call, args }) => [call, args[0].of]), [["derive", ["m1"]], ["derive", ["m2"]], ["derive", ["m3"]]]);
});

test("a sentence does not say again the name that stands before it", () => {
  const maps = [{ id: "m1", label: "Pb M" }];
  const told = (text, map = "m1") => sentenceOf({ text, map, file: "Pb-M.tif" }, maps);
  assert.equal(told("Pb M: It fits Pb L only another way."), "It fits Pb L only another way.");
  assert.equal(told("Pb M fits Pb L."), "Pb M fits Pb L.");
  assert.equal(told("Pb-M.tif: It is empty.", null), "It is empty.");
});
