// The study as the page holds it: calls, files, long computations apart, and the steps that can be undone.

import { CHANGING, changesTheStudy, stepOf } from "./changing.js";
import { History } from "./history.js";
import { runJob } from "./job.js";
import { Kept } from "./kept.js";
import { mayBeLargePhoto, pixelsOf } from "./large-photo.js";
import { LOST, stopped } from "./lost.js";
import { CANCELLED, SESSION_ACTIONS, problem } from "./protocol.js";
import { restated } from "./restated.js";
import { STARTS, Session } from "./session.js";

/** @typedef {import("./job.js").WorkerLike} WorkerLike */
/** @typedef {import("./protocol.js").Gave} Gave */
/** @typedef {import("./session.js").Entry} Entry */
/** @typedef {import("./session.js").How} How */
/** @typedef {import("./types.js").CallOptions} CallOptions */
/** @typedef {import("./types.js").Answer} Answer */
/** @typedef {import("./types.js").Input} Input */
/** @typedef {import("./types.js").Opened} Opened */
/** @typedef {import("./types.js").PhotoRead} PhotoRead */
/** @typedef {import("./types.js").Result} Result */
/** @typedef {import("./types.js").Snapshot} Snapshot */
/** @typedef {import("./types.js").StateRecord} StateRecord */

/** `changed`: something of the study is otherwise, or what can be undone is; the snapshot is all that is to be kept.
 * @typedef {import("./session.js").SessionEvent | {type: "changed", snapshot: Snapshot}} ClientEvent */
/** @typedef {import("./session.js").SessionParts & {notify?: (event: ClientEvent) => void, now?: () => number}} ClientParts */
/** @typedef {import("./restated.js").Telling} Telling */

/** Another state of a study turns, derives and selects anew in one go, and a study file is written in one: as long as this for its files. */
const WHOLE_SILENCE_MS_PER_MB = 100;

const STUDY_CHANGED = Object.freeze(problem("study_changed", "The study became another one while this was computed, so that it was dropped. Ask again."));

export class CoreClient {
  #parts;
  #notify;
  #now;
  #session;
  #history = new History();
  /** The state of a session in which nothing was opened. @type {StateRecord|null} */
  #empty = null;
  /** Counts how often the study became another one: what was computed before belongs to none that is there. */
  #era = 0;
  /** While the study becomes another one, what would change it waits. @type {Promise<unknown>|null} */
  #alone = null;
  /** @type {string|null} */
  #read_only = null;
  /** @type {PromiseWithResolvers<void>} */
  #started = Promise.withResolvers();

  /** Told how many steps can be undone and redone, whenever that changes. @type {(history: import("./types.js").History) => void} */
  on_history = () => {};

  /** @param {ClientParts} parts */
  constructor({ now = () => Date.now(), ...parts }) {
    this.#parts = parts;
    this.#notify = parts.notify ?? (() => {});
    this.#now = now;
    this.#session = new Session(parts, (entry, gave) => this.#took(entry, gave));
  }

  /** The core's version; empty until the first worker has loaded it. */
  get version() {
    return this.#session.version;
  }

  /** Start the first session worker. Resolves when it answers; rejects with a problem when it cannot.
   * @returns {Promise<void>} */
  async start() {
    try {
      await this.#session.start();
      this.#empty = this.#session.kept.record;
      if (this.#empty !== null) this.#history.begin(this.#empty);
    } finally {
      this.#started.resolve();
    }
  }

  /** Ask the session. Calls made before the worker is up, or while it is brought back, wait.
   * @param {string} action
   * @param {unknown[]} args
   * @param {CallOptions} [options]
   * @param {number} [silence] how long the worker may be silent over this, in ms
   * @returns {Promise<any>} */
  call(action, args = [], options = {}, silence = this.#session.silence_ms) {
    if (!SESSION_ACTIONS.includes(action)) throw new Error(`unknown action: ${action}`);
    return this.#enter(action, args, options, { silence, is_step: true });
  }

  /** @param {string} action @param {unknown[]} args @param {CallOptions} options @param {How} how
   * @returns {Promise<any>} */
  async #enter(action, args, options, how) {
    if (changesTheStudy(action)) this.#may_change();
    while (this.#alone !== null && CHANGING.has(action)) await this.#alone;
    if (how.era !== undefined && how.era !== this.#era) throw STUDY_CHANGED;
    return (await this.#session.enter(action, args, options, how)).ok;
  }

  /** Read one file. It is kept for bringing the session back if the core keeps something of it. A large photo is decoded in a
   * worker of its own, so that it can be stopped and cannot hurt the session.
   * @param {Input} input
   * @param {CallOptions} [options]
   * @param {AbortSignal} [decoding] ends the decoding and nothing else
   * @param {{key?: string}} [step] what the opening is one step of the history with
   * @returns {Promise<Opened>} */
  async open(input, options = {}, decoding = options.signal, step = {}) {
    this.#may_change();
    if (await mayBeLargePhoto(input.file)) {
      const opened = await this.#open_photo(input, options, decoding, step);
      if (opened !== null) return opened;
    }
    return this.#enter("open", [input], options, { silence: this.#session.reading_silence(input.file), is_step: true, step });
  }

  /** Null where the file is no photo, or the session has to read it itself.
   * @param {Input} input
   * @param {CallOptions} options
   * @param {AbortSignal|undefined} decoding
   * @param {{key?: string}} step
   * @returns {Promise<Opened | null>} */
  async #open_photo(input, options, decoding, step) {
    for (let tries = 0; tries < STARTS; tries += 1) {
      const read = await this.#decoded(input, decoding);
      if (read === null) return null;
      try {
        return await this.#enter("open_photo", [input, read], options, { silence: this.#session.silence_ms, transfer: pixelsOf(read), is_step: true, step });
      } catch (thrown) {
        if (thrown !== LOST) throw thrown; // the pixels went with the worker: they are decoded again
      }
    }
    throw stopped(`the worker was lost ${STARTS} times over open_photo`);
  }

  /** The photo of a file, decoded in a worker of its own; null where it holds anything else.
   * @param {Input} input @param {AbortSignal|undefined} signal */
  async #decoded(input, signal) {
    return /** @type {PhotoRead|null} */ (await this.job("read_photo", [input], { signal }));
  }

  /** Ask a question in a worker of its own, so that it can be stopped at any time and cannot hurt the session.
   * @param {string} question
   * @param {Record<string, unknown>} settings
   * @param {CallOptions} [options]
   * @returns {Promise<Result>} */
  async ask(question, settings, options = {}) {
    const era = this.#era;
    const subject = await this.call("subject", [question, settings], { signal: options.signal });
    const result = /** @type {Result} */ (await this.job("run", [question, settings, subject], options));
    const answer = /** @type {Answer} */ (await this.#enter("adopt", [result], { signal: options.signal }, { silence: this.#session.silence_ms, era }));
    return { answer, rasters: result.rasters };
  }

  /** Make a map of others, in a worker of its own like a question.
   * @param {Record<string, unknown>} settings
   * @param {CallOptions} [options]
   * @returns {Promise<import("./types.js").MapSummary>} */
  async derive(settings, options = {}) {
    const era = this.#era;
    const subject = await this.call("subject_to_derive", [settings], { signal: options.signal });
    const made = await this.job("derive", [settings, subject], options);
    return this.#enter("adopt_derived", [settings, made], { signal: options.signal }, { silence: this.#session.silence_ms, is_step: true, era });
  }

  /** Look for how a photo lies on the maps, in a worker of its own. Nothing is changed.
   * @param {string} photo
   * @param {CallOptions} [options]
   * @returns {Promise<import("./types.js").Found>} */
  async find_alignment(photo, options = {}) {
    const subject = await this.call("subject_to_align", [photo], { signal: options.signal });
    return /** @type {import("./types.js").Found} */ (await this.job("find_alignment", [subject], options));
  }

  /** One long computation in a worker of its own. Abort stops it itself.
   * @param {string} action
   * @param {unknown[]} args
   * @param {CallOptions} options
   * @returns {Promise<unknown>} */
  job(action, args, options) {
    return runJob(this.#parts, action, args, options);
  }

  /** @param {Entry} entry @param {Gave} gave */
  #took({ action, args, how }, gave) {
    this.#session.kept.take(action, args, gave);
    if (how.is_step !== true || gave.record === undefined) return;
    const is_other = this.#history.push(gave.record, { text: gave.change ?? "", ...stepOf(action, args), ...how.step }, this.#now());
    this.#session.kept.record = this.#history.record;
    if (is_other) this.#changed();
  }

  #changed() {
    this.#session.kept.retain(this.#history.hashes());
    this.#notify({ type: "changed", snapshot: this.snapshot() });
    this.on_history(this.#history.words);
  }

  /** Say the step of this key as a whole, now that it is over. @param {string} key */
  async retell(key) {
    const { before, record } = this.#history;
    if (this.#history.key !== key || before === null) return;
    const text = await this.call("difference", [before, record]);
    if (this.#history.record !== record || this.#history.before !== before) return;
    this.#history.retell(text);
    this.#changed();
  }

  // ---- one state for another ----

  /** How many steps can be undone and redone, and what the next of them is. */
  get history() {
    return this.#history.words;
  }

  /** All that is needed to go on from here, by reference. @returns {Snapshot} */
  snapshot() {
    return this.#session.kept.snapshot(this.#history.export());
  }

  /** Why the study can only be read; null where it can be changed. */
  get read_only() {
    return this.#read_only;
  }

  /** From now on what would change the study is refused with this sentence, or is not where there is none. @param {string|null} why */
  set_read_only(why) {
    this.#read_only = why;
  }

  #may_change() {
    if (this.#read_only !== null) throw problem("read_only", this.#read_only);
  }

  /** Take the last step back (-1), or do the next one again (1). Where that fails the study stays as it was.
   * @param {-1|1} by @param {CallOptions} [options] @param {Telling} [tell]
   * @returns {Promise<{text: string, undo: number, redo: number}>} `text`: what was undone or redone */
  go(by, { signal } = {}, tell = () => {}) {
    return this.#become(async () => {
      this.#may_change();
      const seen = this.#history.seen(by);
      if (seen === null) throw by < 0 ? problem("nothing_to_undo", "There is nothing to undo.") : problem("nothing_to_redo", "There is nothing to redo.");
      const { undo_text, redo_text } = this.#history.words;
      const kept = this.#session.kept.at(seen.record);
      if (seen.is_whole) await this.#session.become(kept, { is_strict: true });
      const record = seen.is_whole ? seen.record : await restated(this.#session, kept, (input) => this.#decoded(input, signal), signal, tell, this.#whole_silence());
      this.#history.move(by);
      this.#settle(record);
      const { undo, redo } = this.#history.words;
      return { text: by < 0 ? undo_text : redo_text, undo, redo };
    });
  }

  /** Close everything. It can be undone. @returns {Promise<void>} */
  reset() {
    return this.#become(async () => {
      this.#may_change();
      const [session, before] = [this.#session, this.#history.record];
      await session.enter("restate", [this.#empty, []], {}, { silence: this.#whole_silence(), is_step: true });
      const now = this.#history.record;
      if (now === before || now === null) return;
      session.kept = session.kept.at(now);
      this.#history.retell("everything closed");
      this.#changed();
    });
  }

  /** Open a study file in place of what is open. The study that was open is one step back. Where it cannot be opened, or is stopped,
   * everything stays as it was.
   * @param {Blob} file @param {CallOptions} [options] @returns {Promise<Pick<Opened, "maps"|"photos"|"notices">>} */
  restore(file, options = {}) {
    return this.#become(async () => {
      this.#may_change();
      const session = this.#session;
      const gave = await session.enter("restore", [file], options, { silence: session.reading_silence(file) }).catch(async (thrown) => {
        // It was given up in the middle, and might still become what is open.
        if (thrown === CANCELLED) await session.again(session.kept);
        throw thrown;
      });
      const record = /** @type {StateRecord} */ (gave.record);
      const before = session.kept;
      session.kept = before.at(record);
      session.kept.add(
        (gave.inputs ?? []).map(({ name, sha256, way, from, to }) => ({ sha256, name, way: way ?? null, file: new File([file.slice(from, to)], name) })),
        (gave.blobs ?? []).map(({ sha256, bytes }) => [sha256, bytes]),
      );
      const is_back = before.record !== null && JSON.stringify(before.record) !== JSON.stringify(this.#empty);
      this.#history.replace(record, "study opened", is_back);
      this.#changed();
      return /** @type {Pick<Opened, "maps"|"photos"|"notices">} */ (gave.ok);
    });
  }

  /** Go on from what was kept. Where that cannot be, everything stays as it was.
   * @param {Snapshot} snapshot @returns {Promise<void>} */
  resume(snapshot) {
    return this.#become(async () => {
      const history = new History();
      try {
        if (snapshot.history !== null) history.restore(snapshot.history);
      } catch {
        // What was done before can no longer be undone; the study itself is whole.
      }
      await this.#session.become(Kept.of(snapshot));
      this.#history = history;
      if (snapshot.record !== null) this.#settle(snapshot.record);
    });
  }

  /** The study as one file. @param {CallOptions} [options] @returns {Promise<Blob>} */
  async save(options = {}) {
    const pieces = /** @type {(Uint8Array|{source: string})[]} */ (await this.call("save", [], options, this.#whole_silence()));
    const parts = pieces.map((piece) => {
      if (piece instanceof Uint8Array) return /** @type {BlobPart} */ (piece);
      const kept = this.#session.kept.file(piece.source);
      if (kept === null) throw problem("file_missing", "A file of this study is not at hand any more, so that the study cannot be saved whole. Open the file again.");
      return kept.input.file;
    });
    return new Blob(parts, { type: "application/zip" });
  }

  /** How long the session may be silent over something of the whole study, in ms. */
  #whole_silence() {
    return this.#session.silence_ms + this.#session.kept.megabytes * WHOLE_SILENCE_MS_PER_MB;
  }

  /** The record as it is now is that of the present step. @param {StateRecord} record */
  #settle(record) {
    this.#history.settle(record);
    this.#session.kept.record = this.#history.record;
    this.#changed();
  }

  /** While this works nothing else changes the study. @template Got @param {() => Promise<Got>} work @returns {Promise<Got>} */
  async #become(work) {
    while (this.#alone !== null) await this.#alone;
    /** @type {PromiseWithResolvers<void>} */
    const over = Promise.withResolvers();
    this.#alone = over.promise;
    try {
      await this.#started.promise;
      await this.#session.changes_over();
      this.#era += 1;
      return await work();
    } finally {
      this.#era += 1;
      this.#alone = null;
      over.resolve();
    }
  }
}
