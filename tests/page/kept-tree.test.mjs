import assert from "node:assert/strict";
import { createHash } from "node:crypto";
import { test } from "node:test";
import { Damaged, KeptTree } from "../../www/app/kept-tree.js";
import { sha256OfBytes, sha256OfText } from "../../www/app/sha256.js";

test("SHA-256 is that of node's own library, at every length around the ends of blocks", () => {
  // Examples of FIPS 180-2, appendix B.
  assert.equal(sha256OfText("abc"), "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
  assert.equal(sha256OfText("abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq"), "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1");
  for (let length = 0; length < 200; length += 1) {
    const bytes = Uint8Array.from({ length }, (_, index) => (index * 37 + length) & 255);
    assert.equal(sha256OfBytes(bytes), createHash("sha256").update(bytes).digest("hex"), `${length} bytes`);
  }
  const long = "Ocker, gebrannt · 赭石\u{1f3a8}".repeat(9000);
  assert.equal(sha256OfText(long), createHash("sha256").update(long, "utf8").digest("hex"));
});

const mask = "1,0;".repeat(3000);
const region = (name) => ({ id: name, name, role: "passage", mask });
const record = (regions, more = {}) => ({ version: 6, inputs: [{ name: "Fe.tif", sha256: "0".repeat(64) }], regions, findings: [], ...more });

/** A disk that takes what is new. */
function disk() {
  const texts = new Map();
  return { texts, take: (tree, parts) => {
    const fresh = tree.unstored(parts);
    for (const [hash, text] of fresh) texts.set(hash, text);
    tree.stored(fresh.keys());
    return [...fresh.values()].reduce((sum, text) => sum + text.length, 0);
  } };
}

test("plain data comes back as it was, whatever is in it", () => {
  const odd = JSON.parse('{"__proto__": {"x": 1}, "r": "a", "v": 2, "o": [[1]], "a": [], "": null, "n": -1.5e-7, "long": ""}');
  odd.long = "\ud800 lone, \u{1f3a8}, <b>".repeat(100);
  odd.list = Array.from({ length: 300 }, (_, index) => ({ index, text: `${index}`.repeat(40) }));
  for (const value of [odd, [], {}, 0, null, "", "x".repeat(5000), [[["deep".repeat(300)]]], false]) {
    const tree = new KeptTree();
    const { texts, take } = disk();
    const part = tree.pack(value);
    take(tree, [part]);
    const [back] = new KeptTree().unpack([JSON.parse(JSON.stringify(part))], (hash) => texts.get(hash));
    assert.deepEqual(back, value);
    assert.equal(Object.getPrototypeOf(Object(back)), Object.getPrototypeOf(Object(value)));
  }
});

test("a change in one place writes little, also where the whole list came anew", () => {
  const tree = new KeptTree();
  const { texts, take } = disk();
  const regions = Array.from({ length: 40 }, (_, index) => region(`region ${index}`));
  const before = record(regions);
  const first = take(tree, [tree.pack(before)]);
  const renamed = structuredClone(record(regions.with(7, region("sky"))));
  const second = take(tree, [tree.pack(renamed)]);
  assert.ok(first > mask.length, `${first} characters at first`);
  assert.ok(second < 12000, `${second} characters for a new name, among ${JSON.stringify(renamed).length}`);
  // One mask is one text, however many regions have it.
  assert.equal([...texts.values()].filter((text) => text.includes("1,0;1,0;")).length, 1);
  assert.equal(take(tree, [tree.pack(renamed)]), 0, "nothing is written twice");
  // Also after it was read back, by another page.
  const other = new KeptTree();
  const [back] = other.unpack([tree.pack(renamed)], (hash) => texts.get(hash));
  assert.equal(take(other, [other.pack(back)]), 0);
  assert.equal(take(other, [other.pack(structuredClone(back))]), 0);
});

test("a long list writes little, whether it grows at its end or loses its first", () => {
  const tree = new KeptTree();
  const { texts, take } = disk();
  const step = (at) => ({ text: `Region ${at} renamed`, key: null, at: 1764554000000 + at * 977, parts: Array.from({ length: 25 }, (_, field) => [`field ${field}`, at * 3 + field]) });
  let steps = Array.from({ length: 400 }, (_, at) => step(at));
  const whole = take(tree, [tree.pack({ steps })]);
  const costs = [];
  for (let at = 400; at < 460; at += 1) {
    steps = [...steps.slice(1), step(at)];
    costs.push(take(tree, [tree.pack({ steps })]));
  }
  const mean = costs.reduce((sum, one) => sum + one) / costs.length;
  assert.ok(mean < whole / 8, `${mean} characters a step, ${whole} in all`);
  const [back] = new KeptTree().unpack([tree.pack({ steps })], (hash) => texts.get(hash));
  assert.deepEqual(back, { steps });
});

test("what is no longer needed is forgotten, and written again where it comes back", () => {
  const tree = new KeptTree();
  const { take } = disk();
  const [old, now] = [record([region("old"), region("kept".repeat(200))]), record([region("kept".repeat(200))])];
  const [was, is] = [tree.pack(old), tree.pack(now)];
  take(tree, [was, is]);
  const needed = tree.needed([is]);
  assert.ok(needed.size < tree.needed([was, is]).size);
  tree.retain(needed);
  assert.ok(take(tree, [tree.pack(old)]) > 0, "the same object again");
  assert.equal(take(tree, [tree.pack(now)]), 0);
});

test("what was changed on the disk is not believed", () => {
  const tree = new KeptTree();
  const { texts, take } = disk();
  const part = tree.pack(record([region("one"), region("two")]));
  take(tree, [part]);
  const read = (change, root = part) => {
    const other = new Map(texts);
    change(other);
    return () => new KeptTree().unpack([root], (hash) => other.get(hash));
  };
  read(() => {})();
  for (const hash of texts.keys()) {
    assert.throws(read((other) => other.delete(hash)), Damaged);
    assert.throws(read((other) => other.set(hash, texts.get(hash).replace("passage", "ground").replace("1,0", "1,1").replace("6", "5"))), Damaged);
    assert.throws(read((other) => other.set(hash, new Blob([]))), Damaged);
  }
  const made = (text) => {
    const hash = sha256OfText(text);
    return read((other) => other.set(hash, text), { r: hash });
  };
  for (const text of ["", "{", "null", "7", "{}", '{"o": 1}', '{"o": [1]}', '{"o": [[1, {"v": 1}]]}', '{"a": [1]}', '{"a": [{"r": 1}]}', '{"s": 1}', '{"c": [{"v": 1}]}', '{"c": 1}']) {
    assert.throws(made(text), Damaged, text);
  }
  assert.throws(read(() => {}, null), Damaged);
  assert.throws(read(() => {}, { r: "0" }), Damaged);
});

test("made-up texts take no memory and no depth", () => {
  const texts = new Map();
  const put = (text) => {
    const hash = sha256OfText(text);
    texts.set(hash, text);
    return hash;
  };
  let hash = put(JSON.stringify({ s: "laughter".repeat(100) }));
  for (let level = 0; level < 40; level += 1) hash = put(JSON.stringify({ a: Array.from({ length: 10 }, () => ({ r: hash })) }));
  assert.throws(() => new KeptTree().unpack([{ r: hash }], (one) => texts.get(one)), Damaged);
  hash = put(JSON.stringify({ s: "deep" }));
  for (let level = 0; level < 5000; level += 1) hash = put(JSON.stringify({ a: [{ r: hash }] }));
  assert.throws(() => new KeptTree().unpack([{ r: hash }], (one) => texts.get(one)), Damaged);
});
