import assert from "node:assert/strict";
import { test } from "node:test";
import { newestOnly } from "../../www/app/newest.js";
import { settled } from "./support/ports.mjs";

/** A queue whose requests end when the test says. */
function queue() {
  const open = [];
  const arrived = [];
  const failed = [];
  const { ask, forget } = newestOnly(
    (asked) => new Promise((resolve, reject) => open.push({ asked, resolve, reject })),
    (got, asked) => arrived.push([got, asked]),
    (thrown, asked) => failed.push([thrown, asked]),
  );
  const asked = () => open.map((one) => one.asked);
  return { ask, forget, open, arrived, failed, asked };
}

test("one request is under way, and of those made meanwhile only the newest follows", async () => {
  const { ask, open, arrived, asked } = queue();
  for (const number of [1, 2, 3, 4]) ask(number);
  await settled();
  assert.deepEqual(asked(), [1]);
  open[0].resolve("one");
  await settled();
  assert.deepEqual(asked(), [1, 4]);
  open[1].resolve("four");
  await settled();
  assert.deepEqual(arrived, [["one", 1], ["four", 4]]);
});

test("after it has come to rest it takes up again", async () => {
  const { ask, open, arrived } = queue();
  ask("first");
  open[0].resolve(1);
  await settled();
  ask("second");
  open[1].resolve(2);
  await settled();
  assert.deepEqual(arrived, [[1, "first"], [2, "second"]]);
});

test("a failure is told with its request and does not stop what follows", async () => {
  const { ask, open, arrived, failed } = queue();
  ask("bad");
  ask("good");
  open[0].reject("broken");
  await settled();
  open[1].resolve("fine");
  await settled();
  assert.deepEqual(failed, [["broken", "bad"]]);
  assert.deepEqual(arrived, [["fine", "good"]]);
});

test("what is forgotten neither arrives nor fails nor follows; what is asked afterwards does", async () => {
  const { ask, forget, open, arrived, failed, asked } = queue();
  ask("under way");
  ask("waiting");
  forget();
  ask("new");
  open[0].reject("too late");
  await settled();
  assert.deepEqual(asked(), ["under way", "new"]);
  open[1].resolve("here");
  await settled();
  assert.deepEqual(arrived, [["here", "new"]]);
  assert.deepEqual(failed, []);
});

test("after forgetting, neither a late result nor what waited comes to anything", async () => {
  const { ask, forget, open, arrived, asked } = queue();
  ask("under way");
  ask("waiting");
  forget();
  open[0].resolve("too late");
  await settled();
  assert.deepEqual([asked(), arrived], [["under way"], []]);
});
