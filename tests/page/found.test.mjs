import assert from "node:assert/strict";
import { test } from "node:test";
import { root, texts } from "./support/document.mjs";
import { createFound } from "../../www/app/components/found/found.js";
import { START, reduce } from "../../www/app/state.js";
import { besideName, cautionsOf, decidesText, elementsByState, elementsExplained, groupsAlike, placesByAim, remarksOf, setText, settledBy, sortedDates, sortedMaterials, verdictBeside, verdictOf } from "../../www/app/materials.js";
import { HOSTILE, covered, dates, hostile, materials, nothing } from "./support/found.mjs";
import { answer } from "./support/shapes.mjs";

/** An answer drawn, and what was sent from it. */
function drawn(one) {
  const sent = [];
  const here = root();
  const found = createFound(here, (action) => sent.push(action));
  const update = (more = {}, next = one) => found.update({ ...START, ...more }, next, (text) => text);
  update();
  return { here, sent, update };
}
const fold = (element, words) => element.querySelectorAll("details").find((one) => one.firstElementChild.textContent.includes(words));

test("elements stand by their state, and those that cannot be judged are explained first", () => {
  const { elements } = materials.materials;
  assert.deepEqual(elementsByState(elements).map(({ label, elements }) => [label, elements.length]), [["Detected", 6], ["As support and ground", 2], ["Not detected", 10], ["Cannot be judged", 2], ["Not measured", 3]]);
  assert.deepEqual(elementsExplained(elements).map(({ label }) => label).slice(0, 2), ["Cl K", "S K"]);
  assert.deepEqual(elementsByState([{ element: "Xx", label: "", state: "of a new kind", text: "" }]).map(({ label }) => label), ["of a new kind"], "a state that is new here is not lost");
  const { here } = drawn(materials);
  assert.deepEqual(texts(here, "dt").slice(0, 5), ["Detected", "As support and ground", "Not detected", "Cannot be judged", "Not measured"]);
  assert.equal(texts(here, "dd")[4], "Al, Si, Na");
  assert.match(fold(here, "What the maps say").textContent, /Cl K cannot be judged: air takes 80 %/);
});

test("every element of the answer stands on the page once, whatever its state", () => {
  const { elements } = materials.materials;
  const { here } = drawn(materials);
  const said = texts(here.querySelectorAll(".found-states")[0], "dd").join(", ").replaceAll("\u00a0", " ").split(", ");
  assert.deepEqual(said.toSorted(), elements.map(({ label }) => label).toSorted());
});

test("candidates that are open stand in sight; the others fold behind a line that says how many", () => {
  const { open, folds } = sortedMaterials(materials.materials.materials);
  assert.deepEqual(open.map(({ id }) => id), ["smalt", "cobalt_blue", "earth"]);
  assert.deepEqual(folds.map(({ text }) => text), ["3 would have been seen", "3 with no evidence in these maps"]);
  const { here } = drawn(materials);
  assert.deepEqual(texts(fold(here, "3 with no evidence"), ".found-verdict"), [], "the line says it already");
  assert.match(fold(here, "3 would have been seen").textContent, /azurite would have been seen above 2\.1 counts of Cu K/);
  assert.deepEqual(texts(fold(here, "3 with no evidence"), ".found-name"), ["indigo", "ultramarine", "Prussian blue in traces"]);
  assert.deepEqual(texts(here, ".found-name").slice(0, 3), ["smalt", "cobalt blue", "red or yellow earth"]);
  assert.equal(sortedMaterials([{ verdict: "a word of a later version" }]).open.length, 1, "an unknown word is never folded away");
});

test("a reason stands with what it rests on", () => {
  const { here } = drawn(materials);
  const entry = fold(here, "smalt");
  assert.deepEqual(texts(entry, ".found-basis"), ["(published: B. Mühlethaler and J. Thissen, Smalt, Artists’ Pigments 2 (1993))", "(computed)", "(from memory)", "(reasoned, no source)"]);
  assert.equal(texts(entry, "li").length, 4);
});

test("beside a verdict stand the others that are not told from it, what does not go with what was stated, and each hazard once", () => {
  const [smalt, cobalt, earth] = materials.materials.materials;
  const { hazards } = materials.materials;
  assert.deepEqual(remarksOf(smalt, hazards), ["not distinguishable from cobalt blue glass"], "its hazard stands below");
  assert.deepEqual(remarksOf(smalt, []), ["not distinguishable from cobalt blue glass", smalt.hazard]);
  assert.deepEqual(remarksOf(smalt, [`Smalt: ${smalt.hazard}`], ["cobalt blue glass"]), [], "also where it is said of several, and of a name that stands beside it");
  assert.deepEqual(remarksOf(cobalt, hazards), [], "the verdict names the other already");
  assert.equal(besideName(cobalt, "not distinguishable"), "not distinguishable; not of the years stated");
  assert.equal(besideName(earth, ""), "of another colour than stated");
  assert.equal(besideName({ ...earth, fits_colour: "It is seldom as dark.", fits_years: null }, ""), "It is seldom as dark.");
  assert.ok(!drawn(materials).here.textContent.includes(smalt.hazard), "it stands among the cautions");
  assert.deepEqual(cautionsOf({ ...materials, cautions: ["As K under Pb L.", hazards[1]] }), { seen: ["As K under Pb L.", hazards[1], hazards[0]], more: [] });
  const many = Array.from({ length: 20 }, (_, at) => `caution ${at}`);
  const { seen, more } = cautionsOf({ ...materials, cautions: many });
  assert.deepEqual(seen, ["caution 0", "caution 1", "caution 2", "caution 18", "caution 19", ...hazards]);
  assert.deepEqual([...seen.slice(0, 3), ...more, ...seen.slice(3, 5)], many, "none is lost");
});

test("a verdict that begins with its name stands behind it once, and behind a line that says it already not at all", () => {
  const of = { name: "lead white", verdict: "does not fit", verdict_text: "lead white does not fit as original paint" };
  assert.deepEqual([verdictOf(of), verdictBeside(of)], ["does not fit as original paint", "does not fit as original paint"]);
  const bare = { ...of, verdict_text: "lead white does not fit" };
  assert.deepEqual([verdictOf(bare), verdictBeside(bare)], ["does not fit", ""]);
  assert.equal(verdictOf({ ...of, name: "lead", verdict_text: "lead-bearing" }), "lead-bearing", "a name within another word is none");
  assert.equal(verdictOf({ ...of, verdict_text: "" }), "does not fit");
});

test("a set is said in the core's words, or by its names", () => {
  assert.equal(setText(["smalt", "earth"], "smalt and earth; Bi only as a frequent companion"), "smalt and earth; Bi only as a frequent companion");
  assert.deepEqual([setText(["smalt", "earth"], "explains all"), setText(["smalt"], "")], ["smalt + earth: explains all", "smalt"]);
});

test("what would settle it stands by technique, and what holds of several is said once", () => {
  const techniques = settledBy(sortedMaterials(materials.materials.materials).open);
  assert.deepEqual(techniques.map(({ technique, rows }) => [technique, ...rows.map(({ names }) => names.join())]), [["microscopy", "smalt"], ["reflectance (FORS)", "smalt,cobalt blue"], ["Raman", "cobalt blue", "red or yellow earth"]]);
});

test("places to measure are numbered, say what they decide, and lead to the view", () => {
  const { here, sent, update } = drawn(materials);
  const places = here.querySelectorAll(".found-place");
  assert.deepEqual(texts(here, ".found-number"), ["1", "2", "3"]);
  assert.deepEqual(texts(here, ".found-decides"), ["reflectance (FORS): smalt, cobalt blue", "Raman: cobalt blue, red or yellow earth", "electron microscopy (SEM-EDX)"]);
  assert.deepEqual(here.querySelectorAll(".found-aim").map((one) => one.getAttribute("open")), ["", null, null], "the first lies open");
  places[1].click();
  assert.deepEqual(sent, [{ type: "show_place", answer: "m1", index: 1 }]);
  update(reduce(START, { type: "place", place: { answer: "m1", index: 1 } }));
  assert.deepEqual(places.map((place) => place.getAttribute("aria-current")), ["false", "true", "false"]);
  update({ place: { answer: "another", index: 1 } });
  assert.deepEqual(places.map((place) => place.getAttribute("aria-current")), ["false", "false", "false"]);
});

test("places that would decide the same stand together under one line, numbered on", () => {
  const place = (technique, between, at) => ({ at: [at, at], place_text: "", technique, between, reason: "" });
  const many = ["a", "b", "c", "d", "e", "f"];
  const groups = placesByAim([place("Raman", many, 1), place("Raman", many, 2), place("Raman", ["a"], 3)]);
  assert.deepEqual(groups.map(({ text, places }) => [text, places.map(({ index }) => index)]), [["Raman: a, b, c and 3 more", [0, 1]], ["Raman: a", [2]]]);
  assert.equal(decidesText(place("Raman", many.slice(0, 4), 1)), "Raman: a, b, c, d", "one more would be no shorter");
});

test("materials that are all not told from each other stand together once, and only those", () => {
  const of = (name, alike, verdict = "consistent with") => ({ name, alike, verdict, verdict_text: verdict, reasons: [], settle_by: [], hazard: "" });
  const all = [of("a", ["b", "c"]), of("x", []), of("b", ["a", "c"]), of("c", ["a", "b"]), of("d", ["a"]), of("e", ["a", "b", "c"]), of("f", ["g"]), of("g", ["f"], "not distinguishable from ...")];
  assert.deepEqual(groupsAlike(all).map((group) => group.map(({ name }) => name).join("")), ["abc", "x", "d", "e", "f", "g"], "d is like a, but b is not like d; f and g have not one verdict");
  const { here } = drawn({ ...materials, id: "m9", materials: { ...materials.materials, materials: all } });
  const [group] = here.querySelectorAll(".found-list")[0].children;
  assert.deepEqual([texts(group, ".found-verdict"), texts(group, ".found-name")], [["consistent with, not distinguishable from each other"], ["a, b, c", "a", "b", "c"]], "said once for all of them");
});

test("a part with nothing in it is not there, and an answer of numbers has none of this", () => {
  const { here, update } = drawn(nothing);
  assert.deepEqual([here.hidden, here.textContent], [true, ""]);
  update({}, materials);
  assert.deepEqual(texts(here, "h3"), ["Elements", "What it could be", "What explains everything seen", "Unexplained", "What goes with what", "What would settle it", "Where to measure next"]);
  update({}, answer("r1"));
  assert.deepEqual([here.hidden, here.textContent], [true, ""]);
});

test("markup in names, results and texts stands there as text", () => {
  const { here } = drawn(hostile);
  assert.equal(here.querySelectorAll("img").length + here.querySelectorAll("b").length, 0);
  assert.ok(here.textContent.split(HOSTILE).length > 15, "and nothing of it is lost");
  assert.deepEqual(texts(here, ".found-place").length, 1);
  assert.deepEqual(texts(fold(here, "2 more"), ".found-name"), ["candidate 10", "candidate 11"], "twelve that are told apart: ten in sight");
  assert.match(texts(here, ".found-lines").join(), /Xx/, "an unexplained element without words is named");
});

test("lists are lists and headings are headings, also where the marks are styled away", () => {
  for (const one of [materials, dates, covered, hostile]) {
    const { here } = drawn(one);
    for (const list of [...here.querySelectorAll("ul"), ...here.querySelectorAll("ol")]) {
      assert.equal(list.getAttribute("role"), "list");
      assert.ok(list.children.length > 0 && list.children.every(({ tag }) => tag === "li"));
    }
    for (const section of here.querySelectorAll("section")) assert.equal(section.firstElementChild.tag, "h3");
    assert.equal(here.querySelectorAll("table").length, 0);
  }
});

test("of dates what does not fit stands in sight, its explanations in the core's order", () => {
  const { open, folds } = sortedDates(dates.dates.rows);
  assert.deepEqual([open.map(({ name }) => name), folds.map(({ text }) => text)], [["titanium white", "barium"], ["4 fit, which supports no date within the span"]]);
  const many = (verdict, count) => Array.from({ length: count }, () => ({ verdict }));
  const long = sortedDates([...many("does not fit", 9), ...many("cannot be judged", 3)]);
  assert.deepEqual([long.open.length, long.folds.map(({ text }) => text)], [9, ["3 more that cannot be judged"]], "nothing that does not fit is folded away");
  const { here } = drawn(dates);
  const entry = here.querySelectorAll(".found-dated")[0];
  assert.deepEqual(texts(entry.querySelectorAll("ol")[0], "li"), dates.dates.rows[0].explanations);
  assert.match(entry.textContent, /in use since 1916 \(published\)/);
  assert.match(fold(entry, "Where the years stand").textContent, /M\. Laver/);
  assert.deepEqual(texts(fold(here, "4 fit"), ".found-verdict"), []);
  assert.match(here.querySelectorAll(".found-dated")[1].textContent, /^barium cannot be judged: as filler, ground or pigment/);
  assert.deepEqual(sortedDates([{ verdict: "fits, which supports no date within the span" }]).folds.map(({ text }) => text), ["1 fits, which supports no date within the span"]);
  assert.equal(sortedDates([{ verdict: "a word of a later version" }]).open.length, 1);
});

test("cover says the pairs with their figures, the layer, the others that would do the same, and how deep each line is seen", () => {
  const { here } = drawn(covered);
  const pair = here.querySelectorAll(".found-dated")[0];
  assert.deepEqual([texts(pair, ".found-name"), texts(pair, "dt"), texts(pair, "dd")], [["Hg L / Hg M"], ["in the region", "bare", "change"], ["9.2 (8.9 – 9.5)", "6.1 (5.9 – 6.3)", "1.51 (1.33 – 1.7)"]]);
  assert.equal(pair.textContent.split("weakened beyond").length, 2, "what follows is said once");
  const silent = fold(here, "1 pair that says nothing here");
  assert.match(silent.textContent, /Pb L is not detected here/);
  assert.deepEqual(texts(silent, "dd"), [], "and has no figures");
  assert.match(here.textContent, /natural resin varnish: C₃₀H₄₆O₃/);
  assert.equal(texts(fold(here, "2 more"), "li").length, 2);
  assert.match(here.textContent, /upper 0\.4 µm/);
  const { here: bare } = drawn({ ...covered, table: null });
  assert.deepEqual([texts(bare, ".found-name")[0], texts(bare, "dd")], ["Hg L / Hg M", []], "without a table the pair still says what follows");
  const { here: without } = drawn({ ...covered, covered: { ...covered.covered, layer: null, others: [], pairs: [], depth: [] } });
  assert.equal(without.textContent, "");
});
