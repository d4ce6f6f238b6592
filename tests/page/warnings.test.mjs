import assert from "node:assert/strict";
import { test } from "node:test";
import { root, texts } from "./support/document.mjs";
import { createWarnings } from "../../www/app/components/warnings.js";
import { START, mapsInView, reduce, targetOf } from "../../www/app/state.js";
import { subjectName } from "../../www/app/subjects.js";
import { isOnMaps } from "../../www/app/under-state.js";
import { byWeight, warningBasis, warningsHead, warningsSeen } from "../../www/app/warnings-state.js";
import { HOSTILE } from "./support/found.mjs";
import { map, opened } from "./support/shapes.mjs";

const share = { value: 0.12, low: 0.1, high: 0.14, low_all: null, high_all: null, unit: "", reason: "" };
const warning = (of, by, more = {}) => ({ map: of, by, by_map: "m2", how: "line", grade: "same peak", share, measured_in: null, text: `${by} lies 9 eV above As Kα: one peak. By theory 0.1 to 0.14 counts of As K come with each count of Pb L.`,
  consequence: "Lead paint looks like arsenic.", check: "Look for As Kβ at 11.73 keV.", basis: "from memory", source: "a handbook", mark: "overlap Pb", ...more });
const AS = warning("m1", "Pb Lα");
const MAPS = opened({ maps: [map("m1", "As K", { marks: ["overlap Pb"] }), map("m2", "Pb L")] });
const after = (...changes) => changes.reduce(reduce, { ...START, phase: "ready" });
const warned = (...more) => after(MAPS, { type: "show_map", id: "m1" }, { type: "warnings", warnings: [AS, warning("m2", "As Kα")] }, ...more);

test("the warnings that are seen are those of the map that the view shows alone", () => {
  assert.deepEqual(warningsSeen(warned()), [AS]);
  assert.deepEqual(warningsSeen(warned({ type: "mode", mode: "overlap" })), [AS]);
  assert.deepEqual(warningsSeen(warned({ type: "mode", mode: "overlay" })), []);
  assert.deepEqual(warningsSeen(warned({ type: "show_map", id: "m9" })), []);
});

test("how many there are is said before what the first one says", () => {
  const little = warning("m1", "Au Lη", { grade: "partly", mark: "overlap Au" });
  assert.deepEqual(byWeight([little, AS], ["overlap Pb"]), { much: [AS], little: [little] });
  assert.deepEqual(warningsHead(byWeight([AS, little], ["overlap Pb"])), { count: "1 warning: ", text: AS.text });
  assert.equal(warningsHead({ much: [AS, AS], little: [] }).count, "2 warnings: ");
  assert.deepEqual(warningsHead(byWeight([AS, little], [])), { count: "", text: "Overlaps of little weight: 2" });
  assert.deepEqual([warningBasis(AS), warningBasis({ ...AS, source: "" }), warningBasis({ ...AS, basis: undefined, source: undefined })], ["from memory: a handbook", "from memory", ""]);
});

test("what overlaps could give is a picture of its map, drawn anew when the warnings are others", () => {
  const state = warned({ type: "mode", mode: "overlap" });
  const target = targetOf(state);
  assert.deepEqual([target.settings, target.readable, target.on_grid, mapsInView(state)], [{ overlap: "m1" }, true, true, ["m1"]]);
  assert.equal(subjectName(state, 0), "As K, what overlaps could give");
  assert.equal(isOnMaps(state), true, "regions and points lie there too");
  const other = reduce(state, { type: "warnings", warnings: [{ ...AS, measured_in: "Star" }] });
  assert.notEqual(targetOf(other).fingerprint, target.fingerprint);
  const of_another = reduce(state, { type: "warnings", warnings: [AS] });
  assert.equal(targetOf(of_another).fingerprint, target.fingerprint, "what another map is warned of does not matter");
  assert.deepEqual(targetOf(reduce(state, { type: "limits", id: "m1", limits: { low: 1, high: 2 } })).settings, { overlap: "m1" }, "its scale is its own");
  assert.equal(reduce(state, { type: "show_map", id: "m2" }).mode, "map", "another map on the sheet leads back");
  assert.deepEqual(targetOf(reduce(state, { type: "colours", colours: "viridis" })).settings, { overlap: "m1", colours: "viridis" });
});

/** The lines below the picture, and what was sent from them. */
function drawn(state) {
  const sent = [];
  const here = root();
  const part = createWarnings(here, (action) => sent.push(action));
  part.update(state);
  return { here, sent, update: (next) => part.update(next) };
}

test("one line says the warning, and opens what follows from it and how to check it", () => {
  const { here, sent, update } = drawn(warned());
  assert.equal(here.hidden, false);
  assert.equal(here.querySelector(".warnings-head").textContent.replaceAll("\u00a0", " "), `1 warning: ${AS.text}`);
  assert.deepEqual([here.querySelector(".warnings-list").hidden, here.querySelector(".warnings-turn").hidden], [true, true]);
  here.querySelector(".warnings-head").click();
  assert.deepEqual(sent, [{ type: "open_warnings", open: true }]);
  update(warned({ type: "warnings_open", open: true }));
  assert.equal(here.querySelector(".warnings-head").getAttribute("aria-expanded"), "true");
  const [entry] = texts(here, ".warning").map((text) => text.replaceAll("\u00a0", " "));
  assert.equal(entry, `${AS.text}${AS.consequence}To check: ${AS.check} (from memory: a handbook)`);
  here.querySelector(".warnings-turn").click();
  assert.deepEqual(sent.at(-1), { type: "choose_mode", mode: "overlap" });
  update(warned({ type: "mode", mode: "overlap" }));
  assert.deepEqual([texts(here, ".warnings-turn"), here.querySelector(".warnings-turn").hidden], [["Back to the map"], false]);
  here.querySelector(".warnings-turn").click();
  assert.deepEqual(sent.at(-1), { type: "choose_mode", mode: "map" });
  here.happens("keydown", { key: "Escape" });
  assert.equal(sent.length, 3, "nothing is open any more");
  update(warned({ type: "warnings_open", open: true }));
  here.happens("keydown", { key: "Escape" });
  assert.deepEqual(sent.at(-1), { type: "open_warnings", open: false });
});

test("what matters little is folded behind how many there are; alone it need not be unfolded", () => {
  const little = warning("m1", "Au Lη", { mark: "overlap Au", text: "Au Lη lies 223 eV below As Kα." });
  const more = [{ type: "warnings", warnings: [AS, little] }, { type: "warnings_open", open: true }];
  const { here, update } = drawn(warned(...more));
  const fold = here.querySelector(".warnings-rest");
  assert.deepEqual([fold.hidden, fold.open, texts(here, "summary")], [false, false, ["Of little weight: 1"]]);
  assert.ok(texts(fold, ".warning")[0].startsWith("Au"));
  const unmarked = opened({ maps: [map("m1", "As K"), map("m2", "Pb L")] });
  update(after(unmarked, { type: "show_map", id: "m1" }, ...more));
  assert.deepEqual([texts(here, ".warnings-head"), fold.open, texts(here, ".warning").length], [["Overlaps of little weight: 2"], true, 2]);
});

test("a map without a warning has no line", () => {
  const { here, update } = drawn(warned({ type: "mode", mode: "overlay" }));
  assert.equal(here.hidden, true);
  update(after(MAPS, { type: "show_map", id: "m1" }));
  assert.equal(here.hidden, true);
});

test("what warnings say is text, whatever a region is called", () => {
  const odd = { ...AS, text: `In “${HOSTILE}”, taken as lead only`, consequence: HOSTILE, check: HOSTILE, basis: HOSTILE, source: HOSTILE, measured_in: HOSTILE };
  const { here } = drawn(after(MAPS, { type: "show_map", id: "m1" }, { type: "warnings", warnings: [odd] }, { type: "warnings_open", open: true }));
  assert.ok(here.textContent.includes(HOSTILE));
  assert.deepEqual(here.all().filter(({ tag }) => ["img", "b"].includes(tag)), []);
});
