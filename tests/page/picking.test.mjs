import assert from "node:assert/strict";
import { test } from "node:test";
import { begunPicking, colourSettings, laidPhotos, markAfter, picked, pickingOf, speckOf, takenBack, unpicked } from "../../www/app/picking.js";
import { problem } from "../../www/app/protocol.js";
import { RegionControl } from "../../www/app/region-control.js";
import { START, reduce } from "../../www/app/state.js";
import { settled } from "./support/ports.mjs";
import { grid, opened, photo, region } from "./support/shapes.mjs";

const laid = (id) => ({ ...photo(id), name: id, alignment: { trouble: "" } });
const loose = (id) => ({ ...photo(id), name: id, alignment: null });
const begun = () => begunPicking([laid("p1")], null);

// ---- the state of it ----

test("only photos that lie on the maps are picked from, the one that is looked at first", () => {
  const photos = [loose("p1"), laid("p2"), laid("p3"), { ...laid("p4"), alignment: { trouble: "Add a point." } }];
  assert.deepEqual(laidPhotos(photos).map(({ id }) => id), ["p2", "p3"]);
  assert.equal(begunPicking(photos, "p3").photo, "p3");
  assert.equal(begunPicking(photos, "p1").photo, "p2");
  assert.equal(begunPicking([loose("p1")], "p1"), null);
  assert.equal(begunPicking([], null), null);
});

test("the first place is wanted, later ones are left out where that is said, or the other way with Alt", () => {
  const first = picked({ ...begun(), leaves_out: true }, [3.14159, 2]);
  assert.deepEqual([first.at, first.except], [[[3.14, 2]], []]);
  const second = picked(first, [5, 6]);
  assert.deepEqual([second.at.length, second.except], [1, [[5, 6]]]);
  const third = picked(second, [7, 8], true);
  assert.deepEqual([third.at, third.except.length], [[[3.14, 2], [7, 8]], 1]);
  assert.deepEqual(unpicked(third, "at", 0).at, [[7, 8]]);
  assert.deepEqual(takenBack(third).except, []);
  assert.deepEqual(takenBack({ ...third, leaves_out: false }).at, [[3.14, 2]]);
  // What is left out goes before the last colour that is wanted.
  const last = takenBack({ ...second, leaves_out: false });
  assert.deepEqual([last.at.length, last.except.length], [1, 0]);
  assert.deepEqual(takenBack(last).at, []);
});

test("nothing is handed in before a colour is picked, and a region that was made so is picked again as it is", () => {
  assert.equal(colourSettings(begun()), null);
  const picking = { ...picked(begun(), [1, 2]), alike: 9, connected: false, smallest_px: 4, rim: false };
  const { colour } = colourSettings(picking);
  assert.deepEqual(colour, { photo: "p1", at: [[1, 2]], except: [], alike: 9, connected: false, smallest_px: 4, rim: false });
  const again = pickingOf(region("r3", { how: "colour", colour: { ...colour, colours: ["#102030"], except_colours: [], rim_px: null, caution: "" } }));
  assert.deepEqual([again.edits, colourSettings(again).colour], ["r3", colour]);
  assert.equal(pickingOf(region("r1")), null);
  // Its photo is not laid now: there are no places to be shown.
  assert.equal(pickingOf(region("r3", { colour: { ...colour, at: [] } })), null);
});

test("the mark of the keyboard steps by pixels and stays on the grid", () => {
  const at = (mark, key, far = false) => markAfter(mark, key, far, [70.2, 50.9], grid());
  assert.deepEqual(at(null, "ArrowLeft"), [70.5, 50.5]);
  assert.deepEqual(at([70.5, 50.5], "ArrowLeft"), [69.5, 50.5]);
  assert.deepEqual(at([70.5, 50.5], "ArrowDown", true), [70.5, 60.5]);
  assert.deepEqual(at([148.5, 0.5], "ArrowRight", true), [149.5, 0.5]);
  assert.deepEqual(at([2.5, 0.5], "ArrowUp"), [2.5, 0.5]);
  assert.equal(at([2.5, 0.5], "Enter"), null);
});

test("specks are whole numbers of pixels", () => {
  assert.deepEqual(["", " 12 ", "0", "-1", "1.5", "a few", "99999"].map(speckOf), [0, 12, 0, null, null, null, null]);
});

// ---- the control ----

function desk(more = {}) {
  const told = [];
  let state = reduce(START, opened({ photos: [laid("p1")] }));
  const limner = {
    add_region: async (settings) => (told.push(["add", settings]), region("r1")),
    set_region: async (id, settings) => void told.push(["set", id, settings]),
    preview_region: async (settings) => (told.push(["preview", settings]), { ...region("", settings), mask: { width: 1, height: 1, data: new Uint8Array(1) } }),
    ...more,
  };
  const change = (next) => (state = reduce(state, next));
  const control = new RegionControl(limner, { state: () => state, change, tell: (thrown) => assert.fail(thrown), restated: () => {}, regions: async () => [] }, () => {});
  return { send: (action) => control.send(action), told, change, state: () => state };
}

test("what is picked is seen at once and becomes a region", async () => {
  const { send, told, state } = desk();
  send({ type: "pick_colours" });
  assert.deepEqual([state().picking.at, state().proposal], [[], null]);
  send({ type: "pick", picking: picked(state().picking, [3, 4]) });
  assert.equal(state().proposal.place, "colour");
  await settled();
  assert.deepEqual(state().proposal.preview.colour.at, [[3, 4]]);
  send({ type: "keep_proposal" });
  await settled();
  assert.deepEqual(told.map(([what]) => what), ["preview", "add"]);
  assert.deepEqual([state().picking, state().proposal, state().unnamed], [null, null, "r1"]);
});

test("a region made of colours is changed with the same strip and keeps its name", async () => {
  const { send, change, told, state } = desk();
  const colour = { photo: "p1", at: [[3, 4]], except: [], alike: 6, connected: true, smallest_px: 0, rim: true, colours: ["#aabbcc"], except_colours: [], rim_px: 1, caution: "" };
  change({ type: "regions", regions: [region("r1", { colour })] });
  send({ type: "edit_region", id: "r1" });
  assert.deepEqual([state().picking.edits, state().drawing, state().proposal.place], ["r1", null, "colour"]);
  send({ type: "pick", picking: { ...state().picking, alike: 9 } });
  await settled();
  send({ type: "keep_proposal" });
  await settled();
  const [what, id, settings] = told.at(-1);
  assert.deepEqual([what, id, settings.colour.alike], ["set", "r1", 9]);
  assert.deepEqual([state().picking, state().proposal], [null, null]);
});

test("without an aligned photo it says what to do, and a fault of the core is said in the strip", async () => {
  const { send, change, state } = desk({ preview_region: () => Promise.reject(problem("bad_setting", "A picked place is beside p1.")) });
  change(opened({ photos: [loose("p1")] }));
  send({ type: "pick_colours" });
  assert.equal(state().picking, null);
  assert.match(state().region_trouble.message, /Align a photo first/);
  change(opened({ photos: [laid("p1")] }));
  send({ type: "pick_colours" });
  send({ type: "pick", picking: picked(state().picking, [3, 4]) });
  await settled();
  assert.equal(state().proposal.message, "A picked place is beside p1.");
});

test("picking, drawing and proposing exclude each other, and giving up leaves nothing behind", async () => {
  const { send, change, state } = desk();
  const begin = () => {
    send({ type: "pick_colours" });
    send({ type: "pick", picking: picked(state().picking, [3, 4]) });
  };
  begin();
  send({ type: "draw_region", tool: "polygon" });
  assert.deepEqual([state().picking, state().proposal, state().drawing.tool], [null, null, "polygon"]);
  begin();
  assert.equal(state().drawing, null);
  send({ type: "propose_limits", map: "m1", limits: { low: 1, high: 2 }, upward: true });
  assert.deepEqual([state().picking, state().proposal.place], [null, "view"]);
  begin();
  change({ type: "drawing_line", setting: "line" });
  assert.deepEqual([state().picking, state().proposal], [null, null]);
  begin();
  send({ type: "pick", picking: unpicked(state().picking, "at", 0) });
  assert.deepEqual([state().picking.at, state().proposal], [[], null]);
  begin();
  send({ type: "pick", picking: null });
  assert.deepEqual([state().picking, state().proposal], [null, null]);
  await settled();
  assert.equal(state().proposal, null, "a preview that comes late is not shown");
});
