import assert from "node:assert/strict";
import { test } from "node:test";
import { History } from "../../www/app/history.js";

const EMPTY = { record: 6, inputs: [], maps: {}, regions: [] };
const region = (number, size = 20) => ({ number, name: `region ${number}`, mask: `${number}`.padEnd(size, "x") });
const with_regions = (count, size) => ({ ...EMPTY, regions: Array.from({ length: count }, (_, at) => region(at + 1, size)) });

/** Goes there as the client does: looks, then moves. */
function went(history, by) {
  const { record } = history.seen(by);
  history.move(by);
  return record;
}

function begun(most) {
  const history = new History(most);
  history.begin(EMPTY);
  return history;
}

test("a history of nothing has no steps", () => {
  const history = new History();
  assert.deepEqual(history.words, { undo: 0, redo: 0, undo_text: "", redo_text: "" });
  assert.equal(history.seen(-1), null);
  history.move(-1);
  assert.equal(history.seen(1), null);
});

test("300 steps are undone to the start and redone to the end, each record as it was", () => {
  const history = begun();
  const records = [EMPTY];
  for (let count = 1; count <= 300; count += 1) {
    records.push({ ...with_regions(count), grid: { step_x_um: count / 3 } });
    history.push(records[count], { text: `step ${count}` }, count);
  }
  assert.deepEqual([history.words.undo, history.words.redo, history.words.undo_text], [300, 0, "step 300"]);
  for (let count = 299; count >= 0; count -= 1) assert.deepEqual(went(history, -1), records[count]);
  assert.deepEqual(history.words, { undo: 0, redo: 300, undo_text: "", redo_text: "step 1" });
  for (let count = 1; count <= 300; count += 1) assert.deepEqual(went(history, 1), records[count]);
});

test("more than 400 steps: the oldest are given up", () => {
  const history = begun();
  for (let count = 1; count <= 450; count += 1) history.push({ ...EMPTY, grid: count }, { text: `${count}` }, 0);
  assert.equal(history.words.undo, 400);
  for (let count = 449; count >= 50; count -= 1) assert.equal(went(history, -1).grid, count);
  assert.equal(history.seen(-1), null);
});

test("what is equal is held once: a step costs what it changed", () => {
  const history = begun();
  history.push(with_regions(50, 10_000), { text: "" }, 0);
  const before = history.letters;
  for (let count = 1; count <= 200; count += 1) {
    const regions = with_regions(50, 10_000).regions.map((one) => (one.number === 7 ? { ...one, name: `sky ${count}` } : one));
    history.push({ ...EMPTY, regions }, { text: "" }, 0);
  }
  assert.ok(history.letters - before < 200 * 11_000, `${history.letters - before}`);
  assert.equal(went(history, -1).regions[6].name, "sky 199");
});

test("past the bound on letters the oldest steps are given up, and what nobody names is let go", () => {
  const history = begun({ letters: 100_000 });
  for (let count = 1; count <= 50; count += 1) history.push({ ...EMPTY, regions: [region(count, 10_000)] }, { text: "" }, 0);
  assert.ok(history.letters <= 100_000, `${history.letters}`);
  assert.ok(history.words.undo >= 7 && history.words.undo < 10, `${history.words.undo}`);
  history.push({ ...EMPTY, regions: [region(99, 300_000)] }, { text: "" }, 0);
  assert.equal(history.words.undo, 1, "the last step stays, however large");
  history.begin(EMPTY);
  assert.equal(history.letters, 0);
});

test("a new step after undo drops what could be redone", () => {
  const history = begun();
  for (const grid of [1, 2, 3]) history.push({ ...EMPTY, grid }, { text: `${grid}` }, 0);
  went(history, -1);
  went(history, -1);
  history.push({ ...EMPTY, grid: 9 }, { text: "9" }, 0);
  assert.deepEqual(history.words, { undo: 2, redo: 0, undo_text: "9", redo_text: "" });
  assert.equal(went(history, -1).grid, 1);
  assert.equal(went(history, 1).grid, 9);
});

test("a change that changed nothing is no step and leaves what could be redone", () => {
  const history = begun();
  for (const grid of [1, 2]) history.push({ ...EMPTY, grid }, { text: "" }, 0);
  went(history, -1);
  assert.equal(history.push({ ...EMPTY, grid: 1 }, { text: "" }, 0), false);
  assert.deepEqual([history.words.undo, history.words.redo], [1, 1]);
});

test("steps of one group are one; another one between them parts them", () => {
  const history = begun();
  const opening = { text: "opening files", key: "opening 1" };
  for (const count of [1, 2, 3]) history.push({ ...EMPTY, inputs: Array.from({ length: count }, (_, at) => at) }, opening, count * 60_000);
  assert.equal(history.words.undo, 1);
  history.push({ ...EMPTY, inputs: [0, 1, 2], grid: 1 }, { text: "the grid" }, 0);
  history.push({ ...EMPTY, inputs: [0, 1, 2, 3], grid: 1 }, opening, 0);
  assert.equal(history.words.undo, 3);
  went(history, -1);
  went(history, -1);
  assert.deepEqual(went(history, -1), EMPTY);
});

test("typing is one step within some seconds, and none if it comes back to what it was", () => {
  const history = begun();
  const typed = (note, now, key = "note f3") => history.push({ ...EMPTY, findings: [{ note }] }, { text: "a note", key, within_ms: 3000 }, now);
  typed("a", 0);
  typed("ab", 2000);
  typed("abc", 4000);
  assert.equal(history.words.undo, 1);
  typed("abcd", 8000);
  assert.equal(history.words.undo, 2);
  typed("abcd!", 8100, "note f4");
  assert.equal(history.words.undo, 3);
  typed("abcd", 8200, "note f4");
  assert.equal(history.words.undo, 2);
  assert.deepEqual(went(history, -1).findings, [{ note: "abc" }]);
});

test("what is undone is not added to by typing on", () => {
  const history = begun();
  const typed = (note, now) => history.push({ ...EMPTY, note }, { text: "a note", key: "note", within_ms: 3000 }, now);
  typed("a", 0);
  went(history, -1);
  typed("b", 100);
  assert.deepEqual([history.words.undo, went(history, -1)], [1, EMPTY]);
});

test("another study leaves one step back to the one before, or none", () => {
  const history = begun();
  for (const grid of [1, 2, 3]) history.push({ ...EMPTY, grid }, { text: "" }, 0);
  went(history, -1);
  history.replace(with_regions(2), "a study opened", true);
  assert.deepEqual(history.words, { undo: 1, redo: 0, undo_text: "a study opened", redo_text: "" });
  assert.deepEqual(history.seen(-1), { record: { ...EMPTY, grid: 2 }, is_whole: true });
  went(history, -1);
  assert.deepEqual(history.seen(1), { record: with_regions(2), is_whole: true });
  history.replace(with_regions(3), "a study opened", false);
  assert.deepEqual([history.words.undo, history.words.redo, history.record], [0, 0, with_regions(3)]);
});

test("it is kept and comes back as it was, and goes on from there", () => {
  const history = begun();
  for (let count = 1; count <= 20; count += 1) history.push({ ...with_regions(count), maps: { "ab/0": { kind: "net", count } } }, { text: `${count}`, key: "k", within_ms: -1 }, count);
  went(history, -1);
  const back = new History();
  back.restore(structuredClone(history.export()));
  assert.deepEqual(back.words, history.words);
  assert.deepEqual(back.seen(1), history.seen(1));
  assert.equal(back.letters, history.letters);
  back.push({ ...EMPTY, grid: 5 }, { text: "" }, 0);
  assert.equal(back.words.undo, 20);
  assert.deepEqual(went(back, -1), { ...with_regions(19), maps: { "ab/0": { kind: "net", count: 19 } } });
});

test("parts that are equal are one object, in all steps and when it is kept again", () => {
  const history = begun();
  for (let count = 1; count <= 3; count += 1) history.push(structuredClone({ ...with_regions(40), grid: count }), { text: "" }, 0);
  const [, first, second, third] = history.export().steps;
  assert.equal(first.record.regions, second.record.regions);
  const one_gone = structuredClone({ ...with_regions(40), grid: 3 });
  one_gone.regions.splice(4, 1);
  history.push(one_gone, { text: "" }, 0);
  const last = history.export().steps[4];
  assert.equal(last.record.regions[3], third.record.regions[3]);
  assert.equal(last.record.regions[20], third.record.regions[21], "after what was taken out too");
  assert.equal(history.export().steps[2].record, second.record);
});

test("a damaged history is refused, and what is there stays", () => {
  const kept = begun().export();
  const history = begun();
  history.push(with_regions(1), { text: "" }, 0);
  for (const damaged of [{ ...kept, position: 3 }, { ...kept, steps: [{ ...kept.steps[0], record: null }] }, { position: 0, steps: [{ record: {} }] }, { position: 0 }]) {
    assert.throws(() => history.restore(damaged));
  }
  assert.equal(history.words.undo, 1);
});

test("every hash of every step, undone ones too, and none that was given up", () => {
  const hash = (letter) => letter.repeat(64);
  const history = begun();
  history.push({ ...EMPTY, inputs: [{ sha256: hash("a"), name: "a.tif" }] }, { text: "" }, 0);
  history.push({ ...EMPTY, inputs: [{ sha256: hash("a") }], findings: [{ answer: hash("b"), picture: { png: hash("c") }, note: `${hash("d")} in a note` }] }, { text: "" }, 0);
  went(history, -1);
  assert.deepEqual([...history.hashes()].sort(), [hash("a"), hash("b"), hash("c")]);
  went(history, -1);
  history.push({ ...EMPTY, grid: 1 }, { text: "" }, 0);
  assert.deepEqual([...history.hashes()], []);
});

test("a group is told as a whole", () => {
  const history = begun();
  history.push({ ...EMPTY, inputs: [1] }, { text: "file “a” opened", key: "opening 1" }, 0);
  history.push({ ...EMPTY, inputs: [1, 2] }, { text: "file “b” opened", key: "opening 1" }, 0);
  assert.deepEqual(history.before, EMPTY);
  history.retell("2 files opened");
  assert.equal(history.words.undo_text, "2 files opened");
});

test("a text of prototypes in a record is a name like any other", () => {
  const history = begun();
  history.push(JSON.parse('{"record": 6, "maps": {"__proto__": {"kind": "net"}, "constructor": 1}}'), { text: "" }, 0);
  history.push(JSON.parse('{"record": 6, "maps": {"__proto__": {"kind": "fitted"}, "constructor": 1}}'), { text: "" }, 0);
  assert.equal(JSON.stringify(went(history, -1).maps), '{"__proto__":{"kind":"net"},"constructor":1}');
});
