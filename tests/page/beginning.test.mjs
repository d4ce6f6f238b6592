// What a page begins with: its own study, the one of its link, or nothing.

import assert from "node:assert/strict";
import { test } from "node:test";
import { begin, beginningOf, isNewLink } from "../../www/app/beginning.js";
import { createCopyNote } from "../../www/app/components/copy-note.js";
import { root as element } from "./support/document.mjs";

const script = (text) => ({ textContent: text, remove() {} });
const page = (...blocks) => ({
  querySelector: () => script(blocks[0] ?? ""),
  querySelectorAll: () => blocks.slice(1).map(script),
});
const base64 = (text) => Buffer.from(text).toString("base64");

function parts(over = {}) {
  const told = { restored: [], read: [], getting: [] };
  return {
    told,
    parts: {
      page: page(), address: "file:///home/x/limner.html",
      restore: async (study) => void told.restored.push([study.name, await study.text()]),
      getting: (progress) => told.getting.push(progress),
      read: ({ notices }) => told.read.push(...notices),
      ...over,
    },
  };
}

test("a page without a study and without a link begins with nothing", async () => {
  assert.deepEqual(beginningOf(page(""), "#section"), { is_copy: false, path: null });
  const { told, parts: given } = parts();
  assert.equal(await begin({ is_copy: false, path: null }, given), false);
  assert.deepEqual(told, { restored: [], read: [], getting: [] });
});

test("a copy opens its own study, whatever its address says", async () => {
  const copy = page(base64("abc"), base64("def"));
  assert.deepEqual(beginningOf(copy, "#study=other.zip"), { is_copy: true, path: null });
  const { told, parts: given } = parts({ page: copy });
  assert.equal(await begin({ is_copy: true, path: null }, given), true);
  assert.deepEqual(told.restored, [["the study of this copy", "abcdef"]]);
  assert.deepEqual(told.read, []);
});

test("a link that the tab did not follow yet comes before what the tab had open", () => {
  const notes = new Map();
  const tab = { get: (name) => notes.get(name) ?? null, set: (name, text) => void notes.set(name, text), remove: (name) => void notes.delete(name) };
  const follows = (path) => isNewLink({ is_copy: false, path }, tab);
  assert.deepEqual([null, "a.zip", "a.zip", null, "b.zip", "a.zip"].map(follows), [false, true, false, false, true, true]);
});

test("what cannot be opened is told in one sentence, and the page stays", async () => {
  const damaged = parts({ page: page("*") });
  assert.equal(await begin({ is_copy: true, path: null }, damaged.parts), false);
  assert.deepEqual(damaged.told.read.map(({ code, severity }) => [code, severity]), [["copy_damaged", "error"]]);
  const refused = parts({ page: page(base64("abc")), restore: () => Promise.reject({ code: "damaged", message: "It ends too early.", detail: "" }) });
  assert.equal(await begin({ is_copy: true, path: null }, refused.parts), false);
  assert.deepEqual(refused.told.read[0].text, "It ends too early.");
  const from_disk = parts();
  assert.equal(await begin(beginningOf(page(""), "#study=a.zip"), from_disk.parts), false);
  assert.equal(from_disk.told.read[0].code, "link_needs_site");
  assert.deepEqual(from_disk.told.getting, [null]);
});

test("the line at the top says what was left out", () => {
  const root = element();
  root.append(document.createElement("h1"));
  const seen = () => root.children.filter(({ hidden }) => !hidden).map(({ textContent }) => textContent);
  const note = createCopyNote(root, true);
  assert.deepEqual(seen(), [""]);
  note.show([]);
  assert.deepEqual(seen(), ["", "A copy"]);
  note.show(["photo", "file names", "notes", "Left out because it is a view of a photo: finding f9."]);
  assert.deepEqual(seen(), ["", "A copy without photo, file names and notesLeft out because it is a view of a photo: finding f9."]);
  const own = createCopyNote(root, false);
  own.show([]);
  assert.equal(seen().length, 2, "a study of one's own is no copy");
});
