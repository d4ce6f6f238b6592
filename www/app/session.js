// The session worker: makes it, asks it, sees when it is lost, and raises another one in its place.

import { CHANGING } from "./changing.js";
import { runJob } from "./job.js";
import { Kept } from "./kept.js";
import { LOST, isFatal, stopped } from "./lost.js";
import { Caller } from "./messenger.js";
import { CANCELLED, SESSION_ACTIONS, asProblem, problem } from "./protocol.js";
import { SignsOfLife } from "./signs-of-life.js";

/** @typedef {import("./job.js").WorkerLike} WorkerLike */
/** @typedef {import("./protocol.js").Gave} Gave */
/** @typedef {import("./types.js").CallOptions} CallOptions */
/** @typedef {import("./types.js").Input} Input */
/** @typedef {import("./types.js").PhotoRead} PhotoRead */
/** @typedef {import("./types.js").Problem} Problem */

/** @typedef {{type: "restarted", why: string} | {type: "input_lost", file: string, problem: Problem} | {type: "broken", problem: Problem}} SessionEvent */
/** How a call is made. `transfer`: what is handed over, so that it cannot be sent again: the call fails with `LOST` instead. `is_step`: what
 * it changes is taken in as a step of the study. `era`: how often the study had become another one when it began.
 * @typedef {{silence: number, transfer?: Transferable[], is_step?: boolean, step?: {key?: string, within_ms?: number}, era?: number}} How */
/** @typedef {{action: string, args: unknown[], options: CallOptions, how: How, resolve: (gave: Gave) => void, reject: (reason: unknown) => void,
 *   sent: number, started: number, ended: Promise<unknown>}} Entry */
/** @typedef {import("./job.js").WorkerParts & {notify?: (event: any) => void,
 *   set_timer?: (run: () => void, ms: number) => unknown, clear_timer?: (timer: any) => void,
 *   silence_ms?: number, grace_ms?: number}} SessionParts */

/** Shorter than this, a slow picture on a slow laptop looks like a lost worker; longer, and the user has already reloaded the page. */
const SILENCE_MS = 8000;
/** Reading is the one long action of the session worker: it may be silent longer, by the size of the file. */
const SILENCE_MS_PER_MB = 250;
/** After a sleeping laptop wakes, timers fire before the waiting messages are delivered; these get their turn first. */
const GRACE_MS = 300;
/** A call that had begun in this many lost workers is blamed for the loss; one that merely waited there is not. */
export const STARTS = 2;
/** And no call is sent more often than this, whatever the worker said about it. */
const SENDS = 4;
/** How often a session is brought back in a row before the page says that it cannot. */
const RAISES = 3;

export class Session {
  #parts;
  #notify;
  #took;
  #signs;
  /** @type {WorkerLike | null} */
  #worker = null;
  /** @type {Caller | null} */
  #caller = null;
  #up = false;
  #raising = false;
  /** Ends when the raising that is under way does. @type {Promise<unknown>} */
  #risen = Promise.resolve();
  /** @type {Problem | null} */
  #broken = null;
  /** Open calls in the order in which they were made. @type {Set<Entry>} */
  #entries = new Set();
  /** Changes that were sent, also those whose callers no longer wait. @type {Set<Promise<unknown>>} */
  #changes = new Set();
  /** The silence allowed to the present step of bringing a session back. */
  #raise_silence = 0;

  /** How often a worker was brought to a state. */
  raises = 0;
  /** What a worker is brought to when one is lost. */
  kept = new Kept();
  /** The core's version; empty until the first worker has loaded it. */
  version = "";

  /** @param {SessionParts} parts @param {(entry: Entry, gave: Gave) => void} took told of every result, before its caller is */
  constructor({ make_worker, get_module, notify = () => {}, set_timer = (run, ms) => setTimeout(run, ms), clear_timer = (timer) => clearTimeout(timer),
    silence_ms = SILENCE_MS, grace_ms = GRACE_MS }, took) {
    this.#parts = { make_worker, get_module };
    this.#notify = notify;
    this.#took = took;
    this.silence_ms = silence_ms;
    this.#signs = new SignsOfLife({ set_timer, clear_timer, grace_ms }, () => void this.#lost("no sign of life"));
  }

  /** Why nothing can be asked any more; null as long as it can. */
  get broken() {
    return this.#broken;
  }

  /** Start the first worker. Resolves when it answers; rejects with a problem when it cannot.
   * @returns {Promise<void>} */
  async start() {
    await this.#bring_back();
    if (this.#broken) throw this.#broken;
  }

  /** How long the worker may be silent over a file. @param {{size: number}} file */
  reading_silence({ size }) {
    return this.silence_ms + (size / 1e6) * SILENCE_MS_PER_MB;
  }

  /** Ask. Calls made before the worker is up, or while it is brought back, wait.
   * @param {string} action
   * @param {unknown[]} args
   * @param {CallOptions} options
   * @param {How} how
   * @returns {Promise<Gave>} */
  enter(action, args, options, how) {
    if (this.#broken) return Promise.reject(this.#broken);
    if (options.signal?.aborted) return Promise.reject(CANCELLED);
    /** @type {PromiseWithResolvers<Gave>} */
    const { promise, resolve, reject } = Promise.withResolvers();
    /** @type {Entry} */
    const entry = { action, args, options, how, resolve, reject, sent: 0, started: 0, ended: promise };
    this.#entries.add(entry);
    options.signal?.addEventListener("abort", () => {
      if (this.#entries.delete(entry)) reject(CANCELLED);
    }, { once: true });
    if (this.#up) this.#send(entry);
    return promise;
  }

  /** Ends when no change is under way any more, given up by its caller or not. */
  async changes_over() {
    for (;;) {
      const open = [...this.#entries].filter(({ action }) => CHANGING.has(action)).map(({ ended }) => ended);
      if (open.length + this.#changes.size === 0) return;
      await Promise.allSettled([...open, ...this.#changes]);
    }
  }

  /** Bring a new worker to another state, and stay as it is where that cannot be. Rejects with why, after what was there is back.
   * @param {Kept} kept @param {{is_strict?: boolean}} [how] `is_strict`: a file that cannot be read is a reason */
  async become(kept, { is_strict = false } = {}) {
    while (this.#raising) await this.#risen;
    if (this.#broken) throw this.#broken;
    const before = this.kept;
    this.kept = kept;
    /** @type {unknown} */
    let gone = null;
    const trouble = await this.#raised((input, trouble) => {
      gone ??= trouble;
      if (!is_strict) this.#tell_gone(input, trouble);
    });
    if (trouble === null && !(is_strict && gone !== null)) return this.#go_on();
    this.kept = before;
    await this.#bring_back();
    throw asProblem(trouble ?? gone);
  }

  /** A new worker in this state, whatever the present one is doing. @param {Kept} kept */
  async again(kept) {
    while (this.#raising) await this.#risen;
    this.kept = kept;
    if (!this.#broken) await this.#bring_back();
  }

  /** @param {Entry} entry */
  #send(entry) {
    const caller = /** @type {Caller} */ (this.#caller);
    entry.sent += 1;
    const { action, args, how: { transfer, silence }, options: { signal, on_progress } } = entry;
    const on_started = () => (entry.started += 1);
    const changes = CHANGING.has(action);
    const ended = caller.call(action, args, { signal: changes ? undefined : signal, on_progress, on_started, transfer }).then(
      (gave) => this.#succeeded(entry, gave),
      (thrown) => {
        if (thrown === LOST || !this.#entries.has(entry)) return; // sent again after the session is back, or cancelled
        this.#entries.delete(entry);
        if (!isFatal(thrown)) return entry.reject(asProblem(thrown));
        entry.reject(stopped(thrown.message));
        if (caller === this.#caller) void this.#lost(thrown.message);
      },
    );
    if (changes) {
      this.#changes.add(ended);
      void ended.finally(() => this.#changes.delete(ended));
    }
    this.#signs.expect(silence);
  }

  /** @param {Entry} entry @param {Gave} gave */
  #succeeded(entry, gave) {
    this.#took(entry, gave);
    if (this.#entries.delete(entry)) entry.resolve(gave);
  }

  /** @param {Caller} caller */
  #heard(caller) {
    this.#signs.rest();
    // The message itself is handled after this, so whether anything is still open is seen one turn later.
    queueMicrotask(() => {
      if (caller !== this.#caller || caller.pending === 0) return;
      const sent = [...this.#entries].filter((entry) => entry.sent > 0);
      this.#signs.expect(this.#up ? Math.max(this.silence_ms, ...sent.map((entry) => entry.how.silence)) : this.#raise_silence);
    });
  }

  // ---- loss and return ----

  /** @param {string} why */
  async #lost(why) {
    if (this.#raising) return this.#caller?.close(problem("core_stopped", "What was open could not be brought back. Load the page again.", why));
    this.#notify({ type: "restarted", why });
    await this.#bring_back();
  }

  /** A new worker in the state of the last one; where that cannot be, nothing can be asked any more. */
  async #bring_back() {
    const trouble = await this.#raised((input, trouble) => this.#tell_gone(input, trouble));
    if (trouble === null) return this.#go_on();
    this.#broken = asProblem(trouble);
    for (const entry of this.#entries) entry.reject(this.#broken);
    this.#entries.clear();
    this.#notify({ type: "broken", problem: this.#broken });
  }

  /** @param {Input} input @param {Problem} trouble */
  #tell_gone(input, trouble) {
    this.#notify({ type: "input_lost", file: input.name, problem: trouble });
  }

  /** @param {(input: Input, problem: Problem) => void} input_lost
   * @returns {Promise<unknown>} what went wrong at last; null where a worker stands there */
  #raised(input_lost) {
    this.#raising = true;
    this.#up = false;
    this.raises += 1;
    const raised = this.#try_to_raise(input_lost);
    this.#risen = raised;
    return raised;
  }

  /** @param {(input: Input, problem: Problem) => void} input_lost @returns {Promise<unknown>} */
  async #try_to_raise(input_lost) {
    /** @type {unknown} */
    let trouble = null;
    for (let raise = 0; raise < RAISES; raise += 1) {
      this.#drop();
      try {
        await this.#raise(input_lost);
        this.#raising = false;
        return null;
      } catch (thrown) {
        trouble = thrown;
      }
    }
    this.#drop();
    this.#raising = false;
    return trouble ?? problem("core_stopped", "What was open could not be brought back. Load the page again.");
  }

  /** What was asked of the lost worker is asked of the new one. */
  #go_on() {
    this.#up = true;
    for (const entry of [...this.#entries]) {
      if (entry.how.transfer !== undefined && entry.sent > 0) {
        this.#entries.delete(entry);
        entry.reject(LOST);
      } else if (entry.started < STARTS && entry.sent < SENDS) {
        this.#send(entry);
      } else {
        this.#entries.delete(entry);
        entry.reject(stopped(`the worker was lost ${entry.sent} times over ${entry.action}`));
      }
    }
  }

  #drop() {
    this.#signs.rest();
    this.#worker?.terminate();
    this.#caller?.close(LOST);
    this.#worker = null;
    this.#caller = null;
  }

  /** @param {(input: Input, problem: Problem) => void} input_lost */
  async #raise(input_lost) {
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
    const ask = async (/** @type {string} */ action, /** @type {unknown[]} */ args, silence = this.silence_ms,
      /** @type {Transferable[] | undefined} */ transfer = undefined) => {
      if (caller.is_closed) throw stopped(`lost before ${action}`);
      const reply = caller.call(action, args, { transfer });
      this.#raise_silence = silence;
      this.#signs.expect(silence);
      return await reply;
    };
    const { ok, record } = await ask("load", [module]);
    this.version = /** @type {string} */ (ok);
    await this.kept.restate({
      ask: async (action, args, silence, transfer) => (await ask(action, args, silence, transfer)).ok,
      decode: async (input) => /** @type {PhotoRead | null} */ (await runJob(this.#parts, "read_photo", [input], {})),
      reading_silence: ({ file }) => this.reading_silence(file),
      input_lost,
    });
    this.kept.record ??= record ?? null;
  }
}
