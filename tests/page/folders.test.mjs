import assert from "node:assert/strict";
import { test } from "node:test";
import { MOST_FILES, isHidden, ofFolder, takeDropped, walked } from "../../www/app/folders.js";

/** Entries as a browser gives them: a reader hands out a hundred at a time and then none. Names map to `null` for a file, to a further
 * folder, or to an error. */
function entry(name, inside, path = "") {
  const fullPath = `${path}/${name}`;
  if (inside === null) return { isDirectory: false, name, fullPath, file: (ok) => ok(new File(["x"], name)) };
  if (inside instanceof Error) return { isDirectory: false, name, fullPath, file: (_, fail) => fail(inside) };
  return { isDirectory: true, name, fullPath, createReader() {
    const all = Object.entries(inside).map(([child, what]) => entry(child, what, fullPath));
    return { readEntries: (ok) => ok(all.splice(0, 100)) };
  } };
}
const walk = (entries, signal = new AbortController().signal, tell = () => {}) => walked(entries, tell, signal);
const names = ({ files }) => files.map(({ name }) => name);

test("folders are walked to the last file, whose name carries its folders, in the order in which people count", async () => {
  const found = await walk([entry("Scan 7", { Fe: { "map.tif": null }, "map10.tif": null, "map2.tif": null, deep: { deeper: { "x.npy": null } } }), entry("photo.png", null)]);
  assert.deepEqual(names(found), ["photo.png", "Scan 7/deep/deeper/x.npy", "Scan 7/Fe/map.tif", "Scan 7/map2.tif", "Scan 7/map10.tif"]);
  assert.deepEqual(found.troubles, []);
  assert.ok(found.files.every(({ file, way }) => file instanceof File && way === null));
});

test("a reader is asked until it gives none: a folder of 250 files has 250", async () => {
  const many = Object.fromEntries(Array.from({ length: 250 }, (_, at) => [`${at}.tif`, null]));
  assert.equal((await walk([entry("many", many)])).files.length, 250);
});

test("what is hidden is left out without a word, a text file is not", async () => {
  const found = await walk([entry("scan", { ".DS_Store": null, ".cache": { "a.tif": null }, __MACOSX: { "b.tif": null }, "names.txt": null, "Thumbs.db": null })]);
  assert.deepEqual(names(found), ["scan/names.txt", "scan/Thumbs.db"]);
  assert.equal(isHidden("a.b/c.tif"), false);
  assert.equal(isHidden("a/.b/c.tif"), true);
});

test("what cannot be read is told by its name, and the rest is still found", async () => {
  const found = await walk([entry("scan", { "gone.tif": new Error("gone"), "here.tif": null })]);
  assert.deepEqual(names(found), ["scan/here.tif"]);
  assert.equal(found.troubles[0].name, "scan/gone.tif");
  assert.match(found.troubles[0].message, /could not read/);
});

test("a walk can be stopped, tells how far it is, and ends at a limit with a sentence", async () => {
  const stop = new AbortController();
  const told = [];
  const found = await walk([entry("scan", { "a.tif": null, "b.tif": null, "c.tif": null })], stop.signal, (count) => {
    told.push(count);
    if (count === 2) stop.abort();
  });
  assert.equal(found.files.length, 2);
  assert.deepEqual(told, [0, 1, 2]);
  const disk = Object.fromEntries(Array.from({ length: MOST_FILES + 5 }, (_, at) => [`${at}.tif`, null]));
  const all = await walk([entry("disk", disk)]);
  assert.equal(all.files.length, MOST_FILES);
  assert.match(all.troubles[0].message, new RegExp(`more than ${MOST_FILES} files`));
});

test("a browser that knows no entries gives the files", () => {
  assert.deepEqual(takeDropped({ files: ["a"], items: [{ kind: "file" }, { kind: "string" }] }), { files: ["a"], entries: [] });
  assert.deepEqual(takeDropped(null), { files: [], entries: [] });
});

test("a chosen folder gives its files by their paths, in order, without what is hidden", () => {
  const file = (path) => Object.defineProperty(new File([], path.split("/").at(-1)), "webkitRelativePath", { value: path });
  assert.deepEqual(ofFolder([file("s/10.tif"), file("s/.x"), file("s/9.tif")]).map(({ name }) => name), ["s/9.tif", "s/10.tif"]);
});
