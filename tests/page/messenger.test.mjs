import assert from "node:assert/strict";
import { test } from "node:test";
import { Caller, Desk } from "../../www/app/messenger.js";
import { CANCELLED, problem } from "../../www/app/protocol.js";
import { end_of, portPair } from "./support/ports.mjs";

const ACTIONS = ["echo", "later", "fail"];
const backwards = (list) => [...list].reverse();

/** A caller and a desk over one pair of ports. Each `later` is answered when the test releases it. */
function both({ fatal, handlers = {} } = {}) {
  const ports = portPair();
  const heard = { times: 0 };
  const caller = new Caller(ports.page, ACTIONS, () => (heard.times += 1));
  const desk = new Desk(ports.worker, ACTIONS, fatal);
  const asked = [];
  const standard = {
    echo: (args) => ({ ok: args }),
    later: (args) => new Promise((release) => asked.push({ args, release })),
    fail: () => {
      throw problem("bad_page", "There is no such page.", "page 9 of 2");
    },
  };
  for (const [action, handler] of Object.entries({ ...standard, ...handlers })) desk.on(action, handler);
  desk.start();
  return { ...ports, ports, caller, heard, asked };
}

test("replies that come in another order reach the calls that they belong to", async () => {
  const { ports, caller, asked } = both();
  const calls = ["first", "second", "third"].map((text) => caller.call("later", [text]));
  await ports.deliver(backwards);
  assert.deepEqual(asked.map(({ args }) => args[0]), ["third", "second", "first"]);
  for (const { args, release } of asked) release({ ok: `answer to ${args[0]}` });
  await ports.deliver_all();
  assert.equal(caller.pending, 0);
  const results = await Promise.all(calls);
  assert.deepEqual(results.map(({ ok }) => ok), ["answer to first", "answer to second", "answer to third"]);
});

test("messages that overtake each other on both ways reach their calls", async () => {
  const { ports, caller } = both();
  const calls = [1, 2, 3, 4].map((number) => caller.call("echo", [number]));
  await ports.deliver(backwards);
  await ports.deliver(backwards);
  assert.deepEqual((await Promise.all(calls)).map(({ ok }) => ok), [[1], [2], [3], [4]]);
});

test("a result carries the record only if the handler gave one", async () => {
  const { ports, caller } = both({ handlers: { echo: () => ({ ok: 1, record: { step: 7 } }), later: () => ({ ok: 2 }) } });
  const calls = [caller.call("echo", []), caller.call("later", [])];
  await ports.deliver_all();
  assert.deepEqual(await Promise.all(calls), [{ ok: 1, record: { step: 7 } }, { ok: 2 }]);
});

test("an unknown action is refused on every side", async () => {
  const { ports, caller } = both();
  assert.throws(() => caller.call("guess", []), /unknown action: guess/);
  assert.equal(ports.under_way.length, 0);
  const desk = new Desk(portPair().worker, ACTIONS);
  assert.throws(() => desk.on("guess", () => ({ ok: 1 })), /unknown action: guess/);
  ports.page.postMessage({ id: 77, action: "guess", args: [] }, []);
  await ports.deliver();
  const replies = ports.under_way.map(({ data }) => data);
  assert.match(replies.find((reply) => reply.error)?.error.message ?? "", /unknown action: guess/);
});

test("a desk does not start without a handler for every action, and takes only one for each", () => {
  const desk = new Desk(portPair().worker, ACTIONS);
  desk.on("echo", () => ({ ok: 1 }));
  assert.throws(() => desk.on("echo", () => ({ ok: 2 })), /registered twice: echo/);
  assert.throws(() => desk.start(), /no handler for: later, fail/);
});

test("a problem of the core arrives unchanged, any other failure as text", async () => {
  const { ports, caller } = both({ handlers: { echo: () => { throw new TypeError("no such field"); } } });
  const calls = [caller.call("fail", []), caller.call("echo", [])].map(end_of);
  await ports.deliver_all();
  const [core, other] = await Promise.all(calls);
  assert.deepEqual(core.reason, { code: "bad_page", message: "There is no such page.", detail: "page 9 of 2", fatal: false });
  assert.equal(other.reason.code, "unexpected");
  assert.equal(other.reason.message, "TypeError: no such field");
});

test("what ends the other side is marked as fatal", async () => {
  const { ports, caller } = both({ fatal: (thrown) => thrown.code === "bad_page", handlers: { echo: () => { throw problem("harmless", "Not so bad."); } } });
  const calls = [caller.call("fail", []), caller.call("echo", [])].map(end_of);
  await ports.deliver_all();
  const [trap, harmless] = await Promise.all(calls);
  assert.equal(trap.reason.fatal, true);
  assert.equal(harmless.reason.fatal, false);
});

test("an aborted call is cancelled at once, and its late reply is dropped", async () => {
  const { ports, caller, asked } = both();
  const stop = new AbortController();
  const call = end_of(caller.call("later", ["slow"], { signal: stop.signal }));
  await ports.deliver();
  stop.abort();
  assert.equal((await call).reason, CANCELLED);
  assert.equal(caller.pending, 0);
  asked[0].release({ ok: "too late" });
  await ports.deliver_all();
  const next = caller.call("echo", ["next"]);
  await ports.deliver_all();
  assert.deepEqual((await next).ok, ["next"]);
});

test("a call that was aborted before it was made is never sent", async () => {
  const { ports, caller } = both();
  const { reason } = await end_of(caller.call("echo", [], { signal: AbortSignal.abort() }));
  assert.equal(reason, CANCELLED);
  assert.equal(ports.under_way.length, 0);
});

test("progress and the start are told to the call that they belong to, and not after its abort", async () => {
  const steps = [];
  const { ports, caller, asked } = both({ handlers: { later: (args, progress) => {
    progress(0.5, `half of ${args[0]}`);
    return new Promise((release) => asked.push(release));
  } } });
  const stop = new AbortController();
  const note = (name) => ({ on_started: () => steps.push(`${name} began`), on_progress: ({ fraction, text }) => steps.push(`${name} ${fraction} ${text}`) });
  void end_of(caller.call("later", ["a"], note("a")));
  void end_of(caller.call("later", ["b"], { ...note("b"), signal: stop.signal }));
  await ports.deliver();
  stop.abort();
  await ports.deliver();
  assert.deepEqual(steps, ["a began", "a 0.5 half of a"]);
});

test("arrays are handed over both ways, not copied", async () => {
  const back = new Float64Array([4, 5]);
  const { ports, caller } = both({ handlers: { echo: ([given]) => ({ ok: { sum: given[0] + given[1], back }, transfer: [back.buffer] }) } });
  const there = new Float64Array([1, 2]);
  const call = caller.call("echo", [there], { transfer: [there.buffer] });
  assert.equal(there.length, 0, "the sender has kept it");
  await ports.deliver_all();
  const { ok } = await call;
  assert.equal(ok.sum, 3);
  assert.deepEqual([...ok.back], [4, 5]);
  assert.equal(back.length, 0, "the worker has kept it");
});

test("what cannot be cloned fails on its own side and leaves no open call", async () => {
  const { ports, caller } = both({ handlers: { echo: () => ({ ok: () => 1 }) } });
  const sent = await end_of(caller.call("later", [() => 1]));
  assert.equal(sent.reason.code, "unexpected");
  const back = end_of(caller.call("echo", []));
  await ports.deliver_all();
  assert.match((await back).reason.message, /clone/);
  assert.equal(caller.pending, 0);
});

test("closing fails every open call with the reason, and later calls throw", async () => {
  const { ports, caller, asked } = both();
  const calls = [caller.call("later", [1]), caller.call("later", [2])].map(end_of);
  await ports.deliver();
  const reason = problem("core_stopped", "Stopped.");
  caller.close(reason);
  assert.deepEqual(await Promise.all(calls), [{ reason }, { reason }]);
  asked[0].release({ ok: 1 });
  await ports.deliver_all();
  assert.throws(() => caller.call("echo", []), /closed port/);
});

test("every message is a sign of life, also one that nobody waits for any more", async () => {
  const { ports, caller, heard, asked } = both();
  const stop = new AbortController();
  void end_of(caller.call("later", [], { signal: stop.signal }));
  await ports.deliver();
  stop.abort();
  asked[0].release({ ok: 1 });
  await ports.deliver_all();
  assert.equal(heard.times, 2);
});
