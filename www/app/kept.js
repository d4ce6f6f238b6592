// What is needed to bring a lost session back: the inputs in their order, the last state record and the last answers.

import { pixelsOf } from "./large-photo.js";
import { endsTheTry } from "./lost.js";
import { asProblem, problem } from "./protocol.js";

/** @typedef {import("./types.js").Input} Input */
/** @typedef {import("./types.js").Opened} Opened */
/** @typedef {import("./types.js").PhotoRead} PhotoRead */
/** @typedef {import("./types.js").Problem} Problem */
/** @typedef {import("./types.js").Result} Result */
/** @typedef {import("./types.js").StateRecord} StateRecord */

/** Answers that are brought back after a loss; each holds its rasters. */
const ANSWERS_KEPT = 8;

/** How a new worker is asked while it is brought to where the lost one stood.
 * @typedef {{ask: (action: string, args: unknown[], silence?: number, transfer?: Transferable[]) => Promise<unknown>,
 *   decode: (input: Input) => Promise<PhotoRead|null>, reading_silence: (input: Input) => number,
 *   input_lost: (input: Input, problem: Problem) => void}} NewWorker */

export class Kept {
  /** @type {Input[]} */
  #inputs = [];
  /** Those of them that were decoded in a worker of their own. @type {Set<Input>} */
  #photos = new Set();
  /** @type {StateRecord | null} */
  #record = null;
  /** @type {Result[]} */
  #results = [];

  /** Take in what came of a call.
   * @param {string} action @param {unknown[]} args @param {unknown} ok
   * @param {StateRecord} [record] */
  take(action, args, ok, record) {
    if (record !== undefined) this.#record = record;
    if (["open", "open_photo"].includes(action) && /** @type {Opened | null} */ (ok)?.is_kept) {
      const input = /** @type {Input} */ (args[0]);
      this.#inputs.push(input);
      if (action === "open_photo") this.#photos.add(input);
    }
    if (action === "adopt") {
      const result = /** @type {Result} */ (args[0]);
      const others = this.#results.filter(({ answer }) => answer.id !== result.answer.id);
      this.#results = [...others, result].slice(-ANSWERS_KEPT);
    }
  }

  /** Bring a new worker to where the last one stood.
   * @param {NewWorker} worker */
  async restate({ ask, decode, reading_silence, input_lost }) {
    const reopen = async (/** @type {Input} */ input) => {
      if (this.#photos.has(input)) {
        const read = await decode(input).catch((thrown) => {
          // A photo that stops its worker costs itself, not the session.
          throw problem("file_unreadable", asProblem(thrown).message, asProblem(thrown).detail);
        });
        if (read !== null && (await ask("open_photo", [input, read], undefined, pixelsOf(read))) !== null) return;
      }
      await ask("open", [input], reading_silence(input));
    };
    // First what was stated, so that every map comes back as what it was, under its old id, also when another file is missing.
    if (this.#record !== null) await ask("apply", [this.#record]);
    for (const input of [...this.#inputs]) {
      try {
        await reopen(input);
      } catch (thrown) {
        if (endsTheTry(thrown)) throw thrown;
        // The file itself is gone or changed on the disk. The rest still comes back, and the user is told.
        this.#inputs = this.#inputs.filter((kept) => kept !== input);
        input_lost(input, asProblem(thrown));
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
