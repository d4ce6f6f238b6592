// Writes an open study to the browser's database as it changes. A change is written at once, or, while an earlier one is being written, right
// after it: only the newest state counts. Files go beside it, each once.

import { FORM, listOf, partsOf } from "./kept-study.js";
import { Overtaken } from "./kept-store.js";
import { KeptTree } from "./kept-tree.js";

/** @typedef {import("./kept-store.js").KeptStore} KeptStore */
/** @typedef {import("./kept-study.js").Head} Head */
/** @typedef {import("./types.js").KeptInput} KeptInput */
/** @typedef {import("./kept-study.js").ReadStudy} ReadStudy */
/** @typedef {import("./types.js").Snapshot} Snapshot */
/** @typedef {import("./kept-study.js").StateParts} StateParts */
/** @typedef {import("./kept-study.js").Summary} Summary */

/** Why something is not kept: no room, another tab wrote, it takes too long, a file is no longer where it was, or anything else.
 * @typedef {"no room"|"overtaken"|"slow"|"unreadable"|"failed"} Why */
/** `at`: when the state that is on the disk was stated, in ms; null before the first. `files`: how many are still being written.
 * @typedef {{status: "keeping"|"kept"|"failed", at: number|null, why: Why|null, detail: string, files: number, left_out: {name: string, why: Why}[]}} Told */
/** `room`: whether so many bytes find room. @typedef {{store: KeptStore, id: string, copy?: string, told?: (told: Told) => void, room?: (bytes: number) => Promise<boolean>,
 *   now?: () => number, later?: (run: () => void, ms: number) => unknown, never?: (timer: any) => void}} KeeperParts */

/** Work that is not on the disk after this time is said to be not kept. */
const SLOW_MS = 2000;
const TRY_AGAIN_MS = 10_000;
const FILES_AGAIN_MS = 60_000;
/** What no state needs any more is removed after so much quiet, or after so many states. */
const QUIET_MS = 8000;
const STATES_TO_SWEEP = 64;

/** @type {Summary} */
const NO_SUMMARY = { title: "", maps: 0, photos: 0, findings: 0 };

export class Keeper {
  #store;
  #id;
  #copy;
  #told;
  #room;
  #now;
  #later;
  #never;
  #tree = new KeptTree();
  #generation = 0;
  /** @type {Snapshot|null} */
  #snapshot = null;
  #summary = NO_SUMMARY;
  /** Rises with each change; `#written` is that of the state on the disk. */
  #version = 0;
  #written = 0;
  /** The state that was written last. @type {Snapshot|null} */
  #last = null;
  /** Its parts, and those of the one before. @type {StateParts|null} */
  #parts = null;
  /** @type {StateParts|null} */
  #parts_before = null;
  /** Files and blobs that the state before needed. @type {{inputs: Set<string>, blobs: Set<string>}} */
  #before = { inputs: new Set(), blobs: new Set() };
  #has = { inputs: /** @type {Set<string>} */ (new Set()), blobs: /** @type {Set<string>} */ (new Set()) };
  /** @type {Map<string, {name: string, why: Why}>} */
  #left_out = new Map();
  /** @type {Promise<void>|null} */
  #writing = null;
  /** @type {Promise<void>|null} */
  #filing = null;
  #stopped = false;
  #states = 0;
  #sweep_due = false;
  #swept_for_room = false;
  /** @type {number|null} */
  #at = null;
  /** @type {{why: Why, detail: string}|null} */
  #failure = null;
  /** @type {Record<"slow"|"again"|"quiet"|"files", unknown>} */
  #timers = { slow: null, again: null, quiet: null, files: null };

  /** @param {KeeperParts} parts @param {ReadStudy|null} [read] the study as it was read, where it goes on */
  constructor({ store, id, copy = "", told = () => {}, room = async () => true, now = () => Date.now(), later = (run, ms) => setTimeout(run, ms),
    never = (timer) => clearTimeout(timer) }, read = null) {
    this.#store = store;
    this.#id = id;
    this.#copy = copy;
    this.#told = told;
    this.#room = room;
    this.#now = now;
    this.#later = later;
    this.#never = never;
    if (read === null) return;
    this.#tree = read.tree;
    this.#generation = read.head.generation;
    this.#parts = read.parts;
    this.#summary = read.head.summary;
    this.#has = read.has;
    this.#before = { inputs: new Set(read.has.inputs), blobs: new Set(read.has.blobs) };
    this.#at = read.head.updated;
  }

  get id() {
    return this.#id;
  }

  /** The study is otherwise now. @param {Snapshot} snapshot of which nothing is changed afterwards */
  changed(snapshot) {
    if (this.#stopped) return;
    this.#snapshot = snapshot;
    this.#version += 1;
    this.#soon();
    this.#go();
    this.#keep_files();
  }

  /** What the list says of it. @param {Summary} summary */
  describe(summary) {
    if (this.#stopped || JSON.stringify(summary) === JSON.stringify(this.#summary)) return;
    this.#summary = summary;
    if (this.#snapshot === null) return;
    this.#version += 1;
    this.#go();
  }

  /** Ends when nothing is under way: all is written, or could not be. */
  async settled() {
    while (this.#writing !== null || this.#filing !== null) await Promise.all([this.#writing, this.#filing]);
  }

  /** Write no more. Ends when nothing is under way. */
  async stop() {
    this.#stopped = true;
    for (const name of /** @type {("slow"|"again"|"quiet"|"files")[]} */ (Object.keys(this.#timers))) this.#rest(name);
    await this.settled();
  }

  #go() {
    if (this.#writing !== null || this.#stopped) return;
    this.#writing = this.#write_all().finally(() => {
      this.#writing = null;
      this.#tell();
    });
    this.#tell();
  }

  async #write_all() {
    while (!this.#stopped && (this.#written !== this.#version || this.#sweep_due)) {
      if (this.#written === this.#version) {
        await this.#sweep();
        continue;
      }
      try {
        await this.#write();
      } catch (thrown) {
        const why = whyOf(thrown);
        if (why === "no room" && !this.#swept_for_room) {
          // What no state needs any more may be all that is in the way.
          this.#swept_for_room = true;
          await this.#sweep();
          continue;
        }
        this.#fail(why, String(thrown));
        if (why === "overtaken") this.#stopped = true;
        else this.#wait("again", TRY_AGAIN_MS, () => this.#go());
        return;
      }
    }
  }

  /** One whole state. */
  async #write() {
    const { snapshot, version } = { snapshot: this.#snapshot, version: this.#version };
    if (snapshot === null) return;
    const stated = this.#now();
    const parts = partsOf(this.#tree, snapshot);
    const texts = this.#tree.unstored(listOf(parts));
    const blobs = new Map([...snapshot.blobs].filter(([hash]) => !this.#has.blobs.has(hash)));
    const files = new Map(snapshot.inputs.map(({ sha256, file }) => [sha256, file.size]));
    /** @type {Head} */
    const head = {
      id: this.#id, form: FORM, generation: this.#generation + 1, updated: stated, copy: this.#copy,
      bytes: [...files.values(), ...[...snapshot.blobs.values()].map(({ byteLength }) => byteLength)].reduce((sum, size) => sum + size, 0),
      summary: this.#summary, now: parts, before: this.#parts,
    };
    await this.#store.write(head, texts, blobs);
    this.#tree.stored(texts.keys());
    for (const hash of blobs.keys()) this.#has.blobs.add(hash);
    // The state that was the newest is now the one before; what only older ones needed can go.
    if (this.#last !== null) this.#before = { inputs: new Set(this.#last.inputs.map(({ sha256 }) => sha256)), blobs: new Set(this.#last.blobs.keys()) };
    this.#last = snapshot;
    this.#parts_before = this.#parts;
    this.#parts = parts;
    this.#generation = head.generation;
    this.#written = version;
    this.#at = stated;
    this.#failure = null;
    this.#swept_for_room = false;
    this.#rest("again");
    this.#rest("slow");
    this.#states += 1;
    if (this.#states >= STATES_TO_SWEEP) this.#sweep_due = true;
    this.#wait("quiet", QUIET_MS, () => {
      this.#sweep_due = true;
      this.#go();
    });
    if (this.#written !== this.#version) this.#soon();
  }

  /** It is said in time that something is not kept. */
  #soon() {
    this.#wait("slow", SLOW_MS, () => {
      if (this.#failure === null) this.#fail("slow", "");
    }, false);
  }

  /** Remove what neither the newest state nor the one before needs. Nothing is written meanwhile. */
  async #sweep() {
    this.#sweep_due = false;
    this.#states = 0;
    // Before the first state of this page is written, what is there is what was read, and all of it is needed.
    if (this.#parts === null || this.#last === null) return;
    try {
      const roots = [this.#parts, this.#parts_before].flatMap((one) => (one === null ? [] : listOf(one)));
      const parts = this.#tree.needed(roots);
      const others = async (/** @type {"parts"|"blobs"|"inputs"} */ name, /** @type {(hash: string) => boolean} */ is_needed) =>
        (await this.#store.hashes(this.#id, name)).filter((hash) => !is_needed(hash));
      const drop = async (/** @type {"parts"|"blobs"|"inputs"} */ name, /** @type {string[]} */ hashes) => {
        await this.#store.drop(this.#id, name, hashes);
        if (name !== "parts") for (const hash of hashes) this.#has[name].delete(hash);
      };
      await drop("parts", await others("parts", (hash) => parts.has(hash)));
      this.#tree.retain(parts);
      await drop("blobs", await others("blobs", (hash) => this.#last?.blobs.has(hash) || this.#before.blobs.has(hash)));
      const files = await others("inputs", (hash) => this.#before.inputs.has(hash) || [this.#last, this.#snapshot].some((one) => one?.inputs.some(({ sha256 }) => sha256 === hash)));
      await drop("inputs", files);
    } catch (thrown) {
      // Room is lost, but no work; the next quiet moment tries again. Whether the database still takes anything is seen at the next change.
      console.warn("what is no longer needed could not be removed", thrown);
    }
    this.#keep_files();
  }

  // ---- files ----

  #keep_files() {
    if (this.#filing !== null || this.#stopped || this.#next_file() === undefined) return;
    this.#filing = this.#file_all().finally(() => {
      this.#filing = null;
      this.#tell();
    });
    this.#tell();
  }

  /** @returns {KeptInput|undefined} */
  #next_file() {
    return this.#snapshot?.inputs.find(({ sha256 }) => !this.#has.inputs.has(sha256) && !this.#left_out.has(sha256));
  }

  async #file_all() {
    for (let next = this.#next_file(); next !== undefined && !this.#stopped; next = this.#next_file()) {
      const { sha256, file, name } = next;
      /** @type {Why|null} */
      let why = null;
      try {
        if (await this.#room(file.size)) await this.#store.put_input(this.#id, sha256, file);
        else why = "no room";
      } catch (thrown) {
        why = whyOf(thrown) === "no room" ? "no room" : isUnreadable(thrown) ? "unreadable" : "failed";
      }
      if (why === null) this.#has.inputs.add(sha256);
      else this.#left_out.set(sha256, { name, why });
      this.#tell();
    }
    if (this.#left_out.size > 0) this.#wait("files", FILES_AGAIN_MS, () => this.#files_again(), false);
  }

  /** There may be room by now. */
  #files_again() {
    for (const [sha256, { why }] of [...this.#left_out]) if (why !== "unreadable") this.#left_out.delete(sha256);
    this.#keep_files();
  }

  // ---- what is told ----

  /** @param {Why} why @param {string} detail */
  #fail(why, detail) {
    this.#failure = { why, detail };
    this.#rest("slow");
    this.#tell();
  }

  #tell() {
    const files = this.#snapshot?.inputs ?? [];
    const wanted = new Set(files.map(({ sha256 }) => sha256));
    const left_out = [...this.#left_out].filter(([sha256]) => wanted.has(sha256)).map(([, one]) => one);
    const open = [...wanted].filter((sha256) => !this.#has.inputs.has(sha256) && !this.#left_out.has(sha256)).length;
    const is_kept = this.#written === this.#version && open === 0;
    this.#told({
      status: this.#failure !== null ? "failed" : is_kept ? "kept" : "keeping",
      at: this.#at, why: this.#failure?.why ?? null, detail: this.#failure?.detail ?? "", files: open, left_out,
    });
  }

  /** @param {"slow"|"again"|"quiet"|"files"} name @param {number} ms @param {() => void} run @param {boolean} [anew] whether a timer that runs begins anew */
  #wait(name, ms, run, anew = true) {
    if (this.#stopped || (this.#timers[name] !== null && !anew)) return;
    this.#rest(name);
    this.#timers[name] = this.#later(() => {
      this.#timers[name] = null;
      run();
    }, ms);
  }

  /** @param {"slow"|"again"|"quiet"|"files"} name */
  #rest(name) {
    if (this.#timers[name] !== null) this.#never(this.#timers[name]);
    this.#timers[name] = null;
  }
}

/** @param {unknown} thrown
 * @returns {Why} */
export function whyOf(thrown) {
  if (thrown instanceof Overtaken) return "overtaken";
  return nameOf(thrown) === "QuotaExceededError" ? "no room" : "failed";
}

/** A file that was moved, changed or taken away with its disk. @param {unknown} thrown */
function isUnreadable(thrown) {
  return ["NotReadableError", "NotFoundError", "DataCloneError", "DataError"].includes(nameOf(thrown));
}

/** @param {unknown} thrown */
function nameOf(thrown) {
  return typeof thrown === "object" && thrown !== null && "name" in thrown ? String(thrown.name) : "";
}
