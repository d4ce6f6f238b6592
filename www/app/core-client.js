// Makes the session worker, asks it, sees when it is lost, and raises another one in its place.

import { runJob } from "./job.js";
import { Kept } from "./kept.js";
import { mayBeLargePhoto, pixelsOf } from "./large-photo.js";
import { LOST, isFatal, stopped } from "./lost.js";
import { Caller } from "./messenger.js";
import { CANCELLED, SESSION_ACTIONS, asProblem, problem } from "./protocol.js";
import { SignsOfLife } from "./signs-of-life.js";

/** @typedef {import("./job.js").WorkerLike} WorkerLike */
/** @typedef {import("./types.js").Problem} Problem */
/** @typedef {import("./types.js").StateRecord} StateRecord */
/** @typedef {import("./types.js").CallOptions} CallOptions */
/** @typedef {import("./types.js").Answer} Answer */
/** @typedef {import("./types.js").Result} Result */
/** @typedef {import("./types.js").Opened} Opened */
/** @typedef {import("./types.js").Input} Input */
/** @typedef {import("./types.js").PhotoRead} PhotoRead */

/** @typedef {{type: "restarted", why: string} | {type: "input_lost", file: string, problem: Problem} | {type: "broken", problem: Problem}} ClientEvent */
/** @typedef {{action: string, args: unknown[], options: CallOptions, resolve: (value: any) => void, reject: (reason: unknown) => void,
 *   sent: number, started: number, silence: number, transfer?: Transferable[]}} Entry an entry that hands something over is sent once */
/** @typedef {import("./job.js").WorkerParts & {notify?: (event: ClientEvent) => void,
 *   set_timer?: (run: () => void, ms: number) => unknown, clear_timer?: (timer: any) => void,
 *   silence_ms?: number, grace_ms?: number}} ClientParts */

/** Shorter than this, a slow picture on a slow laptop looks like a lost worker; longer, and the user has already reloaded the page. */
const SILENCE_MS = 8000;
/** Reading is the one long action of the session worker: it may be silent longer, by the size of the file. */
const SILENCE_MS_PER_MB = 250;
/** After a sleeping laptop wakes, timers fire before the waiting messages are delivered; these get their turn first. */
const GRACE_MS = 300;
/** A call that had begun in this many lost workers is blamed for the loss; one that merely waited there is not. */
const STARTS = 2;
/** And no call is sent more often than this, whatever the worker said about it. */
const SENDS = 4;
/** These change the session: once sent, their result is taken in even if the caller no longer wants it. */
const CHANGING = new Set(["open", "open_photo", "set_map", "set_grid", "set_scan", "set_maps", "set_photo", "align", "set_object",
  "adopt_derived", "add_region", "set_region", "add_point", "set_point", "add_spectrum", "rename", "remove", "apply", "adopt"]);
/** How often a session is brought back in a row before the page says that it cannot. */
const RAISES = 3;
export class CoreClient {
  #parts;
  #notify;
  #silence_ms;
  #signs;
  /** @type {WorkerLike | null} */
  #worker = null;
  /** @type {Caller | null} */
  #caller = null;
  #up = false;
  #raising = false;
  /** @type {Problem | null} */
  #broken = null;
  /** Open calls in the order in which they were made. @type {Set<Entry>} */
  #entries = new Set();
  /** The silence allowed to the present step of bringing a session back. */
  #raise_silence = 0;
  #kept = new Kept();

  /** The core's version; empty until the first worker has loaded it. */
  version = "";

  /** @param {ClientParts} parts */
  constructor({ make_worker, get_module, notify = () => {}, set_timer = (run, ms) => setTimeout(run, ms), clear_timer = (timer) => clearTimeout(timer),
    silence_ms = SILENCE_MS, grace_ms = GRACE_MS }) {
    this.#parts = { make_worker, get_module };
    this.#notify = notify;
    this.#silence_ms = silence_ms;
    this.#signs = new SignsOfLife({ set_timer, clear_timer, grace_ms }, () => void this.#lost("no sign of life"));
  }

  /** Start the first session worker. Resolves when it answers; rejects with a problem when it cannot.
   * @returns {Promise<void>} */
  async start() {
    await this.#bring_back();
    if (this.#broken) throw this.#broken;
  }

  /** Ask the session. Calls made before the worker is up, or while it is brought back, wait.
   * @param {string} action
   * @param {unknown[]} args
   * @param {CallOptions} [options]
   * @param {number} [silence] how long the worker may be silent over this, in ms
   * @returns {Promise<any>} */
  call(action, args = [], options = {}, silence = this.#silence_ms) {
    if (!SESSION_ACTIONS.includes(action)) throw new Error(`unknown action: ${action}`);
    return this.#enter(action, args, options, silence);
  }

  /** @param {string} action
   * @param {unknown[]} args
   * @param {CallOptions} options
   * @param {number} silence
   * @param {Transferable[]} [transfer] what is handed over, so that it cannot be sent again: the call fails with `LOST` instead
   * @returns {Promise<any>} */
  #enter(action, args, options, silence, transfer) {
    if (this.#broken) return Promise.reject(this.#broken);
    if (options.signal?.aborted) return Promise.reject(CANCELLED);
    return new Promise((resolve, reject) => {
      /** @type {Entry} */
      const entry = { action, args, options, resolve, reject, sent: 0, started: 0, silence, transfer };
      this.#entries.add(entry);
      options.signal?.addEventListener("abort", () => {
        if (this.#entries.delete(entry)) reject(CANCELLED);
      }, { once: true });
      if (this.#up) this.#send(entry);
    });
  }

  /** Read one file. It is kept for bringing the session back if the core keeps something of it. A large photo is decoded in a
   * worker of its own, so that it can be stopped and cannot hurt the session.
   * @param {Input} input
   * @param {CallOptions} [options]
   * @param {AbortSignal} [decoding] ends the decoding and nothing else
   * @returns {Promise<Opened>} */
  async open(input, options = {}, decoding = options.signal) {
    if (await mayBeLargePhoto(input.file)) {
      const opened = await this.#open_photo(input, options, decoding);
      if (opened !== null) return opened;
    }
    return this.call("open", [input], options, this.#reading_silence(input));
  }

  /** Null where the file is no photo, or the session has to read it itself.
   * @param {Input} input
   * @param {CallOptions} options
   * @param {AbortSignal} [decoding]
   * @returns {Promise<Opened | null>} */
  async #open_photo(input, options, decoding) {
    for (let tries = 0; tries < STARTS; tries += 1) {
      const read = /** @type {PhotoRead | null} */ (await this.#job("read_photo", [input], { signal: decoding }));
      if (read === null) return null;
      try {
        return await this.#enter("open_photo", [input, read], options, this.#silence_ms, pixelsOf(read));
      } catch (thrown) {
        if (thrown !== LOST) throw thrown; // the pixels went with the worker: they are decoded again
      }
    }
    throw stopped(`the worker was lost ${STARTS} times over open_photo`);
  }

  /** @param {Input} input */
  #reading_silence({ file }) {
    return this.#silence_ms + (file.size / 1e6) * SILENCE_MS_PER_MB;
  }

  /** Ask a question in a worker of its own, so that it can be stopped at any time and cannot hurt the session.
   * @param {string} question
   * @param {Record<string, unknown>} settings
   * @param {CallOptions} [options]
   * @returns {Promise<Result>} */
  async ask(question, settings, options = {}) {
    const subject = await this.call("subject", [question, settings], { signal: options.signal });
    const result = /** @type {Result} */ (await this.#job("run", [question, settings, subject], options));
    const answer = /** @type {Answer} */ (await this.call("adopt", [result], { signal: options.signal }));
    return { answer, rasters: result.rasters };
  }

  /** Make a map of others, in a worker of its own like a question.
   * @param {Record<string, unknown>} settings
   * @param {CallOptions} [options]
   * @returns {Promise<import("./types.js").MapSummary>} */
  async derive(settings, options = {}) {
    const subject = await this.call("subject_to_derive", [settings], { signal: options.signal });
    const made = await this.#job("derive", [settings, subject], options);
    return this.call("adopt_derived", [settings, made], { signal: options.signal });
  }

  /** Look for how a photo lies on the maps, in a worker of its own. Nothing is changed.
   * @param {string} photo
   * @param {CallOptions} [options]
   * @returns {Promise<import("./types.js").Found>} */
  async find_alignment(photo, options = {}) {
    const subject = await this.call("subject_to_align", [photo], { signal: options.signal });
    return /** @type {import("./types.js").Found} */ (await this.#job("find_alignment", [subject], options));
  }

  /** @param {string} action
   * @param {unknown[]} args
   * @param {CallOptions} options
   * @returns {Promise<unknown>} */
  #job(action, args, options) {
    return runJob(this.#parts, action, args, options);
  }

  /** @param {Entry} entry */
  #send(entry) {
    const caller = /** @type {Caller} */ (this.#caller);
    entry.sent += 1;
    const { transfer, options: { signal, on_progress } } = entry;
    const on_started = () => (entry.started += 1);
    caller.call(entry.action, entry.args, { signal: CHANGING.has(entry.action) ? undefined : signal, on_progress, on_started, transfer }).then(
      ({ ok, record }) => this.#succeeded(entry, ok, record),
      (thrown) => {
        if (thrown === LOST || !this.#entries.has(entry)) return; // sent again after the session is back, or cancelled
        this.#entries.delete(entry);
        if (!isFatal(thrown)) return entry.reject(asProblem(thrown));
        entry.reject(stopped(thrown.message));
        if (caller === this.#caller) void this.#lost(thrown.message);
      },
    );
    this.#signs.expect(entry.silence);
  }

  /** @param {Entry} entry
   * @param {unknown} ok
   * @param {StateRecord} [record] */
  #succeeded(entry, ok, record) {
    this.#kept.take(entry.action, entry.args, ok, record);
    if (this.#entries.delete(entry)) entry.resolve(ok);
  }

  /** @param {Caller} caller */
  #heard(caller) {
    this.#signs.rest();
    // The message itself is handled after this, so whether anything is still open is seen one turn later.
    queueMicrotask(() => {
      if (caller !== this.#caller || caller.pending === 0) return;
      const sent = [...this.#entries].filter((entry) => entry.sent > 0);
      this.#signs.expect(this.#up ? Math.max(this.#silence_ms, ...sent.map((entry) => entry.silence)) : this.#raise_silence);
    });
  }

  // ---- loss and return ----

  /** @param {string} why */
  async #lost(why) {
    if (this.#raising) return this.#caller?.close(problem("core_stopped", "The session could not be brought back.", why));
    this.#notify({ type: "restarted", why });
    await this.#bring_back();
  }

  async #bring_back() {
    this.#raising = true;
    this.#up = false;
    /** @type {unknown} */
    let trouble = null;
    for (let raise = 0; raise < RAISES; raise += 1) {
      this.#drop();
      try {
        await this.#raise();
        this.#raising = false;
        this.#up = true;
        for (const entry of [...this.#entries]) {
          if (entry.transfer !== undefined && entry.sent > 0) {
            this.#entries.delete(entry);
            entry.reject(LOST);
          } else if (entry.started < STARTS && entry.sent < SENDS) {
            this.#send(entry);
          } else {
            this.#entries.delete(entry);
            entry.reject(stopped(`the worker was lost ${entry.sent} times over ${entry.action}`));
          }
        }
        return;
      } catch (thrown) {
        trouble = thrown;
      }
    }
    this.#drop();
    this.#raising = false;
    this.#broken = asProblem(trouble);
    for (const entry of this.#entries) entry.reject(this.#broken);
    this.#entries.clear();
    this.#notify({ type: "broken", problem: this.#broken });
  }

  #drop() {
    this.#signs.rest();
    this.#worker?.terminate();
    this.#caller?.close(LOST);
    this.#worker = null;
    this.#caller = null;
  }

  /** A new worker in the state of the last one. */
  async #raise() {
    const module = await this.#parts.get_module();
    const worker = this.#parts.make_worker();
    const caller = new Caller(worker, SESSION_ACTIONS, () => {
      if (caller === this.#caller) this.#heard(caller);
    });
    this.#worker = worker;
    this.#caller = caller;
    worker.onerror = (event) => {
      event.preventDefault?.();
      if (worker === this.#worker) void this.#lost(String(event.message ?? "worker error"));
    };
    const ask = async (/** @type {string} */ action, /** @type {unknown[]} */ args, silence = this.#silence_ms,
      /** @type {Transferable[] | undefined} */ transfer = undefined) => {
      if (caller.is_closed) throw stopped(`lost before ${action}`);
      const reply = caller.call(action, args, { transfer });
      this.#raise_silence = silence;
      this.#signs.expect(silence);
      return (await reply).ok;
    };
    this.version = /** @type {string} */ (await ask("load", [module]));
    await this.#kept.restate({
      ask,
      decode: async (input) => /** @type {PhotoRead | null} */ (await this.#job("read_photo", [input], {})),
      reading_silence: (input) => this.#reading_silence(input),
      input_lost: (input, trouble) => this.#notify({ type: "input_lost", file: input.name, problem: trouble }),
    });
  }
}
