import assert from "node:assert/strict";
import { test } from "node:test";
import { headOf, idOf, readStudy } from "../../www/app/kept-study.js";
import { KeptStore, Overtaken } from "../../www/app/kept-store.js";
import { Keeper } from "../../www/app/keeping.js";
import { fakeDatabase, fakeDisk } from "./support/database.mjs";
import { settled } from "./support/ports.mjs";
import { fakeClock } from "./support/workers.mjs";

const ID = "study1";
const hash = (letter) => letter.repeat(64);
const file = (name, size = 100) => ({ sha256: hash(name[0]), name, way: null, file: new File([new Uint8Array(size).fill(name.charCodeAt(0))], name) });

/** What the client hands over after so many changes: nothing in it is changed afterwards. */
function snapshots(count, inputs = [file("a.tif"), file("b.tif", 5000)]) {
  const list = [];
  let steps = [];
  let regions = [];
  let blobs = new Map();
  for (let at = 1; at <= count; at += 1) {
    regions = [...regions.slice(-8), { id: `r${at}`, name: `Region ${at}`, mask: `${at},`.repeat(400) }];
    const record = { version: 6, number: at, regions, about: { object: "Panel" } };
    steps = [...steps, { text: `change ${at}`, key: null, at, record }];
    if (at % 3 === 0) blobs = new Map([...blobs, [at.toString(16).padStart(64, "0"), new Uint8Array(700).fill(at)]]);
    list.push({ record, history: { position: at - 1, steps }, inputs, blobs });
  }
  return list;
}

async function opened(disk, parts = {}, how = {}) {
  const database = fakeDatabase(disk, how);
  const store = await KeptStore.open(database);
  const told = [];
  const clock = fakeClock();
  const keeper = new Keeper({ store, id: ID, told: (one) => told.push(one), now: () => 1000, later: clock.set_timer, never: clock.clear_timer, ...parts });
  return { database, store, keeper, told, clock };
}

/** A browser that is started again. */
async function read(disk) {
  disk.restart();
  const store = await KeptStore.open(fakeDatabase(disk));
  return { store, ...(await readStudy(store, ID)) };
}

function same(found, wanted) {
  assert.deepEqual(found.record, wanted.record);
  assert.deepEqual(found.history, wanted.history);
  assert.deepEqual([...found.blobs], [...wanted.blobs]);
}

test("a state comes back whole: record, history, answers and files", async () => {
  const disk = fakeDisk();
  const { keeper, told } = await opened(disk);
  const [one, two] = snapshots(2);
  keeper.describe({ title: "Panel", maps: 2, photos: 0, findings: 0 });
  keeper.changed(one);
  keeper.changed(two);
  await keeper.settled();
  assert.deepEqual([told.at(-1).status, told.at(-1).files, told.at(-1).at], ["kept", 0, 1000]);
  const { snapshot, head, missing, is_before } = await read(disk);
  same(snapshot, two);
  assert.deepEqual(snapshot.inputs.map(({ name, file }) => [name, file.name, file.size]), [["a.tif", "a.tif", 100], ["b.tif", "b.tif", 5000]]);
  assert.deepEqual([head.summary.title, head.bytes, missing, is_before], ["Panel", 5100, [], false]);
  assert.ok(disk.writes.every(({ durability }) => durability === "strict"));
});

test("a change is written at once, a burst as its last state, and files once", async () => {
  const disk = fakeDisk();
  const { keeper } = await opened(disk);
  const all = snapshots(40);
  for (const one of all) keeper.changed(one);
  await keeper.settled();
  const states = () => disk.writes.filter(({ names }) => names.includes("studies")).length;
  assert.ok(states() <= 3, `${states()} states for a burst of 40`);
  same((await read(disk)).snapshot, all.at(-1));
  assert.equal(disk.writes.filter(({ names }) => names.includes("inputs")).length, 2);
});

test("only what is new is written", async () => {
  const disk = fakeDisk();
  const { keeper } = await opened(disk);
  const all = snapshots(60);
  keeper.changed(all[58]);
  await keeper.settled();
  const before = new Set(disk.stores.get("parts").keys());
  keeper.changed(all[59]);
  await keeper.settled();
  const fresh = [...disk.stores.get("parts")].filter(([key]) => !before.has(key)).map(([, text]) => text.length).reduce((sum, one) => sum + one, 0);
  const whole = [...disk.stores.get("parts").values()].reduce((sum, { length }) => sum + length, 0);
  assert.ok(fresh < whole / 4, `${fresh} of ${whole} characters`);
});

test("the browser stops before any operation: what is there is the last whole state or the one before", async () => {
  const all = snapshots(6);
  /** Changes one by one, with what is no longer needed removed in between; gives how far each had been told as kept. */
  const work = async (disk) => {
    const { keeper, told, clock } = await opened(disk);
    let kept = 0;
    for (const [at, one] of all.entries()) {
      keeper.changed(one);
      await Promise.race([keeper.settled(), settled()]);
      if (told.at(-1)?.status === "kept") kept = at + 1;
      if (at % 2 === 1) await clock.pass(8000);
      await Promise.race([keeper.settled(), settled()]);
      if (disk.crashed) return { kept, begun: at + 1 };
    }
    return { kept, begun: all.length };
  };
  const whole = fakeDisk();
  const end = await work(whole);
  assert.equal(end.kept, all.length);
  const { operations } = whole;
  assert.ok(operations > 60, `${operations} operations`);
  const found = { last: 0, before: 0, none: 0 };
  for (let at = 1; at < operations; at += 1) {
    const disk = fakeDisk();
    disk.crash_at = at;
    const { kept, begun } = await work(disk);
    assert.equal(disk.crashed, true);
    const back = await read(disk).catch(({ code }) => code);
    if (back === "kept_gone") {
      assert.equal(kept, 0, `stopped before operation ${at}: a state that was kept is gone`);
      found.none += 1;
      continue;
    }
    const { number } = back.snapshot.record;
    assert.ok(number >= kept && number <= begun, `stopped before operation ${at}: state ${number} of ${kept} to ${begun}`);
    same(back.snapshot, all[number - 1]);
    assert.equal(back.is_before, false);
    assert.equal(back.snapshot.inputs.length + back.missing.length, 2, "a file that was not kept is named");
    if (kept === begun) assert.deepEqual(back.missing, []);
    found[number === begun ? "last" : "before"] += 1;
    // And it can be gone on with.
    const keeper = new Keeper({ store: back.store, id: ID }, back);
    keeper.changed({ ...all.at(-1), inputs: all[0].inputs });
    await keeper.settled();
    await keeper.stop();
    const again = await read(disk);
    same(again.snapshot, all.at(-1));
    assert.deepEqual(again.missing, []);
  }
  assert.ok(found.last > 0 && found.before > 0 && found.none > 0, JSON.stringify(found));
});

test("a state that was damaged on the disk gives way to the one before it", async () => {
  const disk = fakeDisk();
  const { keeper } = await opened(disk);
  const all = snapshots(3);
  for (const one of all) {
    keeper.changed(one);
    await keeper.settled();
  }
  const parts = disk.stores.get("parts");
  const before = new Map(parts);
  const last = [...parts].filter(([, text]) => text.includes("Region 3") || text.includes("3,3,3,"));
  assert.ok(last.length > 0);
  for (const [key] of last) parts.delete(key);
  const { snapshot, is_before } = await read(disk);
  same(snapshot, all[1]);
  assert.equal(is_before, true);
  for (const key of before.keys()) parts.set(key, "made up");
  await assert.rejects(read(disk), ({ code, message }) => code === "kept_damaged" && message.endsWith("."));
});

test("heads of any shape are read or told as unreadable, and none throws", async () => {
  const good = { id: ID, form: 1, generation: 3, updated: 1000, copy: "", bytes: 5, summary: { title: "T", maps: 1, photos: 0, findings: 0 }, now: {}, before: null };
  assert.equal(headOf(good).summary.title, "T");
  for (const wrong of [{ form: 2 }, { generation: -1 }, { generation: 1.5 }, { generation: "3" }, { updated: NaN }, { updated: 1e300 }, { copy: null }, { id: "" }, { id: 7 }, { id: "a/b" }, { id: "x".repeat(65) }]) {
    assert.equal(headOf({ ...good, ...wrong }), null, JSON.stringify(wrong));
  }
  for (const any of [null, undefined, 7, "text", [], {}]) assert.deepEqual([headOf(any), idOf(any)], [null, null]);
  const odd = headOf({ ...good, bytes: -1, summary: { title: "x".repeat(1e6), maps: "many", photos: 1e12, findings: null } });
  assert.deepEqual([odd.bytes, odd.summary.title.length, odd.summary.maps, odd.summary.photos, odd.summary.findings], [0, 200, 0, 0, 0]);
  assert.equal(headOf({ ...good, summary: null }).summary.title, "");
  // And whatever its parts are.
  for (const now of [null, 7, {}, { record: { v: 7 } }, { record: { v: {} }, history: { v: null }, inputs: { v: [7] }, blobs: { v: [] } },
    { record: { v: {} }, history: { v: null }, inputs: { v: [] }, blobs: { v: [hash("0")] } }, { record: { v: [] }, history: { v: 1 }, inputs: { v: [] }, blobs: { v: [] } }]) {
    const disk = fakeDisk();
    const { store } = await opened(disk);
    await store.write({ ...good, generation: 1, now }, new Map(), new Map());
    await assert.rejects(readStudy(store, ID), ({ code }) => code === "kept_damaged", JSON.stringify(now));
  }
});

test("what no state needs any more is removed in a quiet moment, and nothing else", async () => {
  const disk = fakeDisk();
  const { keeper, clock, store } = await opened(disk);
  const all = snapshots(30);
  for (const one of all.slice(0, 28)) {
    keeper.changed(one);
    await keeper.settled();
  }
  const before = disk.stores.get("parts").size;
  await clock.pass(8000);
  await keeper.settled();
  const after = disk.stores.get("parts").size;
  assert.ok(after < before, `${before} parts became ${after}`);
  same((await readStudy(store, ID)).snapshot, all[27]);
  // Files and answers that are gone from the study go with the state before the last.
  const fewer = { ...all[28], inputs: [all[28].inputs[0]], blobs: new Map() };
  keeper.changed(fewer);
  await keeper.settled();
  await clock.pass(8000);
  await keeper.settled();
  assert.equal(disk.stores.get("inputs").size, 2, "the state before still needs it");
  keeper.changed({ ...fewer, record: { ...fewer.record, number: 99 } });
  await keeper.settled();
  await clock.pass(8000);
  await keeper.settled();
  assert.deepEqual([disk.stores.get("inputs").size, disk.stores.get("blobs").size], [1, 0]);
  // And come back with it.
  keeper.changed(all[29]);
  await keeper.settled();
  same((await readStudy(store, ID)).snapshot, all[29]);
  assert.equal(disk.stores.get("inputs").size, 2);
});

test("many states are tidied up after, also where there is no quiet moment", async () => {
  const disk = fakeDisk();
  const { keeper, clock } = await opened(disk);
  const all = snapshots(140);
  let written = 0;
  for (const one of all) {
    const before = new Set(disk.stores?.get("parts")?.keys());
    keeper.changed(one);
    await keeper.settled();
    written += [...disk.stores.get("parts").keys()].filter((key) => !before.has(key)).length;
  }
  const busy = disk.stores.get("parts").size;
  await clock.pass(8000);
  await keeper.settled();
  const needed = disk.stores.get("parts").size;
  assert.ok(busy - needed < (written - needed) / 2, `${written} parts written, ${busy} there, ${needed} needed`);
  same((await read(disk)).snapshot, all.at(-1));
});

test("without room the state of before stays, it is said, and it is kept as soon as there is room", async () => {
  const disk = fakeDisk();
  const { keeper, told, clock } = await opened(disk);
  const all = snapshots(4);
  keeper.changed(all[0]);
  await keeper.settled();
  disk.quota = disk.used + 10;
  keeper.changed(all[1]);
  await keeper.settled();
  assert.deepEqual([told.at(-1).status, told.at(-1).why, told.at(-1).at], ["failed", "no room", 1000]);
  keeper.changed(all[2]);
  await keeper.settled();
  assert.equal(told.at(-1).status, "failed");
  same((await read(disk)).snapshot, all[0]);
  disk.quota = Infinity;
  await clock.pass(10_000);
  await keeper.settled();
  assert.equal(told.at(-1).status, "kept");
  same((await read(disk)).snapshot, all[2]);
});

test("a file without room is left out and named, and all else is kept", async () => {
  const disk = fakeDisk();
  const asked = [];
  let room = 1000;
  const { keeper, told, clock } = await opened(disk, { room: async (bytes) => (asked.push(bytes), bytes <= room) });
  const [one] = snapshots(1, [file("a.tif"), file("big.tif", 5000), file("c.tif")]);
  keeper.changed(one);
  await keeper.settled();
  assert.deepEqual([told.at(-1).status, told.at(-1).left_out], ["kept", [{ name: "big.tif", why: "no room" }]]);
  const { snapshot, missing } = await read(disk);
  assert.deepEqual([snapshot.inputs.map(({ name }) => name), missing], [["a.tif", "c.tif"], ["big.tif"]]);
  room = 1e9;
  await clock.pass(60_000);
  await keeper.settled();
  assert.deepEqual([told.at(-1).left_out, (await read(disk)).missing, asked], [[], [], [100, 5000, 100, 5000]]);
});

test("a file that is no longer where it was is named, and is not tried for ever", async () => {
  const disk = fakeDisk();
  let tries = 0;
  const { keeper, told, clock } = await opened(disk, {}, { meddle: ({ kind, name }) => (kind === "put" && name === "inputs" ? ((tries += 1), "NotReadableError") : null) });
  keeper.changed(snapshots(1, [file("a.tif")])[0]);
  await keeper.settled();
  assert.deepEqual([told.at(-1).status, told.at(-1).left_out], ["kept", [{ name: "a.tif", why: "unreadable" }]]);
  await clock.pass(200_000);
  assert.equal(tries, 1);
});

test("whatever a write fails with is said, and tried again", async () => {
  const disk = fakeDisk();
  let fails = true;
  const { keeper, told, clock } = await opened(disk, {}, { meddle: ({ kind, name }) => (fails && kind === "put" && name === "studies" ? "UnknownError" : null) });
  keeper.changed(snapshots(1)[0]);
  await keeper.settled();
  assert.deepEqual([told.at(-1).status, told.at(-1).why], ["failed", "failed"]);
  assert.match(told.at(-1).detail, /UnknownError/);
  fails = false;
  await clock.pass(10_000);
  await keeper.settled();
  assert.equal(told.at(-1).status, "kept");
});

test("work that is not on the disk after two seconds is said to be not kept, until it is", async () => {
  const disk = fakeDisk();
  const { keeper, told, clock, database } = await opened(disk);
  database.page.slow = 300; // a disk that takes its time
  keeper.changed(snapshots(1)[0]);
  assert.equal(told.at(-1).status, "keeping");
  await clock.pass(2000);
  assert.deepEqual([told.at(-1).status, told.at(-1).why], ["failed", "slow"]);
  database.page.slow = 0;
  await keeper.settled();
  assert.equal(told.at(-1).status, "kept");
});

test("another page that wrote the study is not written over", async () => {
  const disk = fakeDisk();
  const all = snapshots(4);
  const first = await opened(disk);
  first.keeper.changed(all[0]);
  await first.keeper.settled();
  const store = await KeptStore.open(fakeDatabase(disk));
  const second = new Keeper({ store, id: ID }, await readStudy(store, ID));
  second.changed(all[1]);
  await second.settled();
  first.keeper.changed(all[2]);
  await first.keeper.settled();
  assert.deepEqual([first.told.at(-1).status, first.told.at(-1).why], ["failed", "overtaken"]);
  first.keeper.changed(all[3]);
  await first.keeper.settled();
  same((await read(disk)).snapshot, all[1]);
  await assert.rejects(store.write({ id: ID, generation: 9 }, new Map(), new Map()), Overtaken);
});

test("a study that is forgotten takes all of its own with it, and nothing of another", async () => {
  const disk = fakeDisk();
  const { keeper, store } = await opened(disk);
  const other = new Keeper({ store, id: "study10" });
  const [one] = snapshots(3).slice(-1);
  keeper.changed(one);
  other.changed(one);
  await Promise.all([keeper.settled(), other.settled()]);
  await keeper.stop();
  await store.remove(ID);
  assert.equal((await store.heads()).length, 1);
  assert.ok([...disk.stores.values()].flatMap((held) => [...held.keys()]).every((key) => key.startsWith("study10")));
  same((await readStudy(store, "study10")).snapshot, one);
  keeper.changed(one);
  await keeper.settled();
  assert.equal((await store.heads()).length, 1, "it is written no more");
});
