import assert from "node:assert/strict";
import { test } from "node:test";
import { readThrough } from "../../www/app/restoring.js";

/** A reader that wants parts in turn and remembers what it got. */
function readerOf(wishes) {
  const got = [];
  let at = 0;
  return {
    got,
    wants: () => (at < wishes.length ? { ...wishes[at], fraction: at / wishes.length, text: `part ${at}` } : null),
    give(bytes) {
      got.push([...bytes]);
      at += 1;
    },
  };
}

test("a reader gets exactly the parts that it asks for, in turn, and says how far it is", async () => {
  const file = new Blob([Uint8Array.from({ length: 20 }, (_, i) => i)]);
  const reader = readerOf([{ from: 15, to: 20 }, { from: 0, to: 2 }, { from: 7, to: 8 }]);
  const told = [];
  await readThrough(reader, file, (fraction, text) => told.push([fraction, text]));
  assert.deepEqual(reader.got, [[15, 16, 17, 18, 19], [0, 1], [7]]);
  assert.deepEqual(told.map(([, text]) => text), ["part 0", "part 1", "part 2"]);
});

test("what the reader throws ends the reading, and a file that cannot be read is a problem in words", async () => {
  const refused = { code: "damaged_study", message: "The study file is damaged.", detail: "" };
  const reader = { wants: () => ({ from: 0, to: 1, fraction: 0, text: "" }), give: () => { throw refused; } };
  await assert.rejects(readThrough(reader, new Blob(["abc"]), () => {}), (thrown) => thrown === refused);
  const lost = /** @type {any} */ ({ slice: () => ({ arrayBuffer: () => Promise.reject(new Error("NotReadableError")) }) });
  await assert.rejects(readThrough(readerOf([{ from: 0, to: 1 }]), lost, () => {}), { code: "file_unreadable" });
});

test("an empty wish list reads nothing", async () => {
  const untouched = /** @type {any} */ ({ slice: () => assert.fail("nothing was wanted") });
  await readThrough(readerOf([]), untouched, () => {});
});
