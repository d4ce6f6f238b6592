import assert from "node:assert/strict";
import { test } from "node:test";
import { root, texts } from "./support/document.mjs";
import { createSpectrum } from "../../www/app/components/plots/spectrum.js";
import { createRegionSpectra } from "../../www/app/components/region-spectra.js";
import { createSpectrumPanel } from "../../www/app/components/spectrum-panel.js";
import { problem } from "../../www/app/protocol.js";
import { SpectraControl } from "../../www/app/spectra-control.js";
import { energiesOf, labelRows, spectraOf, symbolsOf } from "../../www/app/spectra-state.js";
import { START, reduce } from "../../www/app/state.js";
import { HOSTILE } from "./support/found.mjs";
import { settled } from "./support/ports.mjs";
import { opened, region } from "./support/shapes.mjs";

globalThis.ResizeObserver = class {
  observe() {}
};
globalThis.matchMedia = () => ({ addEventListener() {} });

const spectrum = (id, more = {}) => ({ id, name: `${id}.txt`, region: "r1", how: "sum", channels: 1024, first_kev: 0, step_kev: 0.02, last_kev: 20.46, text: `${id}.txt: sum over Star, 1024 channels from 0 to 20.46 keV, 81 204 counts`, ...more });
const axis = (label) => ({ label, ticks: [{ at: 0, text: "0" }, { at: 1, text: "20" }] });
const mark = (label, at, more = {}) => ({ element: label.split(" ")[0], label, at, share: 1, row: 0, is_excited: true, text: `${label}, ${at} keV`, ...more });
const plot = (more = {}) => ({ kind: "spectrum", key: "s1", label: "s1.txt", note: "Sum over Star.", x: axis("energy, keV"), y: axis("counts, sum"), points: [[0, 0], [1, 1]], marks: [mark("Pb Lα", 0.5), mark("As Kα", 0.501)], ...more });
const file = { name: "star.txt", arrayBuffer: async () => new Uint8Array([49, 10, 50]).buffer };
const after = (...changes) => changes.reduce(reduce, { ...START, phase: "ready" });

function desk(more = {}) {
  const told = [];
  let state = after(opened(), { type: "regions", regions: [region("r1", { name: "Star" })] });
  const limner = {
    add_spectrum: async ({ bytes, ...settings }) => (told.push(["add", settings, [...bytes]]), spectrum("s1")),
    spectrum: async (id, view) => (told.push(["see", id, view.elements]), plot()),
    remove: async (id) => void told.push(["remove", id]),
    ...more,
  };
  const control = new SpectraControl(limner, { state: () => state, change: (change) => (state = reduce(state, change)), tell: (thrown) => assert.fail(thrown), spectra: async () => [spectrum("s1")] });
  return { control, send: (action) => control.send(action), told, limner, state: () => state, change: (change) => (state = reduce(state, change)) };
}

// ---- adding ----

test("a spectrum is added to its region and seen at once", async () => {
  const { send, told, state } = desk();
  send({ type: "spectrum_file", region: "r1", file });
  assert.deepEqual([state().spectrum_adding.how, state().spectrum_adding.asks], ["sum", false]);
  send({ type: "spectrum_how", how: "maximum pixel" });
  send({ type: "keep_spectrum", energies: null });
  await settled();
  assert.deepEqual(told, [["add", { name: "star.txt", how: "maximum pixel", region: "r1" }, [49, 10, 50]], ["see", "s1", []]]);
  assert.deepEqual([state().spectrum_adding, state().spectrum_shown.plot.key], [null, "s1"]);
});

test("energies are asked for only when the core asks, and are handed in then", async () => {
  const { send, told, state, limner } = desk();
  const add = limner.add_spectrum;
  limner.add_spectrum = () => Promise.reject(problem("no_calibration", "Give `first_kev` and `step_kev`."));
  send({ type: "spectrum_file", region: null, file });
  send({ type: "keep_spectrum", energies: null });
  await settled();
  assert.deepEqual([state().spectrum_adding.asks, state().spectrum_adding.message, state().spectrum_adding.busy], [true, "", false]);
  limner.add_spectrum = () => Promise.reject(problem("bad_setting", "No detector of X-rays has these energies."));
  send({ type: "keep_spectrum", energies: { first_kev: 900, step_kev: 1 } });
  await settled();
  assert.deepEqual([state().spectrum_adding.asks, state().spectrum_adding.message], [true, "No detector of X-rays has these energies."]);
  limner.add_spectrum = add;
  send({ type: "keep_spectrum", energies: { first_kev: 0, step_kev: 0.01 } });
  await settled();
  assert.deepEqual(told[0], ["add", { name: "star.txt", how: "sum", first_kev: 0, step_kev: 0.01 }, [49, 10, 50]]);
});

test("a file that is no spectrum says so in its place and is not added", async () => {
  const { send, state } = desk({ add_spectrum: () => Promise.reject(problem("bad_spectrum", "star.txt: it holds no numbers.")) });
  send({ type: "spectrum_file", region: "r1", file });
  send({ type: "keep_spectrum", energies: null });
  await settled();
  assert.deepEqual([state().spectrum_adding.message, state().spectrum_shown], ["star.txt: it holds no numbers.", null]);
  send({ type: "drop_spectrum" });
  assert.equal(state().spectrum_adding, null);
});

test("what was put away meanwhile does not come back", async () => {
  const { send, state } = desk({ add_spectrum: () => Promise.reject(problem("bad_spectrum", "No.")) });
  send({ type: "spectrum_file", region: "r1", file });
  send({ type: "keep_spectrum", energies: null });
  send({ type: "drop_spectrum" });
  await settled();
  assert.equal(state().spectrum_adding, null);
});

// ---- seeing ----

test("lines of typed elements are asked for; what is refused is said and the drawing stays", async () => {
  const { send, told, state, limner } = desk();
  send({ type: "show_spectrum", id: "s1" });
  send({ type: "mark_elements", text: "Pb, As;Fe" });
  await settled();
  assert.deepEqual(told.at(-1), ["see", "s1", ["Pb", "As", "Fe"]]);
  limner.spectrum = () => Promise.reject(problem("bad_setting", "“Xx” is no element."));
  send({ type: "mark_elements", text: "Xx" });
  await settled();
  assert.deepEqual([state().spectrum_shown.message, state().spectrum_shown.plot?.key], ["“Xx” is no element.", "s1"]);
  send({ type: "show_spectrum", id: null });
  await settled();
  assert.equal(state().spectrum_shown, null);
});

test("a spectrum that was removed is not seen any more", () => {
  const state = after({ type: "spectra", spectra: [spectrum("s1")] }, { type: "spectrum_shown", shown: { id: "s1", plot: plot(), message: "" } });
  assert.equal(reduce(state, { type: "spectra", spectra: [] }).spectrum_shown, null);
  assert.notEqual(reduce(state, { type: "spectra", spectra: [spectrum("s1")] }).spectrum_shown, null);
});

test("a spectrum whose region is gone stands with the whole field and is not lost", () => {
  const all = [spectrum("s1"), spectrum("s2", { region: null }), spectrum("s3", { region: "r9" })];
  assert.deepEqual(spectraOf(all, "r1", [{ id: "r1" }]).map(({ id }) => id), ["s1"]);
  assert.deepEqual(spectraOf(all, null, [{ id: "r1" }]).map(({ id }) => id), ["s2", "s3"]);
});

test("symbols are parted however they are typed; energies are numbers with point or comma", () => {
  assert.deepEqual([symbolsOf(""), symbolsOf(" Pb, As  Fe;Cu/Hg ")], [[], ["Pb", "As", "Fe", "Cu", "Hg"]]);
  assert.deepEqual(energiesOf("0", "0,01 keV"), { first_kev: 0, step_kev: 0.01 });
  for (const [first, step] of [["", "0.01"], ["0", ""], ["much", "0.01"]]) assert.match(energiesOf(first, step).message, /Give both energies/);
});

test("labels never cover each other and stay within the axis, however close the lines are", () => {
  const length = 300;
  for (const count of [1, 2, 7, 40]) {
    const labels = Array.from({ length: count }, (_, index) => ({ at: (index * 13 * (index % 3 === 0 ? 1 : 0.2)) % length, width: 20 + (index % 4) * 9, weight: (index * 7) % 10 }));
    const places = labelRows(labels, length);
    const placed = places.flatMap((one, index) => (one === null ? [] : [{ ...one, right: one.left + labels[index].width }]));
    assert.ok(placed.length >= Math.min(count, 4));
    for (const [index, a] of placed.entries()) {
      assert.ok(a.left >= 0 && a.right <= length && a.row < 4, JSON.stringify(a));
      for (const b of placed.slice(0, index)) assert.ok(a.row !== b.row || a.left >= b.right + 6 || b.left >= a.right + 6, JSON.stringify([a, b]));
    }
  }
  assert.deepEqual(labelRows([{ at: 50, width: 20, weight: 1 }, { at: 150, width: 20, weight: 1 }], 200).map(({ row }) => row), [0, 0], "where there is room one row is enough");
  const crowd = Array.from({ length: 6 }, (_, index) => ({ at: 100, width: 40, weight: index }));
  assert.deepEqual(labelRows(crowd, 200).map((one) => one?.row ?? null), [null, null, 3, 2, 1, 0], "the weakest have none");
});

// ---- on the page ----

/** The spectra of a region in the list. */
function listed(...changes) {
  const sent = [];
  const part = createRegionSpectra("r1", (action) => sent.push(action));
  let state = after(opened(), { type: "regions", regions: [region("r1", { name: "Star" })] }, ...changes);
  part.update(state, "Star");
  return { part, sent, change: (change) => part.update((state = reduce(state, change)), "Star") };
}
const press = (element, words) => element.querySelectorAll("button").find((one) => one.textContent === words).click();

test("spectra stand with their region, to be seen and removed", () => {
  const { part, sent } = listed({ type: "spectra", spectra: [spectrum("s1"), spectrum("s2", { region: null })] });
  assert.equal(texts(part.element, ".spectra-one").length, 1);
  press(part.element, "show");
  press(part.element, "remove");
  assert.deepEqual(sent, [{ type: "show_spectrum", id: "s1" }, { type: "remove_spectrum", id: "s1" }]);
});

test("the form asks how the pixels became one, and for energies only when they are asked for", () => {
  const { part, sent, change } = listed();
  const form = part.element.querySelector(".spectrum-form");
  assert.equal(form.hidden, true);
  change({ type: "spectrum_adding", adding: { region: "r1", file: { name: HOSTILE }, how: "sum", asks: false, busy: false, message: "" } });
  assert.deepEqual([form.hidden, texts(form, "strong"), texts(form, ".point-said")], [false, [HOSTILE], ["sum of all its pixels", "maximum pixel"]]);
  const energies = form.querySelectorAll(".spectrum-energies").map((one) => one.parentElement)[0];
  assert.equal(energies.hidden, true);
  form.happens("submit");
  assert.deepEqual(sent.at(-1), { type: "keep_spectrum", energies: null });
  change({ type: "spectrum_adding", adding: { region: "r1", file: { name: HOSTILE }, how: "sum", asks: true, busy: false, message: "" } });
  assert.equal(energies.hidden, false);
  const [first, step] = form.querySelectorAll("input");
  [first.value, step.value] = ["0", "wide"];
  form.happens("submit");
  assert.equal(sent.length, 1);
  assert.match(texts(form, ".region-trouble")[0], /Give both energies/);
  step.value = "0,01";
  form.happens("submit");
  assert.deepEqual(sent.at(-1), { type: "keep_spectrum", energies: { first_kev: 0, step_kev: 0.01 } });
});

test("a drawing names each line once for the eye and once in words, as text", () => {
  const odd = plot({ label: HOSTILE, note: HOSTILE, marks: [mark(HOSTILE, 0.5, { element: HOSTILE, text: HOSTILE }), mark("Hg Lα", 0.6, { is_excited: false, text: "Hg Lα, 9.99 keV, not excited at 9 kV" })] });
  const { element } = createSpectrum(odd);
  assert.deepEqual(texts(element, ".spectrum-label"), [HOSTILE, "Hg Lα"]);
  assert.deepEqual(texts(element, "li"), [HOSTILE, "Hg Lα, 9.99 keV, not excited at 9 kV"]);
  assert.equal(element.querySelectorAll(".spectrum-label-quiet").length, 1);
  assert.deepEqual(element.all().filter(({ tag }) => ["img", "b"].includes(tag)), []);
});

test("the panel keeps what is typed, says what was refused, and closes by Escape", () => {
  const sent = [];
  const here = root();
  const panel = createSpectrumPanel(here, (action) => sent.push(action), () => {});
  const shown = (message) => after(opened(), { type: "spectra", spectra: [spectrum("s1")] }, { type: "spectrum_elements", text: "Pb" }, { type: "spectrum_shown", shown: { id: "s1", plot: plot(), message } });
  panel.update(shown(""));
  const elements = here.querySelector(".spectrum-elements");
  assert.deepEqual([here.hidden, texts(here, ".spectrum-title"), elements.value, document.activeElement], [false, ["s1.txt"], "Pb", elements]);
  elements.value = "Xx";
  here.querySelector(".spectrum-marks").happens("submit");
  assert.deepEqual(sent, [{ type: "mark_elements", text: "Xx" }]);
  panel.update(shown("“Xx” is no element."));
  assert.deepEqual([elements.value, elements.getAttribute("aria-invalid"), texts(here, ".region-trouble")], ["Xx", "true", ["“Xx” is no element."]]);
  here.querySelector(".spectrum").happens("keydown", { key: "Escape" });
  assert.deepEqual(sent.at(-1), { type: "show_spectrum", id: null });
  panel.update(after(opened()));
  assert.equal(here.hidden, true);
});
