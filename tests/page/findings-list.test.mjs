import assert from "node:assert/strict";
import { test } from "node:test";
import { root, texts } from "./support/document.mjs";
import { START, reduce } from "../../www/app/state.js";
import { answer, opened } from "./support/shapes.mjs";
import { about, finding, whole } from "./support/findings.mjs";
import { HOSTILE } from "./support/found.mjs";

globalThis.IntersectionObserver = class { observe() {} unobserve() {} };
globalThis.devicePixelRatio = 1;
const { createFindings } = await import("../../www/app/components/findings/findings.js");
const { createAsKept } = await import("../../www/app/components/findings/as-kept.js");
const { createReproduced } = await import("../../www/app/components/findings/reproduced.js");

const many = (...changes) => changes.reduce(reduce, [{ type: "ready" }, opened(), { type: "about", about: about() }, { type: "column", column: "findings" }].reduce(reduce, START));
function list(...changes) {
  const told = [];
  const element = root();
  const findings = createFindings(element, (action) => told.push(action), { finding_picture: async () => null });
  const state = many(...changes);
  findings.update(state);
  return { element, told, state, update: (...more) => findings.update(more.reduce(reduce, state)) };
}
const seen = (element, selector) => element.querySelectorAll(selector).filter((one) => !one.hidden).map((one) => one.textContent);

test("an empty list says how something comes into it, and what can be handed over is there", () => {
  const { element } = list();
  assert.match(seen(element, ".findings-none")[0], /Keep as a finding.*Keep this view/);
  assert.ok(texts(element, ".hand-go").includes("Save the study"));
});

test("a finding reads number, title, verdict, sentence, note; of a view nothing is said twice", () => {
  const { element } = list({ type: "findings", findings: [finding(1, { note: "Look again." }), finding(2, { question: null, title: "Pb L, counts", sentence: "Pb L, counts", verdict: "", verdict_text: "" })] });
  assert.deepEqual([texts(element, ".finding-number"), texts(element, ".finding-title")], [["1", "2"], ["Finding number 1", "Pb L, counts"]]);
  assert.deepEqual([seen(element, ".finding-verdict"), seen(element, ".finding-sentence"), seen(element, ".finding-note")], [["one value"], ["One value."], ["Look again."]]);
  assert.deepEqual(seen(element, ".findings-none"), []);
});

test("only what has changed says so, and is asked again where that can be", () => {
  const { element, told } = list({ type: "findings", findings: [finding(1), finding(2, { changed: ["Ti K is not as it was."], can_renew: true }), finding(3, { changed: ["The file is not open."] })] });
  assert.deepEqual(seen(element, ".finding-changed").length, 2);
  const [, second, third] = element.querySelectorAll(".finding-renew");
  assert.deepEqual([second.hidden, third.hidden, second.textContent], [false, true, "Ask again with what is there now"]);
  second.click();
  assert.deepEqual(told.at(-1), { type: "renew_finding", id: "f2" });
});

test("words and keys of an item do what they say", () => {
  const { element, told } = list({ type: "findings", findings: [finding(1), finding(2)] });
  const acts = element.querySelectorAll(".finding-act");
  acts.filter((one) => !one.disabled).forEach((one) => one.click());
  const made = told.filter(({ type }) => type !== "want_share_size");
  assert.deepEqual(made.slice(0, 4), [{ type: "open_finding", id: "f1" }, { type: "edit_finding", id: "f1" }, { type: "move_finding", id: "f1", by: 1 }, { type: "remove_finding", id: "f1" }]);
  assert.deepEqual([acts[2].disabled, acts[3].disabled, acts[7].disabled, acts[8].disabled], [true, false, false, true], "up at the top, down at the bottom");
  element.querySelectorAll(".finding")[1].happens("keydown", { key: "ArrowUp", altKey: true });
  assert.deepEqual(told.at(-1), { type: "move_finding", id: "f2", by: -1 });
  assert.deepEqual(acts[4].getAttribute("aria-label"), "Remove: finding 1");
});

test("editing stands in place of the words, with what is there now", () => {
  const { element, told } = list({ type: "findings", findings: [finding(1, { note: "n" })] }, { type: "editing", id: "f1" });
  const [form] = element.querySelectorAll(".finding-edit");
  assert.deepEqual([form.hidden, form.querySelector("input").value, form.querySelector("textarea").value, element.querySelector(".finding-acts").hidden], [false, "Finding number 1", "n", true]);
  form.querySelector("input").value = "Other";
  form.happens("submit");
  assert.deepEqual(told.at(-1), { type: "write_finding", id: "f1", title: "Other", note: "n" });
});

test("markup in titles, notes, sentences and names is text", () => {
  const { element } = list({ type: "findings", findings: [finding(1, { title: HOSTILE, note: HOSTILE, sentence: HOSTILE, verdict_text: HOSTILE, changed: [HOSTILE], trouble: HOSTILE })] });
  assert.deepEqual([texts(element, ".finding-title"), seen(element, ".finding-trouble"), texts(element, ".finding-changed-list")], [[HOSTILE], [HOSTILE], [HOSTILE]]);
  const kept = root();
  createAsKept(kept, () => {}).update(many({ type: "findings", findings: [finding(1, { title: HOSTILE, note: HOSTILE })] }, { type: "opened", whole: whole(1, { answer: answer("kept1"), finding: { title: HOSTILE } }) }));
  assert.deepEqual([texts(kept, ".as-kept-name"), texts(kept, ".as-kept-title"), texts(kept, ".finding-note")], [["Finding 1, as kept"], [HOSTILE], [HOSTILE]]);
});

test("computed again: how many are identical, and which numbers are not", () => {
  const element = root();
  const reproduced = [{ id: "f1", title: "One", same: true, text: "Identical.", differences: [] }, { id: "f2", title: HOSTILE, same: false, text: "Otherwise.", differences: [{ name: "k", kept: "0.145", now: "0.150" }] }];
  createReproduced(element, () => {}).update(many({ type: "findings", findings: [finding(1), finding(2)] }, { type: "reproduced", list: reproduced }));
  assert.deepEqual([texts(element, ".reproduced-said"), texts(element, "button"), texts(element, "dd")], [["1 of 2 identical."], ["1. One", `2. ${HOSTILE}`], ["0.145, now 0.150"]]);
});
