import assert from "node:assert/strict";
import { gzipSync } from "node:zlib";
import { test } from "node:test";
import { bytesFromBase64, unpacked } from "../../www/app/base64.js";
import { demoFiles } from "../../www/app/demo.js";
import { acceptChoice, acceptDrops, asInput } from "../../www/app/files.js";

const base64 = (bytes) => Buffer.from(bytes).toString("base64");
const packed = (text) => base64(gzipSync(text));
const bytesOf = async (file) => [...new Uint8Array(await file.arrayBuffer())];

test("a File stays itself, and named bytes become one", async () => {
  const file = new File([new Uint8Array([1, 2])], "a.tif");
  assert.deepEqual(asInput(file), { file, name: "a.tif", way: null });
  const made = asInput({ name: "tern_Fe-K.npy", bytes: new Uint8Array([9, 0, 255]) });
  assert.deepEqual([made.name, made.file.name, made.way], ["tern_Fe-K.npy", "tern_Fe-K.npy", null]);
  assert.deepEqual(await bytesOf(made.file), [9, 0, 255]);
});

test("a file of a folder carries the folder in its name, and a way that was chosen stays with it", () => {
  const file = new File([], "map.tif");
  Object.defineProperty(file, "webkitRelativePath", { value: "scan/Fe/map.tif" });
  assert.equal(asInput(file).name, "scan/Fe/map.tif");
  assert.equal(asInput({ file, name: "Fe/map.tif", way: "axes" }).way, "axes");
});

test("bytes that are part of a larger buffer are taken without the rest", async () => {
  const whole = new Uint8Array([1, 2, 3, 4, 5]);
  assert.deepEqual(await bytesOf(asInput({ name: "a", bytes: whole.subarray(1, 3) }).file), [2, 3]);
});

test("anything else is refused in one sentence", () => {
  for (const given of [null, undefined, "a.tif", {}, { name: "a.tif" }, { name: 3, bytes: new Uint8Array(1) }, { name: "a.tif", bytes: [1, 2] }]) {
    assert.throws(() => asInput(given), { code: "bad_call", message: "Give File objects, or {name, bytes} with bytes as a Uint8Array." });
  }
});

test("base64 gives back every byte value, in the browser's own way or ours", () => {
  const all = Uint8Array.from({ length: 256 }, (_, at) => at);
  const had = Object.getOwnPropertyDescriptor(Uint8Array, "fromBase64");
  try {
    delete Uint8Array.fromBase64;
    assert.deepEqual(bytesFromBase64(base64(all)), all);
    assert.equal(bytesFromBase64("").length, 0);
    Uint8Array.fromBase64 = (text) => new Uint8Array([text.length]);
    assert.deepEqual([...bytesFromBase64("AAAA")], [4], "the browser's own way is not used");
  } finally {
    delete Uint8Array.fromBase64;
    if (had) Object.defineProperty(Uint8Array, "fromBase64", had);
  }
});

test("the example is a list of named files", async () => {
  const list = [{ name: "tern_Fe-K.tif", base64: base64([73, 73, 42, 0]) }, { name: "photo.png", base64: base64([137]) }];
  const files = await demoFiles(`\n${packed(JSON.stringify(list))}\n`);
  assert.deepEqual(files.map(({ name }) => name), ["tern_Fe-K.tif", "photo.png"]);
  assert.deepEqual(await Promise.all(files.map(bytesOf)), [[73, 73, 42, 0], [137]]);
});

test("a page without an example has no files, and a damaged example throws", async () => {
  assert.deepEqual(await demoFiles(" \n"), []);
  await assert.rejects(() => demoFiles(packed("[{]")), SyntaxError);
  await assert.rejects(() => demoFiles(packed("[]").slice(0, 12)), TypeError);
});

test("what was packed comes back byte by byte", async () => {
  const all = Uint8Array.from({ length: 70_000 }, (_, at) => (at * at) % 251);
  assert.deepEqual(await unpacked(`\n${packed(all)}\n`), all);
});

/** Something to listen at, as the page's document is. */
class Drag extends Event {
  constructor(type, { types = ["Files"], files = [], items = [] } = {}) {
    super(type, { cancelable: true });
    this.dataTransfer = { types, files, items };
  }
}

function dropped() {
  const page = new EventTarget();
  const taken = [];
  const over = [];
  acceptDrops(page, (files, entries) => taken.push(entries.length > 0 ? entries : files), (is) => over.push(is));
  const drag = (type, parts) => {
    const event = new Drag(type, parts);
    page.dispatchEvent(event);
    return event.defaultPrevented;
  };
  return { drag, taken, over };
}

test("files dropped anywhere are taken, and the browser does not open them in place of the page", () => {
  const { drag, taken, over } = dropped();
  assert.equal(drag("dragenter"), true);
  assert.equal(drag("dragover"), true);
  assert.equal(drag("drop", { files: ["a", "b"] }), true);
  assert.deepEqual(taken, [["a", "b"]]);
  assert.deepEqual(over, [true, false]);
});

test("a drop with a folder in it gives its entries, taken before the drop is over", () => {
  const { drag, taken } = dropped();
  const entries = [{ isDirectory: true, name: "scan" }, { isDirectory: false, name: "a.tif" }];
  const items = entries.map((entry) => ({ kind: "file", webkitGetAsEntry: () => entry }));
  drag("drop", { files: ["scan", "a"], items });
  assert.deepEqual(taken, [entries]);
  drag("drop", { files: ["a"], items: items.slice(1) });
  assert.deepEqual(taken[1], ["a"], "without a folder the files are enough");
});

test("a drag is over only when it has left the last element it entered", () => {
  const { drag, over } = dropped();
  drag("dragenter");
  drag("dragenter");
  drag("dragleave");
  assert.equal(over.at(-1), true);
  drag("dragleave");
  assert.equal(over.at(-1), false);
});

test("a drag of text is none of ours", () => {
  const { drag, taken, over } = dropped();
  for (const type of ["dragenter", "dragover", "dragleave", "drop"]) assert.equal(drag(type, { types: ["text/plain"] }), false);
  assert.deepEqual([taken, over], [[], []]);
});

test("the same file can be chosen twice in a row, and choosing none does nothing", () => {
  const input = Object.assign(new EventTarget(), { files: ["a"], value: "C:\\a" });
  const taken = [];
  acceptChoice(input, (files) => taken.push(files));
  input.dispatchEvent(new Event("change"));
  assert.equal(input.value, "");
  input.files = [];
  input.dispatchEvent(new Event("change"));
  assert.deepEqual(taken, [["a"]]);
});
