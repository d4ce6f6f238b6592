// The calls of the study as a whole: steps back and forth, as one file, and what is made of it in a worker of its own.

import { FindingCalls } from "./finding-calls.js";
import { problem } from "./protocol.js";

/** @typedef {import("./turns.js").Turns} Turns */
/** @typedef {import("./types.js").CallOptions} CallOptions */
/** @typedef {import("./types.js").History} History */
/** @typedef {import("./types.js").Opened} Opened */
/** @typedef {import("./types.js").Reproduced} Reproduced */
/** @typedef {import("./types.js").Snapshot} Snapshot */
/** @typedef {{text: string, undo: number, redo: number}} Step what was undone or redone, and how many steps are left either way */

/** Writing the study takes this part of the progress of what is made of it. */
const SAVING = 0.05;

export class StudyCalls extends FindingCalls {
  #turns;

  /** @param {Turns} turns */
  constructor(turns) {
    super(turns);
    this.#turns = turns;
  }

  /** Take the last step back. Files that are still read come first. @param {CallOptions} [options] @returns {Promise<Step>} */
  async undo(options) {
    return this.#go(-1, options);
  }

  /** Do the last step that was taken back again. @param {CallOptions} [options] @returns {Promise<Step>} */
  async redo(options) {
    return this.#go(1, options);
  }

  /** How many steps can be undone and redone, and what the next ones are. @returns {Promise<History>} */
  async history() {
    await this.#turns.opening;
    return this.#turns.client.history;
  }

  /** The study as a file: a ZIP with everything in it. @param {CallOptions} [options] @returns {Promise<Blob>} */
  async save(options) {
    await this.#turns.opening;
    return this.#turns.client.save(options);
  }

  /** Whether a file is a study file, by its beginning. @param {Blob} file @param {CallOptions} [options] @returns {Promise<boolean>} */
  async is_study(file, options) {
    if (!(file instanceof Blob)) throw problem("bad_call", "Give the file itself, as a Blob or a File.");
    return (await this.#turns.client.call("is_study", [file], options)) === true;
  }

  /** Open a study file in place of what is open. One undo brings that back. Where the file cannot be opened, everything stays as it was.
   * @param {Blob} file @param {CallOptions} [options] @returns {Promise<Pick<Opened, "maps"|"photos"|"notices">>} */
  async restore(file, options = {}) {
    if (!(file instanceof Blob)) throw problem("bad_call", "Give the study file itself, as a Blob or a File.");
    return this.#turns.in_turn(() => restoreStudy(this.#turns, file, options));
  }

  /** Close everything. One undo brings it back. @returns {Promise<void>} */
  async reset() {
    return this.#turns.in_turn(async () => {
      await this.#turns.client.reset();
      this.#turns.notify({ type: "study_changed" });
    });
  }

  /** Go on from what was kept of a study, with its steps. @param {Snapshot} snapshot @returns {Promise<void>} */
  async resume(snapshot) {
    return this.#turns.in_turn(async () => {
      await this.#turns.client.resume(snapshot);
      this.#turns.notify({ type: "study_changed" });
    });
  }

  /** The report: one HTML file that can be read and printed without this page. @param {Record<string, unknown>} [settings]
   * @param {CallOptions} [options] @returns {Promise<Blob>} */
  async report(settings = {}, options = {}) {
    return new Blob([/** @type {string} */ (await this.#of_copy("report", [settings], options))], { type: "text/html" });
  }

  /** Compute every finding anew from the files, and say of each whether the same comes out. @param {CallOptions} [options] @returns {Promise<Reproduced[]>} */
  async reproduce(options = {}) {
    return /** @type {Promise<Reproduced[]>} */ (this.#of_copy("reproduce", [], options));
  }

  /** What a worker of its own makes of the study as it is now. @param {string} action @param {unknown[]} args @param {CallOptions} options */
  async #of_copy(action, args, { signal, on_progress }) {
    const study = await this.save({ signal });
    return this.#turns.client.job(action, [study, ...args], {
      signal,
      on_progress: ({ fraction, text }) => on_progress?.({ fraction: SAVING + (1 - SAVING) * fraction, text }),
    });
  }

  /** @param {-1|1} by @param {CallOptions} [options] @returns {Promise<Step>} */
  #go(by, options = {}) {
    return this.#turns.in_turn(async () => {
      const stop = stopOf(options);
      let is_reading = false;
      try {
        const step = await this.#turns.client.go(by, { signal: stop.signal }, (done, total, name) => {
          is_reading = true;
          this.#turns.notify({ type: "reading", done, total, name, stop: () => stop.abort() });
          options.on_progress?.({ fraction: done / total, text: name });
        });
        this.#turns.notify({ type: "study_changed" });
        return step;
      } finally {
        if (is_reading) this.#turns.notify({ type: "reading_over" });
      }
    });
  }
}

/** Within a turn of its own. @param {Turns} turns @param {Blob} file @param {CallOptions} options
 * @returns {Promise<Pick<Opened, "maps"|"photos"|"notices">>} */
export async function restoreStudy(turns, file, options) {
  const stop = stopOf(options);
  turns.notify({ type: "reading", done: 0, total: 1, name: file instanceof File ? file.name : "", stop: () => stop.abort() });
  try {
    const opened = await turns.client.restore(file, { signal: stop.signal, on_progress: options.on_progress });
    turns.notify({ type: "study_changed" });
    turns.notify({ type: "read", opened: { ...opened, asks: [], is_kept: true } });
    return opened;
  } finally {
    turns.notify({ type: "reading_over" });
  }
}

/** One that ends with the caller's own. @param {CallOptions} options */
function stopOf({ signal }) {
  const stop = new AbortController();
  if (signal?.aborted) stop.abort();
  signal?.addEventListener("abort", () => stop.abort(), { once: true });
  return stop;
}
