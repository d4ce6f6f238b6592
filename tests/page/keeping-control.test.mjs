import assert from "node:assert/strict";
import { mock, test } from "node:test";
import { KeptStore } from "../../www/app/kept-store.js";
import { KeepingControl, isKeepingAction } from "../../www/app/keeping-control.js";
import { barOf, entryWords, placeText, sizeOf, stripOf, whenOf } from "../../www/app/keeping-words.js";
import { problem } from "../../www/app/protocol.js";
import { START, reduce } from "../../www/app/state.js";
import { isLocked, takeLock } from "../../www/app/study-lock.js";
import { fakeDatabase, fakeDisk } from "./support/database.mjs";
import { settled } from "./support/ports.mjs";

// What waits for a quiet moment waits for the test.
mock.timers.enable({ apis: ["setTimeout"] });

const notes = (held = new Map()) => ({ get: (name) => held.get(name) ?? null, set: (name, text) => held.set(name, text), remove: (name) => held.delete(name), held });

/** Locks of one browser; each tab has its own hand on them. */
function fakeLocks() {
  const held = new Map();
  const waiting = new Map();
  const next = (name) => {
    const [one, ...rest] = waiting.get(name) ?? [];
    waiting.set(name, rest);
    if (one) grant(name, one);
  };
  const grant = (name, { run, resolve, reject, tab }) => {
    held.set(name, tab);
    Promise.resolve(run({ name })).then(resolve, reject).finally(() => {
      if (held.get(name) !== tab) return;
      held.delete(name);
      next(name);
    });
  };
  return {
    held,
    tab: (tab) => ({
      request: (name, options, run) => new Promise((resolve, reject) => {
        if (options.ifAvailable && held.has(name)) return resolve(run(null));
        if (!held.has(name)) return grant(name, { run, resolve, reject, tab });
        const one = { run, resolve, reject, tab };
        options.signal?.addEventListener("abort", () => reject(options.signal.reason));
        waiting.set(name, [...(waiting.get(name) ?? []), one]);
      }),
    }),
    /** The tab is closed: what it held is free. */
    close(tab) {
      for (const [name, of] of [...held]) if (of === tab) {
        held.delete(name);
        next(name);
      }
    },
  };
}

/** One tab of a browser. */
function tab({ disk = fakeDisk(), locks = fakeLocks(), browser = notes(), session = notes(), where = "site", copy = "", name = "one", resume = async () => {}, ...more } = {}) {
  let state = START;
  const page = { resumed: [], read_only: null, told: [] };
  const desk = {
    state: () => state,
    change(change) {
      const before = state;
      state = reduce(state, change);
      control.state_changed(before);
    },
    set_read_only: (why) => (page.read_only = why),
  };
  const limner = {
    async resume(snapshot) {
      await resume(snapshot);
      page.resumed.push(snapshot);
      control.changed(snapshot);
    },
  };
  const world = { where, copy, database: fakeDatabase(disk), locks: locks?.tab(name), storage: undefined, tab: session, browser, asks_nothing: false, now: () => 1e12, ...more };
  const control = new KeepingControl(limner, desk, world);
  return { control, database: world.database, page, disk, locks, browser, session, desk, stored: () => state.stored, state: () => state };
}

const snapshot = (number, more = {}) => ({
  record: { version: 6, number, about: { object: "Panel" }, findings: [] }, history: { position: 0, steps: [] },
  inputs: [{ sha256: "a".repeat(64), name: "Fe.tif", way: null, file: new File([new Uint8Array(50)], "Fe.tif") }], blobs: new Map(), ...more,
});
const heads = async (disk) => (await KeptStore.open(fakeDatabase(disk))).heads();

test("on a site work is kept from the first file on, and offered the next time", async () => {
  const one = tab();
  assert.equal(await one.control.start(), false);
  one.control.changed(snapshot(0, { inputs: [] }));
  await settled();
  assert.deepEqual([await heads(one.disk), one.stored().how], [[], "on"], "there is nothing to keep yet");
  one.control.changed(snapshot(1));
  one.control.changed(snapshot(2));
  await settled();
  assert.equal(one.stored().told.status, "kept");
  const next = tab({ disk: one.disk });
  assert.equal(await next.control.start(), false, "another tab does not go on by itself");
  const [entry] = next.stored().studies;
  assert.deepEqual([entry.title, entry.updated], ["Panel", 1e12]);
  next.control.send({ type: "go_on", id: entry.id });
  await settled();
  assert.equal(next.page.resumed[0].record.number, 2);
  assert.equal(next.page.resumed[0].inputs[0].file.name, "Fe.tif");
  next.control.changed(snapshot(3));
  await settled();
  assert.equal((await heads(one.disk)).length, 1, "it is the same study");
});

test("a tab that is loaded again goes on by itself, unless something was opened meanwhile", async () => {
  const one = tab();
  await one.control.start();
  one.control.changed(snapshot(1));
  await settled();
  one.locks.close("one");
  const again = tab({ disk: one.disk, session: one.session, locks: one.locks, name: "again" });
  assert.equal(await again.control.start(), true);
  assert.equal(again.page.resumed[0].record.number, 1);
  again.locks.close("again");
  const busy = tab({ disk: one.disk, session: one.session, locks: one.locks, name: "busy" });
  busy.control.changed(snapshot(9));
  assert.equal(await busy.control.start(), false);
  await settled();
  assert.equal((await heads(one.disk)).length, 2, "what was opened is another study");
});

test("a second tab only reads, and takes over what the first did last", async () => {
  const one = tab();
  await one.control.start();
  one.control.changed(snapshot(1));
  await settled();
  const two = tab({ disk: one.disk, locks: one.locks, name: "two" });
  await two.control.start();
  const [{ id }] = two.stored().studies;
  two.control.send({ type: "go_on", id });
  await settled();
  mock.timers.tick(2000);
  await settled();
  assert.deepEqual([two.stored().is_read_only, two.stored().is_free], [true, false]);
  assert.match(two.page.read_only, /another tab/);
  two.control.changed(snapshot(50));
  one.control.changed(snapshot(2));
  await settled();
  two.control.send({ type: "take_over" });
  await settled();
  assert.equal(two.stored().is_read_only, true, "as long as the first is open");
  two.control.send({ type: "forget_kept", id });
  one.locks.close("one");
  await settled();
  assert.equal(two.stored().is_free, true);
  two.control.send({ type: "take_over" });
  await settled();
  assert.deepEqual([two.page.resumed.at(-1).record.number, two.page.read_only, two.stored().is_read_only, two.stored().told.status], [2, null, false, "kept"]);
});

test("from disk nothing is written before it is wanted, and nothing is left after", async () => {
  const one = tab({ where: "disk" });
  await one.control.start();
  one.control.changed(snapshot(1));
  await settled();
  assert.deepEqual([one.disk.stores, one.stored().how, one.browser.held.size, one.session.held.size], [null, "asks", 0, 0]);
  one.control.send({ type: "keep_here" });
  await settled();
  assert.equal((await heads(one.disk)).length, 1);
  one.locks.close("one");
  // The word was lost with a crash; what was kept after it was not.
  const next = tab({ where: "disk", disk: one.disk, locks: one.locks });
  await next.control.start();
  assert.deepEqual([next.stored().how, next.stored().studies.length], ["on", 1]);
  next.control.send({ type: "stop_keeping" });
  await settled();
  assert.deepEqual([next.disk.stores, next.stored().how, next.stored().studies, next.browser.held.size], [null, "asks", [], 0]);
  next.control.changed(snapshot(2));
  await settled();
  assert.equal(next.disk.stores, null);
});

test("a shared copy keeps nothing unless asked, and shows only what was kept in it", async () => {
  const page = tab({ where: "disk", browser: notes(new Map([["limner keeps", "yes"]])) });
  await page.control.start();
  page.control.changed(snapshot(1));
  await settled();
  const copy = tab({ where: "copy", copy: "c1", disk: page.disk, browser: page.browser });
  await copy.control.start();
  copy.control.changed(snapshot(7));
  await settled();
  assert.deepEqual([copy.stored().how, copy.stored().studies, (await heads(page.disk)).length], ["asks", [], 1]);
  copy.control.send({ type: "keep_here" });
  await settled();
  const again = tab({ where: "copy", copy: "c1", disk: page.disk, browser: page.browser });
  await again.control.start();
  const other = tab({ where: "copy", copy: "c2", disk: page.disk, browser: page.browser });
  await other.control.start();
  const plain = tab({ where: "disk", disk: page.disk, browser: page.browser });
  await plain.control.start();
  assert.deepEqual([again.stored().studies.length, other.stored().studies.length, plain.stored().studies.length], [1, 0, 1]);
});

test("what cannot be read, or is refused by the core, costs one sentence", async () => {
  const one = tab();
  await one.control.start();
  one.control.changed(snapshot(1));
  await settled();
  one.locks.close("one");
  const { stores } = one.disk;
  stores.get("studies").set("odd", { id: "odd", form: 99 });
  const refused = tab({ disk: one.disk, locks: one.locks, resume: async () => {
    throw problem("bad_record", "The record is not one.");
  } });
  await refused.control.start();
  assert.deepEqual([refused.stored().studies.length, refused.stored().unreadable], [1, ["odd"]]);
  const [{ id }] = refused.stored().studies;
  refused.control.send({ type: "go_on", id });
  await settled();
  assert.deepEqual([refused.stored().trouble, refused.stored().going_on, refused.page.read_only], ["The record is not one.", null, null]);
  assert.equal(await isLocked(one.locks.tab("x"), id), false, "it can be tried elsewhere");
  stores.set("studies", new Map([...stores.get("studies")].map(([key, head]) => [key, key === id ? { ...head, now: { record: { r: "gone" } } } : head])));
  refused.control.send({ type: "go_on", id });
  await settled();
  assert.match(refused.stored().trouble, /damaged/);
  refused.control.send({ type: "go_on", id: "never" });
  await settled();
  assert.match(refused.stored().trouble, /no longer kept/);
  refused.control.send({ type: "forget_kept" });
  await settled();
  assert.deepEqual([refused.stored().studies, refused.stored().unreadable, stores.get("studies").size], [[], [], 0]);
});

test("a study that is open elsewhere is not forgotten", async () => {
  const one = tab();
  await one.control.start();
  one.control.changed(snapshot(1));
  await settled();
  const two = tab({ disk: one.disk, locks: one.locks, name: "two" });
  await two.control.start();
  two.control.send({ type: "forget_kept" });
  await settled();
  assert.match(two.stored().trouble, /another tab/);
  assert.equal((await heads(one.disk)).length, 1);
});

test("a page works on where the browser keeps nothing", async () => {
  for (const more of [{ database: null }, { database: { factory: { open: () => { throw new Error("SecurityError"); } }, range: () => null } }]) {
    const one = tab(more);
    assert.equal(await one.control.start(), false);
    one.control.changed(snapshot(1));
    await settled();
    assert.equal(one.stored().how, "none");
    assert.match(placeText(one.stored()), /^This browser keeps nothing here.*\.$/);
  }
});

test("files that were not kept are named when it is gone on with", async () => {
  const one = tab({ storage: { estimate: async () => ({ quota: 1e7, usage: 9.9e6 }) } });
  await one.control.start();
  one.control.changed(snapshot(1));
  await settled();
  assert.deepEqual(one.stored().told.left_out, [{ name: "Fe.tif", why: "no room" }]);
  const shown = { ...one.stored() };
  assert.match(stripOf(shown, false).text, /^Fe\.tif is not kept: the browser has no room for it\./);
  one.locks.close("one");
  const next = tab({ disk: one.disk, locks: one.locks });
  await next.control.start();
  next.control.send({ type: "go_on", id: next.stored().studies[0].id });
  await settled();
  assert.deepEqual(next.state().notices.map(({ code, file }) => [code, file]), [["not_kept", "Fe.tif"]]);
});

test("the browser took everything away: it is said, and nothing breaks", async () => {
  const one = tab();
  await one.control.start();
  one.control.changed(snapshot(1));
  await settled();
  for (const db of [...one.database.page.open]) db.onversionchange({});
  one.control.changed(snapshot(2));
  await settled();
  assert.deepEqual([one.stored().how, one.stored().told], ["off", null]);
  assert.match(stripOf(one.stored(), false).text, /was removed.*\.$/);
  // And can be wanted again.
  one.control.send({ type: "keep_here" });
  await settled();
  assert.deepEqual([one.stored().told.status, (await heads(one.disk)).length], ["kept", 2]);
  assert.deepEqual(["keep_here", "keep"].map((type) => isKeepingAction({ type })), [true, false]);
});

test("locks: the second waits, a browser without them or that refuses them has no second", async () => {
  assert.equal((await takeLock(undefined, "a")).held, true);
  assert.equal(await isLocked(undefined, "a"), false);
  const refusing = { request: () => Promise.reject(new Error("SecurityError")) };
  assert.equal((await takeLock(refusing, "a")).held, true);
  assert.equal(await isLocked(refusing, "a"), false);
  const locks = fakeLocks();
  const first = await takeLock(locks.tab("one"), "a");
  assert.equal(await isLocked(locks.tab("two"), "a"), true);
  const waits = takeLock(locks.tab("two"), "a", { patience_ms: 5 });
  mock.timers.tick(5);
  const second = await waits;
  assert.equal(second.held, false);
  first.release();
  assert.equal(typeof (await second.freed).release, "function");
  // A page that is loaded again: the lock comes a moment later.
  const third = takeLock(locks.tab("three"), "a", { patience_ms: 500 });
  mock.timers.tick(400);
  locks.close("two");
  assert.equal((await third).held, true);
});

const told = (more) => ({ status: "kept", at: Date.UTC(2026, 4, 3, 12), why: null, detail: "", files: 0, left_out: [], ...more });
const keeping = (more) => ({ ...START.stored, how: "on", ...more });

test("the top bar says in a word whether work is kept", () => {
  const bar = (more, is_empty = false) => barOf(keeping(more), is_empty)?.text ?? null;
  assert.equal(bar({ told: told() }), "Kept");
  assert.equal(bar({ told: told() }, true), null);
  assert.equal(bar({ told: null }), null);
  assert.equal(bar({ told: told({ status: "keeping" }) }), "Keeping…");
  assert.equal(bar({ told: told({ status: "keeping", files: 7 }) }), "Keeping 7 files…");
  assert.match(bar({ told: told({ status: "failed", why: "slow" }) }), /^Not kept since \d\d:\d\d$/);
  assert.equal(bar({ told: told({ status: "failed", why: "no room", at: null }) }), "Not kept");
  assert.equal(bar({ told: told({ left_out: [{ name: "a", why: "no room" }, { name: "b", why: "no room" }] }) }), "Kept but for 2 files");
  assert.equal(bar({ is_read_only: true, told: null }), "Read only");
  for (const how of ["asks", "off", "none"]) assert.equal(bar({ how }), "Not kept");
  assert.equal(bar({ how: "starting" }), null);
});

test("what is wrong is one sentence below the bar; the rest only where it is wanted", () => {
  const strip = (more) => stripOf(keeping(more), false);
  assert.equal(strip({ told: told() }), null);
  assert.deepEqual(strip({ told: told(), is_open: true }).acts.map(({ label }) => label), ["Forget this study here", "Put away"]);
  assert.deepEqual(strip({ how: "asks", where: "disk", is_open: true }).acts.map(({ label }) => label), ["Keep my work in this browser", "Put away"]);
  assert.equal(strip({ how: "asks", where: "disk" }), null);
  for (const why of ["no room", "overtaken", "slow", "failed"]) {
    for (const at of [null, 1e12]) {
      const { text, is_trouble } = strip({ told: told({ status: "failed", why, at, detail: "UnknownError" }) });
      assert.ok(is_trouble && text.endsWith(".") && !text.includes("null"), text);
    }
  }
  assert.match(strip({ told: told({ left_out: [{ name: "a.tif", why: "unreadable" }, { name: "b.tif", why: "unreadable" }] }) }).text, /^a\.tif and 1 other file are not kept: the browser can no longer read them/);
  assert.deepEqual(strip({ is_read_only: true, is_free: true }).acts.map(({ action }) => action.type), ["take_over"]);
  assert.equal(stripOf(keeping({ told: told({ status: "failed", why: "slow" }) }), true), null);
});

test("a kept study is told by its object, its maps, when and how large", () => {
  const now = new Date(2026, 4, 3, 18, 0).getTime();
  const at = new Date(2026, 4, 3, 9, 5).getTime();
  const entry = { id: "a", title: "Panel", maps: 12, photos: 1, findings: 3, updated: at, bytes: 5_300_000 };
  assert.deepEqual(entryWords(entry, now), { title: "Panel", text: "12 maps and 1 photo · 3 findings · today 09:05 · 5.3 MB" });
  assert.deepEqual(entryWords({ ...entry, title: "", photos: 0, findings: 0, maps: 1 }, now), { title: "1 map", text: "today 09:05 · 5.3 MB" });
  assert.equal(entryWords({ ...entry, title: "", maps: 0, photos: 0 }, now).title, "A study");
  assert.equal(whenOf(at - 86_400_000, now), "yesterday 09:05");
  assert.equal(whenOf(at - 10 * 86_400_000, now), "23 April 2026, 09:05");
  assert.deepEqual([12, 120_000, 25e6, 2.5e9].map(sizeOf), ["1 kB", "0.1 MB", "25 MB", "2.5 GB"]);
});
