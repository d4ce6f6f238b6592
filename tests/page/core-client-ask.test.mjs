import assert from "node:assert/strict";
import { test } from "node:test";
import { CANCELLED, problem } from "../../www/app/protocol.js";
import { end_of, settled } from "./support/ports.mjs";
import { fakeWorld, file, hang, Trap } from "./support/workers.mjs";

async function opened(meddle) {
  const world = fakeWorld();
  await world.client.start();
  await world.client.open(file("one.tif"));
  await world.client.call("set_map", ["one.tif", { value: 7 }]);
  world.meddle = meddle ?? world.meddle;
  return world;
}

const MAPS_OF_ONE = [{ id: "one.tif", value: 7 }];

test("a question is prepared by the session, computed by a worker of its own, and adopted by the session", async () => {
  const world = await opened();
  const progress = [];
  const { answer, rasters } = await world.client.ask("ratio", { a: "one.tif" }, { on_progress: (step) => progress.push(step) });
  assert.deepEqual(answer, { id: "of 7", adopted: true });
  assert.deepEqual([...rasters.classes.data], [3]);
  assert.deepEqual(progress, [{ fraction: 0.5, text: "half" }]);
  const [session, job] = world.workers;
  assert.deepEqual(session.asked.slice(-2), ["subject", "adopt"]);
  assert.deepEqual(job.asked, ["load", "run"]);
  assert.equal(job.ended, true, "the worker of the question still runs");
  assert.equal(session.ended, false);
});

test("taking a question back ends its worker at once and leaves the session alone", async () => {
  const world = await opened((action, args, worker) => (action === "run" ? hang(worker) : undefined));
  const stop = new AbortController();
  const asked = end_of(world.client.ask("ratio", {}, { signal: stop.signal }));
  await settled();
  assert.equal(world.workers[1].ended, false);
  stop.abort();
  assert.equal((await asked).reason.code, CANCELLED.code);
  assert.equal(world.workers[1].ended, true);
  assert.deepEqual(await world.client.call("maps"), MAPS_OF_ONE);
  assert.equal(world.workers[0].asked.includes("adopt"), false);
  assert.equal(world.workers.length, 2);
});

test("a question taken back before it is computed starts no worker", async () => {
  const world = await opened();
  const stop = new AbortController();
  const asked = end_of(world.client.ask("ratio", {}, { signal: stop.signal }));
  stop.abort();
  assert.equal((await asked).reason.code, CANCELLED.code);
  await settled();
  assert.equal(world.workers.length, 1);
});

test("a trap while computing costs the question and nothing else", async () => {
  const world = await opened((action) => {
    if (action === "run") throw new Trap("unreachable");
  });
  const { reason } = await end_of(world.client.ask("ratio", {}));
  assert.equal(reason.code, "core_stopped");
  assert.equal(world.workers[1].ended, true);
  assert.equal(world.workers[0].ended, false);
  assert.deepEqual(world.events, []);
  assert.deepEqual(await world.client.call("maps"), MAPS_OF_ONE);
});

test("a worker of a question that fails to run is said to have stopped", async () => {
  const world = await opened((action, args, worker) => (action === "run" ? hang(worker) : undefined));
  const asked = end_of(world.client.ask("ratio", {}));
  await settled();
  world.workers[1].fail("out of memory");
  const { reason } = await asked;
  assert.deepEqual([reason.code, reason.detail], ["core_stopped", "out of memory"]);
});

test("a question that the core refuses keeps the core's own words", async () => {
  const refusal = problem("same_map", "A map cannot be compared with itself.", "one.tif");
  const world = await opened((action) => {
    if (action === "run") throw refusal;
  });
  assert.deepEqual((await end_of(world.client.ask("ratio", {}))).reason, refusal);
});

/** The answers that a new worker was given, after the last one was lost. */
async function adoptedAfterLoss(world) {
  const adopted = [];
  const before = world.meddle;
  world.meddle = (action, args, worker) => {
    if (action === "adopt") adopted.push(args[0].answer.id);
    return before(action, args, worker);
  };
  world.workers[0].fail("lost");
  await world.client.call("maps");
  return adopted;
}

test("only the last eight answers are brought back, each once", async () => {
  const world = await opened();
  for (let value = 1; value <= 10; value += 1) {
    await world.client.call("set_map", ["one.tif", { value }]);
    await world.client.ask("ratio", {});
    await world.client.ask("ratio", {});
  }
  assert.deepEqual(await adoptedAfterLoss(world), [3, 4, 5, 6, 7, 8, 9, 10].map((value) => `of ${value}`));
});

test("an answer that cannot be brought back is dropped, and the session still comes back", async () => {
  const world = await opened();
  await world.client.ask("ratio", {});
  world.meddle = (action) => {
    if (action === "adopt") throw problem("no_such_map", "Its map is gone.");
  };
  assert.deepEqual(await adoptedAfterLoss(world), ["of 7"]);
  assert.deepEqual(await world.client.call("maps"), MAPS_OF_ONE);
  assert.deepEqual(world.events.map(({ type }) => type), ["restarted"]);
});

test("a photo is looked for in a worker of its own, and nothing of the session is changed", async () => {
  const world = await opened();
  assert.equal(await world.client.find_alignment("p1"), null);
  const [session, job] = world.workers;
  assert.equal(session.asked.at(-1), "subject_to_align");
  assert.deepEqual([job.asked, job.ended], [["load", "find_alignment"], true]);
});

test("taking a search back ends its worker at once", async () => {
  const world = await opened((action, args, worker) => (action === "find_alignment" ? hang(worker) : undefined));
  const stop = new AbortController();
  const asked = end_of(world.client.find_alignment("p1", { signal: stop.signal }));
  await settled();
  stop.abort();
  assert.equal((await asked).reason.code, CANCELLED.code);
  assert.equal(world.workers[1].ended, true);
});
