// A link to a study beside the page: where it may lead, and what is said where it does not.

import assert from "node:assert/strict";
import { test } from "node:test";
import { LARGEST_LINKED, addressOf, pathOf, studyOfLink } from "../../www/app/study-link.js";

const PAGE = "https://museum.invalid/xrf/index.html?x=1#study=a.zip";

test("an address names a study behind its mark, or none", () => {
  assert.equal(pathOf("#study=studies/a%20b.zip"), "studies/a b.zip");
  assert.equal(pathOf("#other=1&study=a.zip"), "a.zip");
  for (const none of ["", "#", "#study=", "#study=%20", "#a.zip"]) assert.equal(pathOf(none), null);
});

test("a link leads to files of the page's own folder", () => {
  for (const [path, wanted] of [["a.zip", "https://museum.invalid/xrf/a.zip"], ["./deep/b c.zip", "https://museum.invalid/xrf/deep/b%20c.zip"], ["deep/../a.zip", "https://museum.invalid/xrf/a.zip"]]) {
    assert.equal(addressOf(path, PAGE).href, wanted);
  }
});

test("and nowhere else", () => {
  const elsewhere = [
    "https://other.invalid/a.zip", "http://museum.invalid/xrf/a.zip", "//other.invalid/a.zip", "\\\\other.invalid\\a.zip", "/\\other.invalid/a.zip", "https:a.zip", "HTTPS://museum.invalid/xrf/a.zip",
    "blob:https://museum.invalid/1", "data:application/zip;base64,UEs=", "javascript:alert(1)", "file:///etc/passwd",
    "../a.zip", "/a.zip", "deep/../../a.zip", "%2e%2e/a.zip", "deep/%2e%2e/%2E%2e/a.zip", "a%2f..%2f..%2fb.zip", "..\\a.zip", "deep/", ".", "index.html", "", "x".repeat(1025),
  ];
  for (const path of elsewhere) {
    assert.throws(() => addressOf(path, PAGE), ({ code, message }) => code === "link_elsewhere" && message.endsWith("own folder."), path);
  }
});

test("a page that was opened as a file connects to nothing", () => {
  for (const page of ["file:///home/x/limner.html", "blob:null/1"]) {
    assert.throws(() => addressOf("a.zip", page), ({ code, message }) => code === "link_needs_site" && message.includes("Add files"));
  }
});

const answer = (parts, { status = 200, headers = {} } = {}) => {
  const body = new ReadableStream({
    start(controller) {
      for (const part of parts) part === "broken" ? controller.error(new TypeError("network error")) : controller.enqueue(part);
      if (!parts.includes("broken")) controller.close();
    },
  });
  return new Response(body, { status, headers });
};

test("the file comes with its name, without anything of the reader, and says how far it is", async () => {
  const asked = [];
  const seen = [];
  const get = async (address, init) => (asked.push([address.href, init]), answer([new Uint8Array([1, 2]), new Uint8Array([3])], { headers: { "content-length": "3" } }));
  const file = await studyOfLink("a%20b.zip", PAGE, { get, on_progress: ({ fraction }) => seen.push(fraction) });
  assert.equal(file.name, "a b.zip");
  assert.deepEqual(new Uint8Array(await file.arrayBuffer()), new Uint8Array([1, 2, 3]));
  const [[href, { credentials, redirect, referrerPolicy }]] = asked;
  assert.deepEqual([href, credentials, redirect, referrerPolicy], ["https://museum.invalid/xrf/a%20b.zip", "omit", "error", "no-referrer"]);
  assert.deepEqual(seen, [2 / 3, 1]);
});

test("each failure is one sentence with its own code", async () => {
  const fails = async (get, code) => assert.rejects(studyOfLink("a.zip", PAGE, { get }), (thrown) => thrown.code === code && thrown.message.includes("“a.zip”") && thrown.message.endsWith("."), code);
  await fails(async () => answer([], { status: 404 }), "link_not_found");
  await fails(async () => answer([], { status: 500 }), "link_not_found");
  await fails(async () => { throw new TypeError("Failed to fetch"); }, "link_unreachable");
  await fails(async () => answer([new Uint8Array(2), "broken"]), "link_broke_off");
  await fails(async () => answer([new Uint8Array(2)], { headers: { "content-length": "5" } }), "link_broke_off");
  await fails(async () => answer([], { headers: { "content-length": String(LARGEST_LINKED + 1) } }), "link_too_large");
});

test("it can be stopped", async () => {
  const stop = new AbortController();
  const get = async () => answer([new Uint8Array(2), new Uint8Array(2)], {});
  await assert.rejects(
    studyOfLink("a.zip", PAGE, { signal: stop.signal, get: async () => { stop.abort(); throw new DOMException("", "AbortError"); } }),
    ({ code }) => code === "cancelled",
  );
  assert.equal((await studyOfLink("a.zip", PAGE, { get })).size, 4);
});
