import assert from "node:assert/strict";
import { test } from "node:test";
import { Limner } from "../../www/app/limner.js";
import { CANCELLED, problem } from "../../www/app/protocol.js";
import { end_of, settled, still_open } from "./support/ports.mjs";

const named = (name) => ({ name, bytes: new Uint8Array([1]) });

/** The calls over a core in which every file gives one map, when the test lets it be read. */
function calls({ at_once = true, demo = [] } = {}) {
  const reading = [];
  const read = new Set();
  const events = [];
  const client = {
    version: "0.1.0",
    open: (file) => new Promise((resolve, reject) => {
      const done = () => {
        read.add(file.name);
        const asks = file.name.startsWith("doubtful") && file.way === null
          ? [{ file: file.name, sha256: file.name === "doubtful.csv" ? "abc" : file.name, question: "Which?", ways: [{ key: "rows", text: "as rows", sample: "" }, { key: "table", text: "as a table", sample: "" }] }] : [];
        resolve({ maps: asks.length > 0 ? [] : [`map of ${file.name}`], photos: [], notices: [], asks, is_kept: asks.length === 0 });
      };
      reading.push({ name: file.name, done, fail: reject });
      if (at_once) done();
    }),
    call: async (action, args) => {
      if (action === "maps") return [...read];
      if (action === "map" && !read.has(args[0])) throw problem("unknown_map", `No map ${args[0]}.`);
      return { action, args };
    },
    ask: async (question, settings) => ({ question, settings, read: [...read] }),
    retell: async () => {},
  };
  const limner = new Limner(client, () => demo, (event) => events.push(event));
  return { limner, reading, events, client };
}

test("files are read one after the other, in their order, and everything is told", async () => {
  const { limner, reading, events } = calls({ at_once: false });
  const opened = limner.open([named("a"), named("b")]);
  await settled();
  assert.deepEqual(reading.map(({ name }) => name), ["a"]);
  reading[0].done();
  await settled();
  reading[1].done();
  assert.deepEqual((await opened).maps, ["map of a", "map of b"]);
  assert.deepEqual(events.map(({ type, done, total, name }) => [type, done, total, name].filter((part) => part !== undefined)),
    [["reading", 0, 2, "a"], ["read"], ["reading", 1, 2, "b"], ["read"], ["reading_over"]]);
});

test("a bad file is a notice with its name, and the rest is read", async () => {
  const { limner, reading } = calls({ at_once: false });
  const opened = limner.open([named("bad"), named("good")]);
  await settled();
  reading[0].fail(problem("file_unreadable", "The browser could not read this file."));
  await settled();
  reading[1].done();
  const { maps, notices } = await opened;
  assert.deepEqual(maps, ["map of good"]);
  assert.deepEqual(notices, [{ severity: "error", code: "file_unreadable", file: "bad", text: "The browser could not read this file." }]);
});

test("a file that asks is kept until it is read in one of its ways", async () => {
  const { limner, reading } = calls();
  const opened = await limner.open([named("doubtful.csv")]);
  assert.deepEqual([opened.maps, opened.asks.map(({ sha256 }) => sha256)], [[], ["abc"]]);
  assert.deepEqual((await limner.read_as("abc", "rows")).maps, ["map of doubtful.csv"]);
  assert.equal(reading.length, 2);
  await assert.rejects(limner.read_as("abc", "table"), { code: "unknown_file" });
});

test("one way is chosen for several files at once; those that were not read because it was stopped are asked about again", async () => {
  const { limner, reading, events } = calls({ at_once: false });
  const first = limner.open([named("doubtful 1"), named("doubtful 2")]);
  for (const at of [0, 1]) {
    await settled();
    reading[at].done();
  }
  assert.equal((await first).asks.length, 2);
  const second = limner.read_as(["doubtful 1", "doubtful 2"], "rows");
  await settled();
  events.at(-1).stop();
  reading[2].done();
  const { maps, asks } = await second;
  assert.deepEqual([maps, asks.map(({ sha256 }) => sha256), reading.length], [["map of doubtful 1"], ["doubtful 2"], 3]);
  assert.deepEqual(events.at(-1).opened.asks.map(({ sha256 }) => sha256), ["doubtful 2"], "the page is told");
  await assert.rejects(limner.read_as(["doubtful 1", "doubtful 2"], "rows"), { code: "unknown_file" });
});

test("a core that stopped while reading blames the file that it was reading", async () => {
  const { limner, reading } = calls({ at_once: false });
  const opened = limner.open([named("a")]);
  await settled();
  reading[0].fail(problem("core_stopped", "This computation stopped."));
  const { notices } = await opened;
  assert.match(notices[0].text, /^Reading this file stopped unexpectedly, so it was left out/);
});

test("reading can be stopped: what was read stays, what was not is left", async () => {
  const { limner, reading, events } = calls({ at_once: false });
  const opened = limner.open([named("a"), named("b"), named("c")]);
  await settled();
  events[0].stop();
  reading[0].done();
  assert.deepEqual((await opened).maps, ["map of a"]);
  assert.equal(reading.length, 1);
  assert.equal(events.at(-1).type, "reading_over");
});

test("stopped or aborted while a photo is decoded, it is left out at once and not told as a fault", async () => {
  for (const abort of [false, true]) {
    const { limner, reading, events, client } = calls({ at_once: false });
    const open = client.open;
    const signals = [];
    client.open = (input, options, decoding) => {
      signals.push(decoding);
      const opening = open(input);
      decoding.addEventListener("abort", () => reading.at(-1).fail({ ...CANCELLED }));
      return opening;
    };
    const stop = new AbortController();
    const opened = end_of(limner.open([named("a"), named("photo"), named("c")], { signal: stop.signal }));
    await settled();
    reading[0].done();
    await settled();
    if (abort) stop.abort();
    else events.findLast(({ type }) => type === "reading").stop();
    const { value, reason } = await opened;
    if (abort) assert.equal(reason, CANCELLED);
    else assert.deepEqual([value.maps, value.notices], [["map of a"], []]);
    assert.equal(signals.length, 2);
    assert.equal(events.at(-1).type, "reading_over");
  }
});

test("an aborted opening rejects, and the next opening is not held up by it", async () => {
  const { limner } = calls();
  const stop = new AbortController();
  stop.abort();
  assert.equal((await end_of(limner.open([named("a")], { signal: stop.signal }))).reason, CANCELLED);
  assert.deepEqual((await limner.open([named("b")])).maps, ["map of b"]);
});

test("a second opening waits for the first", async () => {
  const { limner, reading } = calls({ at_once: false });
  void limner.open([named("a")]);
  void limner.open([named("b")]);
  await settled();
  assert.deepEqual(reading.map(({ name }) => name), ["a"]);
  reading[0].done();
  await settled();
  assert.deepEqual(reading.map(({ name }) => name), ["a", "b"]);
});

test("lists and questions wait for what is being opened", async () => {
  const { limner, reading } = calls({ at_once: false });
  void limner.open([named("a")]);
  const maps = limner.maps();
  const asked = limner.ask("ratio", { a: "a" });
  assert.equal(await still_open(maps), true);
  reading[0].done();
  assert.deepEqual(await maps, ["a"]);
  assert.deepEqual((await asked).read, ["a"]);
});

test("a map is had at once if it is there, after the opening if it comes with it, and else not", async () => {
  const { limner, reading } = calls({ at_once: false });
  assert.equal((await end_of(limner.map("a"))).reason.code, "unknown_map");
  void limner.open([named("a"), named("b")]);
  const of_b = limner.map("b");
  const of_none = end_of(limner.map("c"));
  await settled();
  reading[0].done();
  assert.deepEqual((await limner.map("a")).args, ["a"]);
  assert.equal(await still_open(of_b), true);
  await settled();
  reading[1].done();
  assert.deepEqual((await of_b).args, ["b"]);
  assert.equal((await of_none).reason.code, "unknown_map");
});

test("what changes maps or grid is told to the page, also when a script did it", async () => {
  const { limner, events } = calls();
  await limner.set_map("m1", { kind: "net" });
  await limner.set_grid({ step_x_um: 100, step_y_um: 100 });
  assert.deepEqual(events.map(({ type }) => type), ["maps_changed", "grid_changed"]);
});

test("anything but a list of files is refused with what to give", async () => {
  const { limner } = calls();
  for (const given of [undefined, null, 3, named("a"), [3]]) {
    const { reason } = await end_of(limner.open(given));
    assert.equal(reason?.code, "bad_call");
    assert.match(reason.message, /^Give /);
  }
});

test("the example is opened like any files, and progress goes from nothing to all", async () => {
  const { limner } = calls({ demo: [named("a"), named("b")] });
  const progress = [];
  const { maps } = await limner.open_demo({ on_progress: ({ fraction }) => progress.push(fraction) });
  assert.deepEqual(maps, ["map of a", "map of b"]);
  assert.deepEqual(progress, [0, 0.5, 1]);
  assert.equal(limner.version, "0.1.0");
});

test("what is called while the example is still unpacked waits for it", async () => {
  const { limner } = calls({ demo: new Promise((resolve) => setTimeout(() => resolve([named("a"), named("b")]), 20)) });
  const opening = limner.open_demo();
  assert.deepEqual(await limner.maps(), ["a", "b"]);
  assert.deepEqual((await opening).maps, ["map of a", "map of b"]);
});

test("histogram, colours and read-out are asked as they are given", async () => {
  const { limner } = calls();
  assert.deepEqual(await limner.histogram("m1", { scale: "logarithmic", bins: 64 }), { action: "histogram", args: ["m1", { scale: "logarithmic", bins: 64 }] });
  assert.deepEqual(await limner.histogram("m1"), { action: "histogram", args: ["m1", {}] });
  assert.deepEqual(await limner.colours(), { action: "colours", args: [] });
  assert.deepEqual((await limner.read_out(1.5, 2.5)).args, [1.5, 2.5, {}]);
  assert.deepEqual((await limner.read_out(1.5, 2.5, { answer: "r1", show: "classes" })).args, [1.5, 2.5, { answer: "r1", show: "classes" }]);
});

test("an exported picture is a file of its type, of what is open once reading is over", async () => {
  const { limner, client, reading } = calls({ at_once: false });
  const asked = [];
  client.call = async (action, args) => (asked.push([action, args]), { bytes: new Uint8Array([137, 80, 78, 71]), type: "image/png", name: "Fe K.png" });
  void limner.open([named("a")]);
  const settings = { settings: { map: "m1" }, width_mm: 120, dpi: 300, title: "Fe K" };
  const exported = limner.export("picture", settings);
  assert.equal(await still_open(exported), true);
  reading[0].done();
  const file = await exported;
  assert.ok(file instanceof Blob);
  assert.deepEqual([file.type, file.name, [...new Uint8Array(await file.arrayBuffer())]], ["image/png", "Fe K.png", [137, 80, 78, 71]]);
  await limner.export("record");
  assert.deepEqual(asked, [["export", ["picture", settings]], ["export", ["record", {}]]]);
  client.call = () => Promise.reject(problem("bad_setting", "Too wide."));
  assert.equal((await end_of(limner.export("picture", settings))).reason.code, "bad_setting");
});

test("regions are the core's: what is handed in and given back passes as it is, and changes are told", async () => {
  const { limner, events } = calls();
  const sky = { name: "sky", mask: new Uint8Array([1, 0]) };
  assert.deepEqual(await limner.add_region(sky), { action: "add_region", args: [sky] });
  assert.deepEqual(await limner.set_region("sky", { role: "ground" }), { action: "set_region", args: ["sky", { role: "ground" }] });
  assert.deepEqual(events, [{ type: "regions_changed" }, { type: "regions_changed" }]);
  assert.deepEqual(await limner.preview_region(sky), { action: "preview_region", args: [sky] });
  assert.deepEqual(await limner.region("sky"), { action: "region", args: ["sky"] });
  assert.deepEqual(await limner.regions(), { action: "regions", args: [] });
  assert.equal(events.length, 2, "looking changes nothing");
});

test("points are the core's: what is handed in and given back passes as it is, and changes are told", async () => {
  const { limner, events } = calls();
  const point = { x_mm: 3, y_mm: 4, technique: "Raman", result: "band at 253", pigment: "vermilion", says: "found" };
  assert.deepEqual(await limner.add_point(point), { action: "add_point", args: [point] });
  assert.deepEqual(await limner.set_point("a1", { says: "open" }), { action: "set_point", args: ["a1", { says: "open" }] });
  assert.deepEqual(events, [{ type: "points_changed" }, { type: "points_changed" }]);
  assert.deepEqual(await limner.points(), { action: "points", args: [] });
  assert.deepEqual(await limner.techniques(), { action: "techniques", args: [] });
  assert.deepEqual(await limner.materials(), { action: "materials", args: [] });
  assert.deepEqual(await limner.layers(), { action: "layers", args: [] });
  assert.equal(events.length, 2, "looking changes nothing");
});

test("spectra are the core's: what is handed in and given back passes as it is, and changes are told", async () => {
  const { limner, events } = calls();
  const spectrum = { name: "sum.txt", bytes: new Uint8Array([49, 10]), region: "sky", how: "sum", first_kev: 0, step_kev: 0.01 };
  assert.deepEqual(await limner.add_spectrum(spectrum), { action: "add_spectrum", args: [spectrum] });
  assert.deepEqual(events, [{ type: "spectra_changed" }]);
  assert.deepEqual(await limner.spectra(), { action: "spectra", args: [] });
  assert.deepEqual(await limner.spectrum("s1", { elements: ["Pb"] }), { action: "spectrum", args: ["s1", { elements: ["Pb"] }] });
  assert.deepEqual(await limner.spectrum("s1"), { action: "spectrum", args: ["s1", {}] });
  assert.equal(events.length, 1, "looking changes nothing");
});

test("what was removed or renamed, a region or a map, is what is said to have changed", async () => {
  const { limner, events, client } = calls();
  const told = async (given, call) => {
    client.call = async () => given;
    events.length = 0;
    await call();
    return events.map(({ type }) => type);
  };
  assert.deepEqual(await told("region", () => limner.remove("r1")), ["regions_changed"]);
  assert.deepEqual(await told("map", () => limner.remove("d1")), ["maps_changed"]);
  assert.deepEqual(await told("spectrum", () => limner.remove("s1")), ["spectra_changed"]);
  assert.deepEqual(await told("point", () => limner.remove("a1")), ["points_changed"]);
  assert.deepEqual(await told({ id: "r1", makers: [] }, () => limner.rename("r1", "sky")), ["regions_changed"]);
  assert.deepEqual(await told({ id: "m1", file: "a.tif" }, () => limner.rename("m1", "Copper")), ["maps_changed"]);
});

test("a region that is refused is told to the caller and to nobody else", async () => {
  const { limner, events, client } = calls();
  client.call = async () => {
    throw problem("empty_region", "No pixel is inside.");
  };
  await assert.rejects(limner.add_region({ name: "sky", polygon: [] }), { code: "empty_region" });
  await assert.rejects(limner.remove("sky"), { code: "empty_region" });
  assert.deepEqual(events, []);
});
