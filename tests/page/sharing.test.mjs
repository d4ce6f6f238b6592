// The page that writes itself: blocks, marks, sizes, and what can be left out.

import assert from "node:assert/strict";
import { readFile } from "node:fs/promises";
import { test } from "node:test";
import { base64FromBytes, bytesFromBase64 } from "../../www/app/base64.js";
import { megabytes, pageWith, sizeOfPage } from "../../www/app/copying.js";
import { LEFT, Sharing, leaveOut } from "../../www/app/sharing.js";
import { BLOCK_BYTES, LARGEST_STUDY, blocksOf, elementsOf, sizeInPage, studyOf } from "../../www/app/study-blocks.js";

const bytes = (length) => Uint8Array.from({ length }, (_, i) => (i * 7919 + (i >> 8)) & 255);
const template = await readFile(new URL("../../www/index.html", import.meta.url), "utf8");
const shell = Buffer.from(template.replace("{{CSP}}", "connect-src 'none'")).toString("base64");
const TEXTS = { CSS: "a{}\n", WORKER: "w; // {{STUDY}} é\n", WASM: "H4sI", SHELL: shell, MAIN: "m('{{CSS}}');\n" };

/** The elements of a page as a browser would find them. */
function parsed(page) {
  const scripts = [...page.matchAll(/<script type="text\/plain" (?:id|class)="(study-base64|study-block)">([^<]*)<\/script>/g)].map(([, name, text]) => {
    const element = { name, textContent: text, gone: false, remove: () => (element.gone = true) };
    return element;
  });
  return {
    scripts,
    querySelector: (selector) => scripts.find(({ name }) => selector === `#${name}`) ?? null,
    querySelectorAll: (selector) => scripts.filter(({ name }) => selector === `.${name}`),
  };
}
const buffer = async (blob) => Buffer.from(await blob.arrayBuffer());

test("bytes become base64 as elsewhere, of any length", () => {
  for (const length of [0, 1, 2, 3, 4, 0x6000 - 1, 0x6000, 0x6000 + 1, 100000]) {
    const some = bytes(length);
    // Buffer's is Node's own, after RFC 4648
    assert.equal(base64FromBytes(some), Buffer.from(some).toString("base64"));
    assert.deepEqual(bytesFromBase64(base64FromBytes(some)), some);
  }
});

test("a page with a study gives back its bytes, and its size was known before", async () => {
  for (const length of [0, 1, 5, BLOCK_BYTES - 1, BLOCK_BYTES, BLOCK_BYTES + 1, 2 * BLOCK_BYTES + 2]) {
    const study = new Blob([bytes(length)]);
    const page = await pageWith(TEXTS, study);
    assert.equal(page.size, sizeOfPage(TEXTS, length), `${length}`);
    const text = await page.text();
    const found = parsed(text);
    const elements = elementsOf(found);
    assert.equal(elements.length, Math.ceil(length / BLOCK_BYTES));
    assert.ok(elements.every(({ textContent }) => textContent.length <= 4 * 1024 * 1024));
    const back = await studyOf(elements);
    assert.ok((await buffer(back)).equals(Buffer.from(bytes(length))), `${length} bytes came back otherwise`);
    // all but the first, which tells that it is a copy, are let go
    assert.deepEqual(found.scripts.map(({ gone }) => gone), found.scripts.map((_, place) => place > 0));
  }
});

test("marks are filled once, in their places, and nothing else of the shell changes", async () => {
  const page = await (await pageWith(TEXTS, new Blob([bytes(10)]))).text();
  const values = { CSP: "connect-src 'none'", CSS: TEXTS.CSS, WORKER: TEXTS.WORKER, WASM: TEXTS.WASM, SHELL: shell, DEMO: "", STUDY: Buffer.from(bytes(10)).toString("base64"), MAIN: TEXTS.MAIN };
  const wanted = template.split(/\{\{([A-Z]+)\}\}/).map((text, place) => (place % 2 === 0 ? text : values[text])).join("");
  assert.equal(page, wanted);
  assert.match(page, /id="demo-base64"><\/script>/);
});

test("a copy of a copy is the same, byte for byte", async () => {
  const study = new Blob([bytes(BLOCK_BYTES + 77)]);
  const first = await pageWith(TEXTS, study);
  const text = await first.text();
  const between = (start, end) => text.split(start)[1].split(end)[0];
  const of_copy = {
    CSS: between("<style>", "</style>"),
    WORKER: between('id="worker-source">', "</script>"),
    WASM: between('id="wasm-base64">', "</script>"),
    SHELL: between('id="shell-base64">', "</script>"),
    MAIN: between("<script>", "</script>"),
  };
  const second = await pageWith(of_copy, await studyOf(elementsOf(parsed(text))));
  assert.ok((await buffer(first)).equals(await buffer(second)));
});

test("a page with other marks, a damaged study and one that is too large are said in a sentence", async () => {
  const odd = { ...TEXTS, SHELL: Buffer.from("{{OTHER}}").toString("base64") };
  await assert.rejects(pageWith(odd, new Blob([])), ({ code }) => code === "page_changed");
  await assert.rejects(studyOf([{ textContent: "AAAA*", remove() {} }]), ({ code, message }) => code === "copy_damaged" && message.endsWith("again."));
  const large = { size: LARGEST_STUDY + 1 };
  await assert.rejects(pageWith(TEXTS, large), ({ code, message }) => code === "study_too_large" && message.includes("350 MB"));
});

test("a part that the browser did not keep is found at once", async () => {
  const study = { size: 10, slice: () => ({ arrayBuffer: async () => bytes(10).buffer }) };
  const real = globalThis.Blob;
  globalThis.Blob = class extends real {
    slice() {
      return { arrayBuffer: async () => { throw new DOMException("could not be read", "NotReadableError"); } };
    }
  };
  try {
    await assert.rejects(blocksOf(study), ({ code, message }) => code === "no_room" && message.includes("no room"));
  } finally {
    globalThis.Blob = real;
  }
});

test("writing can be stopped and says how far it is", async () => {
  const seen = [];
  const study = new Blob([bytes(2 * BLOCK_BYTES + 1)]);
  await pageWith(TEXTS, study, { on_progress: ({ fraction }) => seen.push(fraction) });
  assert.equal(seen.length, 3);
  assert.ok(seen.every((fraction, place) => fraction >= (seen[place - 1] ?? 0) && fraction < 1));
  const stop = new AbortController();
  await assert.rejects(pageWith(TEXTS, study, { signal: stop.signal, on_progress: () => stop.abort() }), ({ code }) => code === "cancelled");
});

test("what shall be left out is understood or refused", () => {
  const none = { findings_only: false, photo: false, file_names: false, notes: false, coordinates: false, object: false };
  assert.deepEqual(leaveOut(), none);
  assert.deepEqual(leaveOut({ findings_only: true, leave_out: ["file names", "photo"] }), { ...none, findings_only: true, file_names: true, photo: true });
  assert.deepEqual(leaveOut({ leave_out: [...LEFT] }), { ...none, photo: true, file_names: true, notes: true, coordinates: true, object: true });
  for (const wrong of [{ leave_out: ["maps"] }, { leave_out: "photo" }, { findings_only: 1 }, { photo: true }]) {
    assert.throws(() => leaveOut(wrong), ({ code, message }) => code === "bad_setting" && message.endsWith("."));
  }
});

function sharing({ exact = true } = {}) {
  const calls = [];
  const made = new Sharing({
    save: async () => (calls.push("save"), new Blob([bytes(1000)])),
    reduce: async (study, what, { on_progress }) => {
      calls.push(what);
      assert.equal(study.size, 1000);
      on_progress({ fraction: 0.5, text: "Asking again" });
      return new Blob([bytes(100)]);
    },
    expect: async () => ({ bytes: 1000, exact, text: exact ? "" : "Two findings stay out." }),
    texts: () => TEXTS,
  });
  return { made, calls };
}

test("nothing is worked on where nothing is left out", async () => {
  const { made, calls } = sharing();
  const page = await made.share();
  assert.deepEqual(calls, ["save"]);
  assert.equal(page.size, sizeOfPage(TEXTS, 1000));
  assert.equal(page.type, "text/html");
  assert.deepEqual(await made.share_size(), { bytes: page.size, text: megabytes(page.size) });
});

test("what is left out is left out of the saved study, with one progress over all", async () => {
  const { made, calls } = sharing({ exact: false });
  const seen = [];
  const page = await made.share({ leave_out: ["notes"] }, { on_progress: ({ fraction }) => seen.push(fraction) });
  assert.equal(calls[1].notes, true);
  assert.equal(page.size, sizeOfPage(TEXTS, 100));
  assert.deepEqual(seen, [0.4, 0.8, 1]);
  assert.match((await made.share_size({ leave_out: ["notes"] })).text, /^About .* MB\. Two findings stay out\.$/);
});

test("sizes are said in megabytes", () => {
  assert.deepEqual([1, 940_000, 9_940_000, 10_600_000, 350_000_000].map(megabytes), ["0.1 MB", "0.9 MB", "9.9 MB", "11 MB", "350 MB"]);
  assert.equal(sizeInPage(0), 0);
});
