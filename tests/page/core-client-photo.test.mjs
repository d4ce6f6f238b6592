import assert from "node:assert/strict";
import { test } from "node:test";
import { CANCELLED, problem } from "../../www/app/protocol.js";
import { end_of, settled } from "./support/ports.mjs";
import { fakeWorld, file, hang, picture, Trap } from "./support/workers.mjs";

const asked = ({ workers }) => workers.map((worker) => worker.asked);

test("a large photo is decoded in a worker of its own, which then ends, and its pixels are handed to the session", async () => {
  const world = fakeWorld();
  await world.client.start();
  const opened = await world.client.open(picture("photo.jpg"));
  assert.deepEqual(opened.photos, ["photo.jpg"]);
  assert.deepEqual(asked(world), [["load", "open_photo photo.jpg"], ["load", "read_photo photo.jpg"]]);
  assert.deepEqual(world.workers.map(({ ended }) => ended), [false, true]);
});

test("a small photo, and a large file of another kind, go to the session as they are", async () => {
  const world = fakeWorld();
  await world.client.start();
  await world.client.open(picture("photo.jpg", 3e6));
  await world.client.open(picture("map.npy", 5e6, [0x93, 0x4e, 0x55, 0x4d]));
  await world.client.open(file("no bytes to see.tif", 5e6));
  assert.deepEqual(asked(world), [["load", "open photo.jpg", "open map.npy", "open no bytes to see.tif"]]);
});

test("every kind of picture is looked at", async () => {
  const starts = [[0x89, 0x50, 0x4e, 0x47], [0x49, 0x49, 42, 0], [0x4d, 0x4d, 0, 42], [0x49, 0x49, 43, 0], [0x4d, 0x4d, 0, 43]];
  const world = fakeWorld();
  await world.client.start();
  for (const start of starts) await world.client.open(picture(`photo ${start}`, 5e6, start));
  assert.equal(world.workers.length, 1 + starts.length);
});

test("a large picture that is no photo, or that the session must read itself, is opened the ordinary way", async () => {
  const world = fakeWorld();
  await world.client.start();
  assert.deepEqual((await world.client.open(picture("stack.tif"))).maps, ["stack.tif"]);
  assert.deepEqual((await world.client.open(picture("photo in grey.jpg"))).maps, ["photo in grey.jpg"]);
  assert.deepEqual(world.workers[0].asked, ["load", "open stack.tif", "open_photo photo in grey.jpg", "open photo in grey.jpg"]);
});

test("cancelled, the worker that decodes ends at once and nothing is opened", async () => {
  const world = fakeWorld({ meddle: (action, args, worker) => (action === "read_photo" ? hang(worker) : undefined) });
  await world.client.start();
  const stop = new AbortController();
  const opening = end_of(world.client.open(picture("photo.jpg"), { signal: stop.signal }));
  while (world.workers[1]?.asked.length !== 2) await settled();
  stop.abort();
  assert.deepEqual((await opening).reason, CANCELLED);
  assert.equal(world.workers[1].ended, true);
  assert.deepEqual(world.workers[0].asked, ["load"]);
});

test("a photo that stops its worker costs itself and not the session", async () => {
  const world = fakeWorld({
    meddle: (action) => {
      if (action === "read_photo") throw new Trap("unreachable");
    },
  });
  await world.client.start();
  await world.client.open(file("one.tif"));
  const { reason } = await end_of(world.client.open(picture("photo.jpg")));
  assert.equal(reason.code, "core_stopped");
  assert.deepEqual(await world.client.call("maps"), [{ id: "one.tif", value: 0 }]);
  assert.deepEqual(world.events, []);
});

test("decoding may take as long as it takes: the session is not waited for", async () => {
  const world = fakeWorld({ meddle: (action, args, worker) => (action === "read_photo" ? hang(worker) : undefined) });
  await world.client.start();
  void end_of(world.client.open(picture("photo.jpg")));
  await world.clock.pass(60_000);
  assert.deepEqual(world.events, []);
  assert.deepEqual(await world.client.call("maps"), []);
});

test("a lost session is brought back with its photos, in the order of the files", async () => {
  const world = fakeWorld();
  await world.client.start();
  for (const input of [file("one.tif"), picture("photo.jpg"), file("two.tif")]) await world.client.open(input);
  world.workers[0].fail("gone");
  assert.deepEqual((await world.client.call("maps")).map(({ id }) => id), ["one.tif", "photo.jpg", "two.tif"]);
  const back = world.workers.filter((worker) => worker.asked.includes("apply"));
  assert.deepEqual(back.map((worker) => worker.asked), [["load", "apply", "open one.tif", "open_photo photo.jpg", "open two.tif", "maps"]]);
  assert.deepEqual(world.events.map(({ type }) => type), ["restarted"]);
});

test("brought back, a photo that cannot be decoded any more is told and the rest comes back", async () => {
  const world = fakeWorld();
  await world.client.start();
  for (const input of [picture("photo.jpg"), file("two.tif")]) await world.client.open(input);
  world.meddle = (action) => {
    if (action === "read_photo") throw new Trap("unreachable");
  };
  world.workers[0].fail("gone");
  assert.deepEqual((await world.client.call("maps")).map(({ id }) => id), ["two.tif"]);
  assert.deepEqual(world.events.map(({ type, file: name }) => [type, name]), [["restarted", undefined], ["input_lost", "photo.jpg"]]);
});

test("a session that is lost while it takes a photo in gets it decoded anew, because the pixels went with it", async () => {
  const world = fakeWorld();
  await world.client.start();
  const first = world.workers[0];
  world.meddle = (action, args, worker) => (action === "open_photo" && worker === first ? hang(worker) : undefined);
  const opening = world.client.open(picture("photo.jpg"));
  while (!first.hangs) await settled();
  first.fail("gone");
  assert.deepEqual((await opening).photos, ["photo.jpg"]);
  assert.equal(world.workers.filter((worker) => worker.asked.includes("read_photo photo.jpg")).length, 2);
});

test("a session that every time is lost over a photo gives it up", async () => {
  const world = fakeWorld({ meddle: (action, args, worker) => (action === "open_photo" ? hang(worker) : undefined) });
  await world.client.start();
  const opening = end_of(world.client.open(picture("photo.jpg")));
  for (let losses = 0; losses < 2; losses += 1) {
    const hanging = () => world.workers.find((worker) => worker.hangs && !worker.ended);
    while (!hanging()) await settled();
    hanging().fail("gone");
  }
  assert.equal((await opening).reason.code, "core_stopped");
  assert.deepEqual(await world.client.call("maps"), []);
});

test("a problem of the file is its own", async () => {
  const world = fakeWorld({
    meddle: (action) => {
      if (action === "read_photo") throw problem("file_unreadable", "The browser could not read this file.");
    },
  });
  await world.client.start();
  assert.equal((await end_of(world.client.open(picture("photo.jpg")))).reason.code, "file_unreadable");
});

test("what ends the decoding ends nothing else", async () => {
  const world = fakeWorld({ meddle: (action, args, worker) => (action === "read_photo" ? hang(worker) : undefined) });
  await world.client.start();
  const stop = new AbortController();
  const opening = end_of(world.client.open(picture("photo.jpg"), {}, stop.signal));
  while (world.workers[1]?.asked.length !== 2) await settled();
  stop.abort();
  assert.equal((await opening).reason.code, "cancelled");
  assert.deepEqual((await world.client.open(picture("small.jpg", 10), {}, stop.signal)).maps, ["small.jpg"]);
});
