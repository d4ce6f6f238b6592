// What is needed to bring a lost session back: the last state record, the files and bytes that it names, and the last answers.

import { mayBeLargePhoto, pixelsOf } from "./large-photo.js";
import { endsTheTry } from "./lost.js";
import { asProblem, problem } from "./protocol.js";

/** @typedef {import("./protocol.js").Gave} Gave */
/** @typedef {import("./types.js").Input} Input */
/** @typedef {import("./types.js").Opened} Opened */
/** @typedef {import("./types.js").PhotoRead} PhotoRead */
/** @typedef {import("./types.js").Problem} Problem */
/** @typedef {import("./types.js").Result} Result */
/** @typedef {import("./types.js").Snapshot} Snapshot */
/** @typedef {import("./types.js").StateRecord} StateRecord */

/** A file of the study. `apart`: whether it is decoded in a worker of its own, where that is known.
 * @typedef {{input: Input, apart?: boolean}} KeptFile */

/** Answers that are brought back after a loss; each holds its rasters. */
const ANSWERS_KEPT = 8;

/** How a new worker is asked while it is brought to where the lost one stood.
 * @typedef {{ask: (action: string, args: unknown[], silence?: number, transfer?: Transferable[]) => Promise<unknown>,
 *   decode: (input: Input) => Promise<PhotoRead|null>, reading_silence: (input: Input) => number,
 *   input_lost: (input: Input, problem: Problem) => void}} NewWorker */

export class Kept {
  /** Those of every step that can be undone or redone, by hash. @type {Map<string, KeptFile>} */
  #files = new Map();
  /** @type {Map<string, Uint8Array>} */
  #blobs = new Map();
  /** Files that could not be read again. @type {Set<string>} */
  #gone = new Set();
  /** @type {Result[]} */
  #results = [];

  /** @type {StateRecord | null} */
  record = null;

  /** The same study in another state: with its files and bytes, without its answers.
   * @param {StateRecord} record
   * @returns {Kept} */
  at(record) {
    const other = new Kept();
    other.#files = this.#files;
    other.#blobs = this.#blobs;
    other.#gone = this.#gone;
    other.record = record;
    return other;
  }

  /** @param {Snapshot} snapshot
   * @returns {Kept} */
  static of({ record, inputs, blobs }) {
    const kept = new Kept();
    kept.record = record;
    kept.add(inputs, blobs);
    return kept;
  }

  /** Take files and bytes in, beside those that are there.
   * @param {Iterable<import("./types.js").KeptInput>} inputs @param {Iterable<[string, Uint8Array]>} blobs */
  add(inputs, blobs) {
    for (const { sha256, file, name, way } of inputs) {
      this.#files.set(sha256, { input: { file, name, way } });
      this.#gone.delete(sha256);
    }
    for (const [sha256, bytes] of blobs) this.#blobs.set(sha256, bytes);
  }

  /** Take in what came of a call; the record apart.
   * @param {string} action @param {unknown[]} args @param {Gave} gave */
  take(action, args, { ok, blobs = [] }) {
    for (const { sha256, bytes } of blobs) this.#blobs.set(sha256, bytes);
    const sha256 = ["open", "open_photo"].includes(action) ? /** @type {Opened | null} */ (ok)?.sha256 : undefined;
    if (sha256 !== undefined) {
      this.#files.set(sha256, { input: /** @type {Input} */ (args[0]), apart: action === "open_photo" });
      this.#gone.delete(sha256);
    }
    if (action === "adopt") {
      const result = /** @type {Result} */ (args[0]);
      const others = this.#results.filter(({ answer }) => answer.id !== result.answer.id);
      this.#results = [...others, result].slice(-ANSWERS_KEPT);
    }
  }

  /** Only these are needed still. @param {Set<string>} hashes */
  retain(hashes) {
    for (const sha256 of [...this.#files.keys()]) if (!hashes.has(sha256)) this.#files.delete(sha256);
    for (const sha256 of [...this.#blobs.keys()]) if (!hashes.has(sha256)) this.#blobs.delete(sha256);
  }

  /** The file of this hash, to be read as the record says; null where it is not at hand.
   * @param {string} sha256
   * @returns {KeptFile|null} */
  file(sha256) {
    const kept = this.#files.get(sha256);
    const stated = this.#stated().find((input) => input.sha256 === sha256);
    return kept === undefined ? null : { ...kept, input: { ...kept.input, ...(stated ? { name: stated.name, way: stated.way ?? null } : {}) } };
  }

  /** Whether the record names this file. @param {string} sha256 */
  names(sha256) {
    return this.#stated().some((input) => input.sha256 === sha256);
  }

  /** Whether it could not be read again, so that it is missed already. @param {string} sha256 */
  is_gone(sha256) {
    return this.#gone.has(sha256);
  }

  /** Of all files together. */
  get megabytes() {
    return [...this.#files.values()].reduce((sum, { input }) => sum + input.file.size / 1e6, 0);
  }

  /** Bytes that the record names and another one does not.
   * @param {StateRecord|null} [other]
   * @returns {import("./types.js").KeptBlob[]} */
  blobs(other = null) {
    const [named, known] = [JSON.stringify(this.record), other === null ? "" : JSON.stringify(other)];
    return [...this.#blobs].filter(([sha256]) => named.includes(sha256) && !known.includes(sha256)).map(([sha256, bytes]) => ({ sha256, bytes }));
  }

  /** All of it by reference.
   * @param {import("./types.js").KeptHistory} history
   * @returns {Snapshot} */
  snapshot(history) {
    const inputs = [...this.#files].map(([sha256, { input: { file, name, way } }]) => ({ sha256, file, name, way }));
    return { record: this.record, history, inputs, blobs: new Map(this.#blobs) };
  }

  /** @returns {{name: string, sha256: string, way?: string}[]} */
  #stated() {
    return /** @type {{name: string, sha256: string, way?: string}[]} */ (this.record?.inputs ?? []);
  }

  /** Bring a new worker to where the last one stood.
   * @param {NewWorker} worker */
  async restate(worker) {
    const { ask, input_lost } = worker;
    // First what was stated, so that every map comes back as what it was, under its old id, also when another file is missing.
    if (this.record !== null) await ask("apply", [this.record, this.blobs()]);
    for (const { sha256 } of this.#stated()) {
      const kept = this.file(sha256);
      if (kept === null || this.#gone.has(sha256)) continue;
      try {
        await reopened(kept, worker);
      } catch (thrown) {
        if (endsTheTry(thrown)) throw thrown;
        // The file itself is gone or changed on the disk. The rest still comes back, and the user is told.
        this.#gone.add(sha256);
        input_lost(kept.input, asProblem(thrown));
      }
    }
    for (const result of [...this.#results]) {
      try {
        await ask("adopt", [result]);
      } catch (thrown) {
        if (endsTheTry(thrown)) throw thrown;
        // The session is worth more than one answer, which can be asked again.
        this.#results = this.#results.filter((kept) => kept !== result);
      }
    }
  }
}

/** Read a file that was open before.
 * @param {KeptFile} kept @param {Omit<NewWorker, "input_lost">} worker
 * @returns {Promise<Opened>} */
export async function reopened({ input, apart }, { ask, decode, reading_silence }) {
  if (apart ?? (await mayBeLargePhoto(input.file))) {
    const read = await decode(input).catch((thrown) => {
      // A photo that stops its worker costs itself, not the session.
      throw problem("file_unreadable", asProblem(thrown).message, asProblem(thrown).detail);
    });
    if (read !== null) {
      const opened = /** @type {Opened|null} */ (await ask("open_photo", [input, read], undefined, pixelsOf(read)));
      if (opened !== null) return opened;
    }
  }
  return /** @type {Opened} */ (await ask("open", [input], reading_silence(input)));
}
