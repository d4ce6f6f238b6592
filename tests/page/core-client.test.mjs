import assert from "node:assert/strict";
import { test } from "node:test";
import { CANCELLED, problem } from "../../www/app/protocol.js";
import { end_of, settled, still_open } from "./support/ports.mjs";
import { fakeWorld, file, hang, hash_of, Trap } from "./support/workers.mjs";

/** A session with two files, a changed map and an answer, as it is after a while of work. */
async function worked(meddle) {
  const world = fakeWorld();
  await world.client.start();
  await world.client.open(file("one.tif"));
  await world.client.open(file("bad.tif"));
  await world.client.open(file("two.tif"));
  await world.client.call("set_map", ["one.tif", { value: 42 }]);
  await world.client.ask("ratio", {});
  world.meddle = meddle ?? world.meddle;
  return world;
}

const WHOLE_RETURN = ["load", "apply", "open one.tif", "open two.tif", "adopt"];
/** Workers of the session; the one that ran the question was a job of its own. */
const sessions = ({ workers }) => workers.filter(({ asked }) => !asked.includes("run"));

test("the first worker loads the core; calls made before wait for it", async () => {
  const { client, workers } = fakeWorld();
  const early = client.call("maps");
  assert.equal(client.version, "");
  await client.start();
  assert.equal(client.version, "core of the module");
  assert.deepEqual(await early, []);
  assert.deepEqual(workers[0].asked, ["load", "maps"]);
});

test("an unknown action throws, and a call aborted before it is made is never sent", async () => {
  const { client, workers } = fakeWorld();
  await client.start();
  assert.throws(() => client.call("run"), /unknown action: run/);
  assert.equal((await end_of(client.call("maps", [], { signal: AbortSignal.abort() }))).reason, CANCELLED);
  assert.deepEqual(workers[0].asked, ["load"]);
});

test("after a trap a new worker stands where the old one stood, and a waiting call gets the same result", async () => {
  const world = await worked();
  const before = await world.client.call("picture", [{}]);
  const maps_before = await world.client.call("maps");
  world.meddle = (action) => {
    if (action === "grid") throw new Trap("unreachable");
  };
  const trap = end_of(world.client.call("grid"));
  const waiting = world.client.call("picture", [{}]);
  const { reason } = await trap;
  assert.equal(reason.code, "core_stopped");
  assert.equal(reason.detail, "Error: unreachable");
  assert.deepEqual(await waiting, before);
  const [first, second] = sessions(world);
  assert.equal(first.ended, true);
  assert.equal(second.ended, false);
  assert.deepEqual(second.asked.slice(0, 5), WHOLE_RETURN);
  assert.deepEqual(await world.client.call("maps"), maps_before);
  assert.deepEqual(await world.client.call("picture", [{ answer: "of 42" }]), before, "the answer is held again");
  assert.deepEqual(world.events.map(({ type }) => type), ["restarted"]);
});

test("a failure that is no trap leaves the worker alone", async () => {
  const world = await worked((action) => {
    if (action === "grid") throw problem("no_grid", "There is no grid.");
  });
  assert.deepEqual((await end_of(world.client.call("grid"))).reason.code, "no_grid");
  assert.equal(sessions(world).length, 1);
  assert.deepEqual(world.events, []);
});

test("a silent worker is replaced, and the call is sent again", async () => {
  const world = await worked((action, args, worker) => (action === "picture" && worker.number === 1 ? hang(worker) : undefined));
  const picture = world.client.call("picture", [{}]);
  await world.clock.pass(1099);
  assert.equal(await still_open(picture), true);
  assert.equal(sessions(world).length, 1);
  await world.clock.pass(1);
  assert.deepEqual(await picture, { rgba: [42, 2] });
  assert.equal(sessions(world)[0].ended, true);
  assert.deepEqual(sessions(world)[1].asked, [...WHOLE_RETURN, "picture"]);
  assert.deepEqual(world.events, [{ type: "restarted", why: "no sign of life" }]);
  assert.equal(world.clock.running, 0, "a timer runs although nothing is asked");
});

test("silence counts from the last message", async () => {
  const world = await worked((action, args, worker) => (action === "picture" ? hang(worker) : undefined));
  const picture = world.client.call("picture", [{}]);
  void end_of(picture);
  await world.clock.pass(900);
  world.workers[0].inner.postMessage({ id: 0, progress: { fraction: 0.1, text: "still here" } }, []);
  await world.clock.pass(1000);
  assert.equal(sessions(world).length, 1, "it spoke a second ago");
  await world.clock.pass(200);
  assert.equal(sessions(world).length, 2);
});

test("a message that arrives after the silence but within the grace saves the worker", async () => {
  const world = await worked((action, args, worker) => (action === "picture" ? hang(worker) : undefined));
  void end_of(world.client.call("picture", [{}]));
  await world.clock.pass(1050);
  world.workers[0].inner.postMessage({ id: 0, progress: { fraction: 0.1, text: "woken" } }, []);
  await world.clock.pass(500);
  assert.equal(sessions(world).length, 1);
});

test("reading a large file may be silent for longer, and so may what waits behind it", async () => {
  const world = await worked((action, args, worker) => (action === "open" && args[0].name === "large.tif" ? hang(worker) : undefined));
  void end_of(world.client.open(file("large.tif", 40e6)));
  void end_of(world.client.call("maps"));
  await world.clock.pass(11_000);
  assert.equal(sessions(world).length, 1);
  await world.clock.pass(101);
  assert.equal(sessions(world).length, 2);
});

test("a large file that is given to a busy worker lengthens the silence that is allowed", async () => {
  const world = await worked((action, args, worker) => (action === "picture" ? hang(worker) : undefined));
  void end_of(world.client.call("picture", [{}]));
  await settled();
  void end_of(world.client.open(file("large.tif", 40e6)));
  await world.clock.pass(11_000);
  assert.equal(sessions(world).length, 1);
});

test("an error event of the worker replaces it", async () => {
  const world = await worked((action, args, worker) => (action === "maps" && worker.number === 1 ? hang(worker) : undefined));
  const maps = world.client.call("maps");
  await settled();
  world.workers[0].fail("out of memory");
  assert.deepEqual(await maps, [{ id: "one.tif", value: 42 }, { id: "two.tif", value: 42 }]);
  assert.deepEqual(world.events, [{ type: "restarted", why: "out of memory" }]);
});

test("a call that has cost two workers is given up; what waited behind it is not, and the session goes on", async () => {
  const world = await worked((action, args, worker) => (action === "picture" ? hang(worker) : undefined));
  const blamed = end_of(world.client.call("picture", [{}]));
  const behind = world.client.call("maps");
  await world.clock.pass(3000);
  const { reason } = await blamed;
  assert.equal(reason.code, "core_stopped");
  assert.equal(reason.detail, "the worker was lost 2 times over picture");
  assert.deepEqual((await behind).map(({ id }) => id), ["one.tif", "two.tif"]);
  assert.equal(sessions(world).length, 3);
  assert.deepEqual(await world.client.call("set_map", ["one.tif", { value: 43 }]), 43);
});

test("a file that cannot be read again is told of, and the rest comes back as it was read", async () => {
  const world = await worked((action, args, worker) => {
    if (action === "open" && args[0].name === "one.tif") throw problem("file_unreadable", "It was moved.");
    if (action === "grid" && worker.number < 4) throw new Trap("unreachable");
  });
  await end_of(world.client.call("grid"));
  // what was stated and answered stays: the core keeps the ids of maps, whichever files are missing
  assert.deepEqual(await world.client.call("maps"), [{ id: "two.tif", value: 42 }]);
  assert.equal((await end_of(world.client.call("picture", [{ answer: "of 42" }]))).reason, undefined);
  assert.deepEqual(world.events.map(({ type, file: name }) => [type, name]), [["restarted", undefined], ["input_lost", "one.tif"]]);
  assert.equal(world.events[1].problem.message, "It was moved.");
  await end_of(world.client.call("grid"));
  await world.client.call("maps");
  assert.equal(sessions(world)[2].asked.includes("open one.tif"), false, "it is asked for once more");
  assert.equal(world.events.length, 3);
});

test("a core that never starts is said so to everyone who waits, and to everyone who comes later", async () => {
  const trouble = problem("no_memory", "Not enough memory.");
  const world = fakeWorld({ meddle: () => { throw trouble; } });
  const early = end_of(world.client.call("maps"));
  const { reason } = await end_of(world.client.start());
  assert.equal(reason.code, "no_memory");
  assert.equal((await early).reason, reason);
  assert.equal((await end_of(world.client.call("maps"))).reason, reason);
  assert.equal(world.workers.length, 3);
  assert.ok(world.workers.every(({ ended }) => ended));
  assert.deepEqual(world.events, [{ type: "broken", problem: reason }]);
});

test("a core that cannot be compiled rejects the start", async () => {
  const world = fakeWorld({ get_module: () => Promise.reject(new Error("no wasm here")) });
  assert.equal((await end_of(world.client.start())).reason.message, "Error: no wasm here");
});

test("a worker that is silent while it starts is tried again before it is given up", async () => {
  const world = fakeWorld({ meddle: (action, args, worker) => (worker.number < 3 ? hang(worker) : undefined) });
  const started = world.client.start();
  await world.clock.pass(2300);
  await started;
  assert.equal(world.workers.length, 3);
  assert.deepEqual(world.events, []);
});

test("a change that was sent is kept even if its caller took it back", async () => {
  let release;
  const world = await worked((action) => (action === "set_map" ? new Promise((go) => (release = go)) : undefined));
  const stop = new AbortController();
  const call = end_of(world.client.call("set_map", ["one.tif", { value: 50 }], { signal: stop.signal }));
  await settled();
  stop.abort();
  assert.equal((await call).reason, CANCELLED);
  release();
  await settled();
  world.workers[0].fail("lost");
  assert.deepEqual(await world.client.call("maps"), [{ id: "one.tif", value: 50 }, { id: "two.tif", value: 50 }]);
});

test("a region that was added while the caller no longer wanted it is in the record that brings the session back", async () => {
  const world = fakeWorld();
  await world.client.start();
  await world.client.open(file("one.tif"));
  const applied = [];
  let release = () => {};
  world.meddle = (action, args) => {
    if (action === "apply") applied.push(args[0]);
    if (action === "add_region") return new Promise((resolve) => (release = resolve));
  };
  const stop = new AbortController();
  const added = end_of(world.client.call("add_region", [{ name: "sky" }], { signal: stop.signal }));
  await settled();
  stop.abort();
  release();
  assert.equal((await added).reason.code, "cancelled");
  await world.client.call("maps");
  world.workers[0].fail("lost");
  await world.client.call("maps");
  assert.deepEqual(applied, [{ inputs: [{ name: "one.tif", sha256: hash_of("one.tif"), way: null, before: 0 }], value: 0, regions: ["sky"] }]);
});
