import assert from "node:assert/strict";
import { test } from "node:test";
import { root, texts } from "./support/document.mjs";
import { createKeepingStrip, createKeptStudies } from "../../www/app/components/keeping.js";
import { START, reduce } from "../../www/app/state.js";
import { map, opened } from "./support/shapes.mjs";

const NOW = new Date(2026, 4, 3, 18).getTime();
const study = (id, title) => ({ id, title, maps: 3, photos: 0, findings: 0, updated: NOW, bytes: 1e6 });
const state = (stored, from = START) => ({ ...from, phase: "ready", stored: { ...START.stored, how: "on", ...stored } });
const button = (element, text) => element.querySelectorAll("button").find((one) => one.textContent === text);

function list() {
  const sent = [];
  const parent = root();
  const { update } = createKeptStudies(parent, (action) => sent.push(action), () => NOW);
  return { sent, parent, update, kept: parent.children[0] };
}

test("kept studies are listed on the empty page alone, the title as text", () => {
  const { kept, update } = list();
  const title = "<img src=x onerror=1>";
  update(state({ studies: [study("a", title), study("b", "")] }));
  assert.deepEqual([kept.hidden, texts(kept, ".kept-title"), texts(kept, ".kept-text")[0]], [false, [title, "3 maps"], "3 maps · today 18:00 · 1.0 MB"]);
  update(state({ studies: [study("a", title)] }, reduce(START, opened({ maps: [map("m1", "Fe K")] }))));
  assert.equal(kept.hidden, true);
  update(state({}));
  assert.equal(kept.hidden, true, "nothing is kept, and nothing is to be said");
});

test("forgetting takes two presses, and the first can be taken back", () => {
  const { sent, kept, update } = list();
  update(state({ studies: [study("a", "One"), study("b", "Two")] }));
  button(kept, "Forget").click();
  assert.deepEqual(sent, []);
  button(kept, "Leave it").click();
  assert.equal(button(kept, "Forget for good"), undefined);
  button(kept, "Forget").click();
  button(kept, "Forget for good").click();
  button(kept, "Forget all").click();
  button(kept, "Forget for good").click();
  button(kept, "Go on").click();
  assert.deepEqual(sent, [{ type: "forget_kept", id: "a" }, { type: "forget_kept" }, { type: "go_on", id: "a" }]);
});

test("many are folded; while one is opened again nothing else is", () => {
  const { kept, update } = list();
  const studies = Array.from({ length: 7 }, (_, index) => study(`s${index}`, `Study ${index}`));
  update(state({ studies, unreadable: ["x", "y"], going_on: "s1" }));
  assert.equal(texts(kept, ".kept-title").length, 4);
  assert.ok(kept.querySelectorAll("button").filter(({ textContent }) => textContent === "Go on").every(({ disabled }) => disabled));
  assert.deepEqual(texts(kept, ".kept-text")[1], "Opening it again…");
  assert.deepEqual(texts(kept, ".kept-broken"), ["2 more studies were kept and cannot be read."]);
  button(kept, "Show all 7").click();
  assert.equal(texts(kept, ".kept-title").length, 7);
});

test("from disk one sentence says why nothing is kept, with the one button that changes it", () => {
  const { sent, kept, update } = list();
  update(state({ how: "asks", where: "disk" }));
  assert.match(texts(kept, ".kept-place")[0], /^A page opened from disk keeps nothing unless you say so/);
  button(kept, "Keep my work in this browser").click();
  assert.deepEqual(sent, [{ type: "keep_here" }]);
});

test("the line below the top bar is there where something is wrong; forgetting takes two presses there too", () => {
  const sent = [];
  const line = root();
  const { update } = createKeepingStrip(line, (action) => sent.push(action));
  const open = reduce(START, opened({ maps: [map("m1", "Fe K")] }));
  const told = { status: "kept", at: NOW, why: null, detail: "", files: 0, left_out: [] };
  update(state({ told }, open));
  assert.equal(line.hidden, true);
  update(state({ told: { ...told, status: "failed", why: "no room" } }, open));
  assert.deepEqual([line.hidden, texts(line, ".keeping-text")], [false, ["The browser has no room left: what was changed since 18:00 is not kept. Save the study file to be sure of it."]]);
  update(state({ told, is_open: true }, open));
  button(line, "Forget this study here").click();
  button(line, "Forget for good").happens("blur");
  assert.deepEqual(sent, []);
  button(line, "Forget this study here").click();
  button(line, "Forget for good").click();
  button(line, "Put away").click();
  assert.deepEqual(sent, [{ type: "stop_keeping" }, { type: "open_keeping", open: false }]);
});
