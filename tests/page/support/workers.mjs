// Fake workers with a fake core in each, and a clock that the test turns. The core counts: a map for every file, and a value that
// `set_map` changes, so that a session that is brought back can be told from one that began anew.

import { Desk } from "../../../www/app/messenger.js";
import { ALL_ACTIONS, problem } from "../../../www/app/protocol.js";
import { CoreClient } from "../../../www/app/core-client.js";
import { settled } from "./ports.mjs";

export class Trap extends Error {}

/** @returns timers that run only when `pass` says that time has passed */
export function fakeClock() {
  let now = 0;
  let next = 1;
  const timers = new Map();
  return {
    set_timer(run, ms) {
      timers.set(next, { run, due: now + ms });
      return next++;
    },
    clear_timer: (id) => timers.delete(id),
    async pass(ms) {
      const end = now + ms;
      for (;;) {
        await settled();
        const due = [...timers].filter(([, timer]) => timer.due <= end).sort(([, a], [, b]) => a.due - b.due)[0];
        if (!due) break;
        timers.delete(due[0]);
        now = due[1].due;
        due[1].run();
      }
      now = end;
    },
    get running() {
      return timers.size;
    },
  };
}

/** All workers that were ever made, and what to do to them.
 * `meddle(action, args, worker)` may throw, hang (give a promise that never ends) or do nothing. */
export function fakeWorld({ meddle = () => {}, ...parts } = {}) {
  const workers = [];
  const events = [];
  const clock = fakeClock();
  const world = { workers, events, clock, meddle };

  function make_worker() {
    const inner = { onmessage: null, postMessage: (message, transfer) => outward(structuredClone(message, { transfer })) };
    const worker = { number: workers.length + 1, ended: false, asked: [], onmessage: null, onerror: null, inner,
      postMessage: (message, transfer) => inward(structuredClone(message, { transfer })),
      terminate: () => (worker.ended = true),
      /** The browser says that the worker failed. */
      fail: (message) => worker.onerror?.({ message, preventDefault() {} }),
    };
    const waiting = [];
    const outward = (data) => setImmediate(() => worker.ended || worker.onmessage?.({ data }));
    // A worker that computes takes no message: a hanging action keeps all later ones from beginning.
    const inward = (data) => {
      waiting.push(data);
      setImmediate(take);
    };
    const take = () => {
      if (worker.ended || worker.hangs || waiting.length === 0) return;
      const data = waiting.shift();
      worker.asked.push(["open", "open_photo", "read_photo"].includes(data.action) ? `${data.action} ${data.args[0].name}` : data.action);
      inner.onmessage({ data });
      setImmediate(take);
    };
    core(world, worker);
    workers.push(worker);
    return worker;
  }

  world.client = new CoreClient({
    make_worker,
    get_module: async () => "the module",
    notify: (event) => events.push(event),
    set_timer: clock.set_timer,
    clear_timer: clock.clear_timer,
    silence_ms: 1000,
    grace_ms: 100,
    ...parts,
  });
  return world;
}

/** A promise that never ends; the worker takes nothing more. */
export function hang(worker) {
  worker.hangs = true;
  return new Promise(() => {});
}

function core(world, worker) {
  const files = [];
  const held = [];
  let value = 0;
  const regions = [];
  const record = () => ({ files: [...files], value, ...(regions.length > 0 ? { regions: [...regions] } : {}) });
  const desk = new Desk(worker.inner, ALL_ACTIONS, (thrown) => thrown instanceof Trap);
  const handlers = {
    load: ([module]) => ({ ok: `core of ${module}` }),
    open: ([{ name }]) => {
      const good = !name.startsWith("bad");
      if (good) files.push(name);
      const notices = good ? [] : [{ severity: "error", code: "empty", file: name, text: "Empty." }];
      return { ok: { maps: good ? [name] : [], photos: [], notices, asks: [], is_kept: good }, record: record() };
    },
    read_photo: ([{ name }]) => {
      if (!name.startsWith("photo")) return { ok: null };
      const pixels = new Uint8Array([1, 2, 3]);
      return { ok: { sha256: name, size: 5e6, notices: [], photo: { width: 2, height: 2, factor: 2, kept_width: 1, kept_height: 1, pixels } },
        transfer: [pixels.buffer] };
    },
    open_photo: ([{ name }, read]) => {
      if (read.photo.pixels.length !== 3) throw problem("bad_setting", "Pixels are missing.");
      if (name.includes("grey")) return { ok: null, record: record() };
      files.push(name);
      return { ok: { maps: [], photos: [name], notices: [], asks: [], is_kept: true }, record: record() };
    },
    maps: () => ({ ok: files.map((name) => ({ id: name, value })) }),
    set_map: ([, settings]) => {
      value = settings.value;
      return { ok: value, record: record() };
    },
    add_region: ([settings]) => {
      regions.push(settings.name);
      return { ok: { id: `r${regions.length}`, name: settings.name }, record: record() };
    },
    apply: ([kept]) => {
      value = kept.value;
      return { ok: null, record: record() };
    },
    subject: ([question, settings]) => ({ ok: { question, settings, value } }),
    run: ([, , subject], progress) => {
      progress(0.5, "half");
      return { ok: { answer: { id: `of ${subject.value}` }, rasters: { classes: { width: 1, height: 1, data: new Uint8Array([3]) } } } };
    },
    adopt: ([{ answer }]) => {
      held.push(answer.id);
      return { ok: { ...answer, adopted: true } };
    },
    picture: ([{ answer }]) => {
      if (answer !== undefined && !held.includes(answer)) throw problem("answer_not_held", "This answer is not held.");
      return { ok: { rgba: [value, files.length] } };
    },
  };
  for (const action of ALL_ACTIONS) {
    const answer = handlers[action] ?? (() => ({ ok: null }));
    desk.on(action, async (args, progress) => {
      await world.meddle(action, args, worker);
      return answer(args, progress);
    });
  }
  desk.start();
}

/** A file as far as the client looks at it. */
export const file = (name, size = 10) => ({ file: { name, size }, name, way: null });

/** The same with bytes to begin with; by default a JPEG large enough for a worker of its own. */
export const picture = (name, size = 5e6, start = [0xff, 0xd8, 0xff, 0xe0]) =>
  ({ file: { name, size, slice: (from, to) => new Blob([new Uint8Array(start).slice(from, to)]) }, name, way: null });
