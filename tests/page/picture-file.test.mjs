import assert from "node:assert/strict";
import { test } from "node:test";
import { download } from "../../www/app/download.js";
import { fileNameOf, pixelsAcross, sizeOf } from "../../www/app/picture-file.js";

test("a width is understood in millimetres or pixels, as people type it", () => {
  assert.deepEqual(sizeOf("mm", "120", 300), { width_mm: 120, dpi: 300 });
  assert.deepEqual(sizeOf("mm", " 84,5 mm ", 170), { width_mm: 84.5, dpi: 170 });
  assert.deepEqual(sizeOf("px", "1600 pixels", 300), { width_px: 1600 });
  assert.deepEqual(sizeOf("px", "1600.4", 300), { width_px: 1600 });
});

test("a width that is none, or makes a picture of no use, is refused with what to do", () => {
  for (const text of ["", "wide", "-3", "0", "12 inches"]) {
    assert.match(sizeOf("mm", text, 300), /^Give the width in millimetres/);
    assert.match(sizeOf("px", text, 300), /^Give the width in pixels/);
  }
  assert.match(sizeOf("mm", "2000", 300), /^That would be 23622 pixels wide; at most 16384 .* or lower the resolution\.$/);
  assert.match(sizeOf("px", "16385", 300), /Make it narrower\.$/);
  assert.match(sizeOf("mm", "4", 300), /too few/);
});

test("pixels across follow from the inch of 25.4 mm", () => {
  assert.equal(pixelsAcross({ width_mm: 25.4, dpi: 300 }), 300);
  assert.equal(pixelsAcross({ width_mm: 120, dpi: 170 }), 803);
  assert.equal(pixelsAcross({ width_px: 640 }), 640);
});

test("a file is named by its title, without what file systems refuse", () => {
  assert.equal(fileNameOf("Fe K + Pb L"), "Fe K + Pb L.png");
  assert.equal(fileNameOf("As Kβ, Pb Lα"), "As Kβ, Pb Lα.png");
  assert.equal(fileNameOf("a/b\\c:d*e?f\"g<h>i|j\u0000k\nl"), "a b c d e f g h i j k l.png");
  assert.equal(fileNameOf("../../etc/passwd"), "etc passwd.png");
  assert.equal(fileNameOf("  trailing. . "), "trailing.png");
  assert.equal(fileNameOf("con"), "con picture.png");
  for (const title of ["", "...", "///"]) assert.equal(fileNameOf(title), "picture.png");
  assert.equal(fileNameOf("x".repeat(300)).length, 104);
});

test("a file is handed over under its name from the page's own memory, and its address is taken back", (t) => {
  t.mock.timers.enable({ apis: ["setTimeout"] });
  const made = [];
  const revoke = t.mock.method(URL, "revokeObjectURL");
  globalThis.document = { createElement: (tag) => (made.push({ tag, clicks: 0, click() { this.clicks += 1; } }), made.at(-1)) };
  try {
    download(new Blob(["x"]), "Fe K.png");
    assert.deepEqual([made[0].tag, made[0].download, made[0].clicks], ["a", "Fe K.png", 1]);
    assert.match(made[0].href, /^blob:/);
    assert.equal(revoke.mock.callCount(), 0, "the browser has not asked for it yet");
    t.mock.timers.tick(60000);
    assert.deepEqual(revoke.mock.calls.map((call) => call.arguments[0]), [made[0].href]);
    assert.throws(() => download("https://example.invalid", "x.png"), /only a file of the page's own/);
    assert.equal(made.length, 1);
  } finally {
    delete globalThis.document;
  }
});
