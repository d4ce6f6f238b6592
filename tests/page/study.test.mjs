import assert from "node:assert/strict";
import { test } from "node:test";
import { CANCELLED, problem } from "../../www/app/protocol.js";
import { Limner } from "../../www/app/limner.js";
import { end_of, settled, still_open } from "./support/ports.mjs";
import { fakeWorld, file, hang, hash_of, picture, Trap } from "./support/workers.mjs";

const READ_ONLY = "This study is open in another tab, so that here it can only be read. Close it there, or save a copy.";

/** Two files, a value, a region and a finding. */
async function worked(parts) {
  const world = fakeWorld(parts);
  const histories = [];
  world.client.on_history = (history) => histories.push(history);
  await world.client.start();
  await world.client.open(file("one.tif"));
  await world.client.open(file("two.tif"));
  await world.client.call("set_map", ["one.tif", { value: 42 }]);
  await world.client.call("add_region", [{ name: "sky" }]);
  await world.client.call("keep", [{ title: "a" }]);
  return { ...world, world, histories };
}

/** What the session says of itself. */
async function seen({ client }) {
  return { maps: await client.call("maps"), record: await client.call("record"), findings: await client.call("findings") };
}

const record_of = (world) => world.snapshots.at(-1).record;
const study = (names, more = {}) => new Blob([JSON.stringify({ names, value: 7, ...more })]);

test("every change is told with all that is to be kept; what changed nothing is not", async () => {
  const { client, snapshots, histories } = await worked();
  assert.equal(snapshots.length, 5);
  assert.deepEqual(snapshots.map(({ history }) => history.position), [1, 2, 3, 4, 5]);
  const { record, inputs, blobs } = snapshots[4];
  assert.deepEqual(inputs.map(({ sha256, name, file: { size } }) => [sha256, name, size]), [[hash_of("one.tif"), "one.tif", 10], [hash_of("two.tif"), "two.tif", 10]]);
  assert.deepEqual([...blobs], [[hash_of("kept a"), new Uint8Array([1, 2])]]);
  assert.equal(record.value, 42);
  assert.equal(snapshots[4].record.inputs, snapshots[3].record.inputs, "what is equal is one object");
  assert.deepEqual(histories.at(-1), { undo: 5, redo: 0, undo_text: "now 42, 2 files, 1 regions", redo_text: "" });
  await client.call("set_map", ["one.tif", { value: 42 }]);
  await client.open(file("bad.tif"));
  await client.call("maps");
  assert.equal(snapshots.length, 5);
});

test("a raised session has the kept answers and pictures again", async () => {
  const world = await worked();
  world.workers.at(-1).fail("lost");
  assert.deepEqual(await world.client.call("findings"), [{ title: "a", answer: hash_of("kept a"), trouble: "" }]);
});

test("undo to the start and redo to the end, the session in each state as it was", async () => {
  const world = await worked();
  const states = [await seen(world)];
  for (let undo = 4; undo >= 0; undo -= 1) {
    assert.deepEqual(await world.client.go(-1).then(({ undo, redo }) => [undo, redo]), [undo, 5 - undo]);
    states.push(await seen(world));
  }
  assert.deepEqual(states[5].maps, []);
  assert.equal((await end_of(world.client.go(-1))).reason.code, "nothing_to_undo");
  for (let redo = 4; redo >= 0; redo -= 1) {
    await world.client.go(1);
    assert.deepEqual(await seen(world), states[redo]);
  }
  assert.equal((await end_of(world.client.go(1))).reason.code, "nothing_to_redo");
  assert.deepEqual(world.workers.length, 1, "no worker was lost for it");
});

test("undo says what it undid, redo what it did again", async () => {
  const { client } = await worked();
  assert.equal((await client.go(-1)).text, "now 42, 2 files, 1 regions");
  await client.go(-1);
  assert.equal((await client.go(-1)).text, "now 42, 2 files, 0 regions");
  assert.deepEqual(await client.go(1), { text: "now 42, 2 files, 0 regions", undo: 3, redo: 2 });
});

test("files that were closed by undo are read again from their handles, in order, large photos apart", async () => {
  const world = fakeWorld();
  await world.client.start();
  for (const one of [file("one.tif"), picture("photo.jpg"), file("two.tif")]) await world.client.open(one);
  for (const _ of [1, 2, 3]) await world.client.go(-1);
  await world.client.reset();
  assert.equal(world.client.history.redo, 3, "nothing was there to be closed");
  for (const _ of [1, 2, 3]) await world.client.go(1);
  assert.deepEqual((await world.client.call("maps")).map(({ id }) => id), ["one.tif", "photo.jpg", "two.tif"]);
  assert.deepEqual(world.workers[0].asked.filter((one) => one.startsWith("open")), ["open one.tif", "open_photo photo.jpg", "open two.tif", "open one.tif", "open_photo photo.jpg", "open two.tif"]);
});

test("a session that is lost after an undo comes back in the state that was undone to", async () => {
  const world = await worked();
  await world.client.go(-1);
  await world.client.go(-1);
  const before = await seen(world);
  world.workers.at(-1).fail("lost");
  assert.deepEqual(await seen(world), before);
  await world.client.go(1);
  assert.deepEqual(record_of(world).regions, ["sky"]);
});

test("a new change after undo drops the redo branch, and what only it needed is let go", async () => {
  const world = await worked();
  for (const _ of [1, 2, 3, 4]) await world.client.go(-1);
  assert.equal(world.snapshots.at(-1).inputs.length, 2, "two.tif can still be redone");
  await world.client.call("set_map", ["one.tif", { value: 1 }]);
  assert.deepEqual(world.client.history, { undo: 2, redo: 0, undo_text: "now 1, 1 files, 0 regions", redo_text: "" });
  assert.deepEqual(world.snapshots.at(-1).inputs.map(({ name }) => name), ["one.tif"]);
  assert.equal(world.snapshots.at(-1).blobs.size, 0);
});

test("an undo whose file cannot be read any more leaves everything as it was and says why", async () => {
  const world = await worked();
  for (const _ of [1, 2, 3, 4]) await world.client.go(-1);
  const before = await seen(world);
  world.world.meddle = (action, args) => {
    if (action === "open" && args[0].name === "two.tif") throw problem("file_unreadable", "It was moved.");
  };
  assert.equal((await end_of(world.client.go(1))).reason.message, "It was moved.");
  assert.deepEqual(await seen(world), before);
  assert.equal(world.client.history.redo, 4);
  assert.deepEqual(world.events, [], "nothing that was open is missing");
  world.world.meddle = () => {};
  await world.client.go(1);
  assert.deepEqual((await world.client.call("maps")).length, 2);
});

test("a file that is another one now is not taken for what it was", async () => {
  const world = await worked();
  for (const _ of [1, 2, 3, 4]) await world.client.go(-1);
  const before = await seen(world);
  world.world.meddle = (action, args) => {
    if (action === "open" && args[0].name === "two.tif") args[0].name = "another.tif";
  };
  assert.equal((await end_of(world.client.go(1))).reason.code, "file_changed");
  world.world.meddle = () => {};
  assert.deepEqual(await seen(world), before);
});

test("a file that was missing before is no reason against an undo", async () => {
  const world = await worked();
  world.world.meddle = (action, args) => {
    if (action === "open" && args[0].name === "one.tif") throw problem("file_unreadable", "It was moved.");
  };
  world.workers.at(-1).fail("lost");
  assert.equal((await world.client.call("maps")).length, 1);
  await world.client.go(-1);
  await world.client.go(-1);
  assert.deepEqual(await world.client.call("maps"), [{ id: "two.tif", value: 42 }]);
  assert.deepEqual(world.events.map(({ type }) => type), ["restarted", "input_lost"]);
});

test("a worker that is lost in the middle of an undo is raised in the state that it leads to", async () => {
  const world = await worked();
  for (const _ of [1, 2, 3, 4, 5]) await world.client.go(-1);
  let traps = 0;
  world.world.meddle = (action, args, worker) => {
    if (action === "open" && args[0].name === "two.tif" && traps++ === 0) return hang(worker);
  };
  await world.client.go(1);
  const redone = world.client.go(1);
  await world.clock.pass(2000);
  await redone;
  assert.deepEqual((await world.client.call("maps")).map(({ id }) => id), ["one.tif", "two.tif"]);
  assert.equal(world.client.history.undo, 2);
  assert.deepEqual(world.events.map(({ type }) => type), ["restarted"]);
});

test("a worker that is lost while a whole study is read again is raised with all of it", async () => {
  const world = await worked();
  const before = await seen(world);
  await world.client.reset();
  let traps = 0;
  world.world.meddle = (action, args, worker) => {
    if (action === "open" && args[0].name === "two.tif" && traps++ === 0) return hang(worker);
  };
  const undone = world.client.go(-1);
  await world.clock.pass(2000);
  await undone;
  assert.deepEqual(await seen(world), before);
  assert.equal(world.client.history.redo, 1);
});

test("an answer of what was closed is not taken in again", async () => {
  const world = await worked();
  await world.client.ask("ratio", {});
  await world.client.reset();
  world.workers[0].fail("lost");
  await world.client.call("maps");
  assert.equal(world.workers.at(-1).asked.includes("adopt"), false);
});

test("an undo that costs the worker each time is given up, and the session is where it was", async () => {
  const world = await worked();
  const before = await seen(world);
  world.world.meddle = (action) => {
    if (action === "restate") throw new Trap("unreachable");
  };
  assert.equal((await end_of(world.client.go(-1))).reason.code, "core_stopped");
  assert.deepEqual(await seen(world), before);
  assert.equal(world.client.history.undo, 5);
});

test("an undo that is stopped while files are read leaves everything as it was", async () => {
  const world = await worked();
  await world.client.reset();
  const before = await seen(world);
  const stop = new AbortController();
  const told = [];
  const undone = end_of(world.client.go(-1, { signal: stop.signal }, (done, total, name) => {
    told.push([done, total, name]);
    stop.abort();
  }));
  assert.equal((await undone).reason, CANCELLED);
  assert.deepEqual(told, [[0, 2, "one.tif"]]);
  assert.deepEqual(await seen(world), before);
});

test("a change that is made while an undo is under way comes after it", async () => {
  const world = await worked();
  const undone = world.client.go(-1);
  const changed = world.client.call("set_map", ["one.tif", { value: 5 }]);
  await undone;
  await changed;
  assert.deepEqual(world.client.history, { undo: 5, redo: 0, undo_text: "now 5, 2 files, 1 regions", redo_text: "" });
});

test("an undo waits for changes that are under way, also for one that its caller gave up", async () => {
  const world = await worked();
  let release = () => {};
  world.world.meddle = (action) => (action === "set_map" ? new Promise((go) => (release = go)) : undefined);
  const stop = new AbortController();
  const given_up = end_of(world.client.call("set_map", ["one.tif", { value: 50 }], { signal: stop.signal }));
  await settled();
  stop.abort();
  await given_up;
  const undone = world.client.go(-1);
  assert.equal(await still_open(undone), true);
  release();
  assert.equal((await undone).text, "now 50, 2 files, 1 regions");
  assert.equal(record_of(world).value, 42);
});

test("an answer that was asked of the study before an undo is dropped with a sentence", async () => {
  const world = await worked();
  let release = () => {};
  world.world.meddle = (action) => (action === "run" ? new Promise((go) => (release = go)) : undefined);
  const asked = end_of(world.client.ask("ratio", {}));
  await settled();
  await world.client.go(-1);
  release();
  assert.equal((await asked).reason.code, "study_changed");
  assert.equal(world.workers[0].asked.includes("adopt"), false);
});

test("reset closes everything, and one undo brings it back", async () => {
  const world = await worked();
  const before = await seen(world);
  await world.client.reset();
  assert.deepEqual(await world.client.call("maps"), []);
  assert.equal(world.client.history.undo_text, "everything closed");
  await world.client.go(-1);
  assert.deepEqual(await seen(world), before);
});

test("a study takes the place of what is open; one undo brings that back, and a redo the study", async () => {
  const world = await worked();
  const before = await seen(world);
  const text = JSON.stringify({ names: ["a.tif", "b.tif"], value: 7, findings: [{ title: "kept", answer: hash_of("kept there") }] });
  const opened = await world.client.restore(new Blob([text]));
  assert.deepEqual(opened.maps, ["a.tif", "b.tif"]);
  assert.deepEqual(world.client.history, { undo: 1, redo: 0, undo_text: "study opened", redo_text: "" });
  const restored = await seen(world);
  assert.deepEqual(restored.maps.map(({ id, value }) => [id, value]), [["a.tif", 7], ["b.tif", 7]]);
  const a = world.snapshots.at(-1).inputs.find(({ name }) => name === "a.tif");
  assert.equal(await a.file.text(), text[0], "a part of the study file and no copy");
  world.workers.at(-1).fail("lost");
  assert.deepEqual(await seen(world), restored, "it comes back from the study file");
  await world.client.go(-1);
  assert.deepEqual(await seen(world), before);
  await world.client.go(1);
  assert.deepEqual(await seen(world), restored);
});

test("a study that is opened into nothing has nothing to undo", async () => {
  const world = fakeWorld();
  await world.client.start();
  await world.client.restore(study(["a.tif"]));
  assert.deepEqual([world.client.history.undo, world.client.history.redo], [0, 0]);
  await world.client.call("set_map", ["a.tif", { value: 8 }]);
  await world.client.go(-1);
  assert.deepEqual(await world.client.call("maps"), [{ id: "a.tif", value: 7 }]);
});

test("a study that cannot be opened leaves everything as it was", async () => {
  const world = await worked();
  const before = await seen(world);
  assert.equal((await end_of(world.client.restore(new Blob(["no study"])))).reason.message, "This is no study.");
  assert.deepEqual(await seen(world), before);
  assert.equal(world.client.history.undo, 5);
  world.world.meddle = (action) => {
    if (action === "restore") throw new Trap("unreachable");
  };
  assert.equal((await end_of(world.client.restore(study(["a.tif"])))).reason.code, "core_stopped");
  assert.deepEqual(await seen(world), before);
  assert.equal(world.client.history.undo, 5);
});

test("a study whose opening is stopped leaves everything as it was, also if it was nearly there", async () => {
  const world = await worked();
  const before = await seen(world);
  world.world.meddle = (action, args, worker) => (action === "restore" ? hang(worker) : undefined);
  const stop = new AbortController();
  const restored = end_of(world.client.restore(study(["a.tif"]), { signal: stop.signal }));
  await settled();
  stop.abort();
  assert.equal((await restored).reason, CANCELLED);
  assert.deepEqual(await seen(world), before);
  assert.deepEqual(world.events, []);
});

test("what can only be read is not changed, and the page's sentence says why", async () => {
  const world = await worked();
  world.client.set_read_only(READ_ONLY);
  const before = await seen(world);
  const calls = [() => world.client.call("set_map", ["one.tif", { value: 1 }]), () => world.client.call("keep", [{ title: "b" }]), () => world.client.open(file("three.tif")),
    () => world.client.open(picture("photo.jpg")), () => world.client.go(-1), () => world.client.reset(), () => world.client.restore(study(["a.tif"])), () => world.client.derive({})];
  for (const call of calls) {
    const { reason } = await end_of(call());
    assert.deepEqual([reason?.code, reason?.message], ["read_only", READ_ONLY], String(call));
  }
  assert.deepEqual(await seen(world), before);
  await world.client.ask("ratio", {});
  assert.ok((await world.client.save()) instanceof Blob);
  world.client.set_read_only(null);
  await world.client.call("set_map", ["one.tif", { value: 1 }]);
});

test("from what was kept the study goes on in another page, with its steps", async () => {
  const world = await worked();
  await world.client.go(-1);
  const kept = world.snapshots.at(-1);
  const before = await seen(world);
  const next = fakeWorld();
  await next.client.start();
  await next.client.resume({ ...kept, history: structuredClone(kept.history), record: structuredClone(kept.record) });
  assert.deepEqual(await seen(next), before);
  assert.deepEqual(next.client.history, world.client.history);
  await next.client.go(1);
  assert.deepEqual(await next.client.call("findings"), [{ title: "a", answer: hash_of("kept a"), trouble: "" }]);
  for (const _ of [1, 2, 3, 4, 5]) await next.client.go(-1);
  assert.deepEqual(await next.client.call("maps"), []);
  assert.deepEqual(next.snapshots.at(-1).inputs.map(({ name }) => name), ["one.tif", "two.tif"]);
});

test("a damaged history costs the steps and not the study; a damaged study costs nothing that is open", async () => {
  const world = await worked();
  const kept = world.snapshots.at(-1);
  const next = fakeWorld();
  await next.client.start();
  await next.client.resume({ ...kept, history: { position: 9, steps: [] } });
  assert.deepEqual([next.client.history.undo, (await next.client.call("maps")).length], [0, 2]);
  next.meddle = (action, args) => {
    if (action === "apply" && args[0].value === 99) throw problem("other_record", "Another version.");
  };
  assert.equal((await end_of(next.client.resume({ ...kept, record: { ...kept.record, value: 99 } }))).reason.code, "other_record");
  assert.equal((await next.client.call("maps")).length, 2);
  assert.deepEqual(next.events, []);
});

test("a study is saved with its files between the pieces", async () => {
  const world = fakeWorld();
  await world.client.start();
  await world.client.open({ file: new File(["abc"], "one.tif"), name: "one.tif", way: null });
  const saved = await world.client.save();
  assert.deepEqual([saved.type, await saved.text()], ["application/zip", "PKabc"]);
});

test("undo and study files through the calls: files that are read come first, and the page is told", async () => {
  const world = fakeWorld();
  const events = [];
  const limner = new Limner(world.client, async () => [], (event) => events.push(event));
  await world.client.start();
  const types = () => events.splice(0).map(({ type }) => type);
  const files = ["one.tif", "two.tif", "three.tif"].map((name) => new File([name], name));
  const opening = limner.open(files);
  const undone = limner.undo();
  await opening;
  assert.deepEqual(await undone, { text: "3 files opened", undo: 0, redo: 1 }, "one opening is one step");
  assert.deepEqual(await limner.maps(), []);
  types();
  assert.deepEqual(await limner.redo(), { text: "3 files opened", undo: 1, redo: 0 });
  assert.deepEqual(types(), ["reading", "reading", "reading", "history_changed", "study_changed", "reading_over"]);
  world.meddle = () => {};
  const study_file = new File(["PK, a study"], "work.zip");
  const client_call = world.client.call.bind(world.client);
  world.client.call = (action, args, ...more) => (action === "is_study" ? Promise.resolve(args[0].name === "work.zip") : client_call(action, args, ...more));
  const { notices } = await limner.open([new File(["four"], "four.tif"), study_file, new File(["PK"], "maps.zip")]);
  assert.deepEqual(notices.map(({ code, file: name }) => [code, name]), [["study_among_files", "work.zip"]]);
  assert.deepEqual((await limner.maps()).length, 5);
  types();
  const { reason } = await end_of(limner.open([study_file]));
  assert.equal(reason.code, "bad_study");
  assert.deepEqual(types(), ["reading", "reading_over"]);
  assert.deepEqual((await limner.maps()).length, 5);
  await limner.reset();
  assert.deepEqual(types(), ["history_changed", "history_changed", "study_changed"]);
  assert.deepEqual(await limner.history(), { undo: 3, redo: 0, undo_text: "everything closed", redo_text: "" });
});
