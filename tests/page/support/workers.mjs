// Fake workers with a fake core in each, and a clock that the test turns. The core counts: a map for every file, and a value that
// `set_map` changes, so that a session that is brought back can be told from one that began anew. What is kept is a blob, and a file
// of a study is a JSON text.

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
    get now() {
      return now;
    },
  };
}

/** All workers that were ever made, and what to do to them.
 * `meddle(action, args, worker)` may throw, hang (give a promise that never ends) or do nothing. */
export function fakeWorld({ meddle = () => {}, ...parts } = {}) {
  const workers = [];
  const events = [];
  const snapshots = [];
  const clock = fakeClock();
  const world = { workers, events, snapshots, clock, meddle };

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
    notify: (event) => (event.type === "changed" ? snapshots.push(event.snapshot) : events.push(event)),
    now: () => clock.now,
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

/** The hash of a file, as the fake core has it. */
export const hash_of = (name) => Buffer.from(name).toString("hex").padEnd(64, "0").slice(0, 64);

function core(world, worker) {
  let inputs = [];
  let open = [];
  let made = 0;
  const held = [];
  const blobs = new Map();
  let fresh = [];
  let value = 0;
  let regions = [];
  let findings = [];
  const give = (given) => (given ?? []).forEach(({ sha256, bytes }) => blobs.set(sha256, bytes));
  const record = () => ({ inputs: [...inputs], value, ...(regions.length > 0 ? { regions: [...regions] } : {}), ...(findings.length > 0 ? { findings: [...findings] } : {}) });
  const state = (kept) => {
    inputs = [...kept.inputs];
    made = Math.max(made, ...inputs.map(({ before }) => before + 1));
    value = kept.value;
    regions = [...(kept.regions ?? [])];
    findings = [...(kept.findings ?? [])];
  };
  let last = "";
  const changed = (ok) => {
    const now = record();
    const change = JSON.stringify(now) === last ? "" : `now ${now.value}, ${now.inputs.length} files, ${regions.length} regions`;
    last = JSON.stringify(now);
    const given = fresh;
    fresh = [];
    return { ok, record: now, change, blobs: given };
  };
  /** True where it was not open yet. */
  const take = (name) => {
    if (open.includes(name)) return false;
    open.push(name);
    if (!inputs.some((input) => input.name === name)) inputs.push({ name, sha256: hash_of(name), way: null, before: made++ });
    inputs.sort((a, b) => a.before - b.before);
    return true;
  };
  const desk = new Desk(worker.inner, ALL_ACTIONS, (thrown) => thrown instanceof Trap);
  const handlers = {
    load: ([module]) => ({ ok: `core of ${module}`, record: record() }),
    open: ([{ name }]) => {
      const good = !name.startsWith("bad") && take(name);
      const notices = good ? [] : [{ severity: "error", code: "empty", file: name, text: "Empty." }];
      return changed({ maps: good ? [name] : [], photos: [], notices, asks: [], is_kept: good, ...(good ? { sha256: hash_of(name) } : {}) });
    },
    read_photo: ([{ name }]) => {
      if (!name.startsWith("photo")) return { ok: null };
      const pixels = new Uint8Array([1, 2, 3]);
      return { ok: { sha256: name, size: 5e6, notices: [], photo: { width: 2, height: 2, factor: 2, kept_width: 1, kept_height: 1, pixels } },
        transfer: [pixels.buffer] };
    },
    open_photo: ([{ name }, read]) => {
      if (read.photo.pixels.length !== 3) throw problem("bad_setting", "Pixels are missing.");
      if (name.includes("grey")) return changed(null);
      const good = take(name);
      return changed({ maps: [], photos: good ? [name] : [], notices: [], asks: [], is_kept: good, ...(good ? { sha256: hash_of(name) } : {}) });
    },
    maps: () => ({ ok: inputs.filter(({ name }) => open.includes(name)).map(({ name }) => ({ id: name, value })) }),
    set_map: ([, settings]) => {
      value = settings.value;
      return changed(value);
    },
    add_region: ([settings]) => {
      regions.push(settings.name);
      return changed({ id: `r${regions.length}`, name: settings.name });
    },
    apply: ([kept, given]) => {
      give(given);
      state(kept);
      return changed(null);
    },
    restate: ([kept, given]) => {
      give(given);
      state(kept);
      open = open.filter((name) => inputs.some((input) => input.name === name));
      return changed({ missing: inputs.filter(({ name }) => !open.includes(name)).map(({ sha256 }) => sha256) });
    },
    keep: ([settings]) => {
      const sha256 = hash_of(`kept ${settings.title}`);
      findings.push({ title: settings.title, answer: sha256 });
      blobs.set(sha256, new Uint8Array([1, 2]));
      fresh.push({ sha256, bytes: new Uint8Array([1, 2]) });
      return changed({ id: `f${findings.length}` });
    },
    set_finding: ([id, settings]) => {
      const at = Number(id.slice(1)) - 1;
      findings[at] = { ...findings[at], ...settings };
      return changed({ id });
    },
    findings: () => ({ ok: findings.map((one) => ({ ...one, trouble: blobs.has(one.answer) ? "" : "lost" })) }),
    difference: ([before, after]) => ({ ok: `${after.inputs.length - before.inputs.length} files opened` }),
    save: () => ({ ok: [new Uint8Array([80, 75]), ...inputs.map(({ sha256 }) => ({ source: sha256, size: 1 }))] }),
    restore: async ([file]) => {
      const text = await file.text();
      if (!text.startsWith("{")) throw problem("bad_study", "This is no study.");
      const study = JSON.parse(text);
      open = study.names;
      state({ ...study, inputs: study.names.map((name, before) => ({ name, sha256: hash_of(name), way: null, before })) });
      give(study.findings?.map(({ answer }) => ({ sha256: answer, bytes: new Uint8Array([9]) })));
      const kept = (study.findings ?? []).map(({ answer }) => ({ sha256: answer, bytes: new Uint8Array([9]) }));
      return { ...changed({ maps: open, photos: [], notices: [] }), blobs: kept, inputs: inputs.map(({ name, sha256 }, at) => ({ name, sha256, way: null, from: at, to: at + 1 })) };
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
      return { ok: { rgba: [value, open.length] } };
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

/** The same with bytes to begin with; by default a JPEG large enough for a worker of its own. What goes from worker to worker is cloned,
 * and a file with a function cannot be: the fake worker gets it without. */
export const picture = (name, size = 5e6, start = [0xff, 0xd8, 0xff, 0xe0]) => {
  const slice = (from, to) => new Blob([new Uint8Array(start).slice(from, to)]);
  return { file: Object.defineProperty({ name, size }, "slice", { value: slice, enumerable: false }), name, way: null };
};
