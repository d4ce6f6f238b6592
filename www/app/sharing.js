// What is handed to a colleague as one file that opens by a double click: this very program with the study in it.

import { CANCELLED, problem } from "./protocol.js";
import { LARGEST_STUDY } from "./study-blocks.js";
import { megabytes, pageWith, sizeOfPage, tooLarge } from "./copying.js";

/** @typedef {import("./types.js").CallOptions} CallOptions */
/** @typedef {import("./copying.js").PageTexts} PageTexts */
/** @typedef {"photo"|"file names"|"notes"|"coordinates"|"object"} Left */
/** @typedef {{findings_only?: boolean, leave_out?: Left[]}} ShareOptions */
/** How large the core expects the study to be; `exact` where nothing has to be asked anew for it.
 * @typedef {{bytes: number, exact: boolean, text: string}} Expected */
/** @typedef {{findings_only: boolean, photo: boolean, file_names: boolean, notes: boolean, coordinates: boolean, object: boolean}} LeaveOut */

/** What can be left out, in the words of the call. */
export const LEFT = Object.freeze(/** @type {Left[]} */ (["photo", "file names", "notes", "coordinates", "object"]));
/** Writing the study takes this part of the progress where something has to be left out first. */
const LEAVING_OUT = 0.8;

/** As the core takes it.
 * @param {ShareOptions} [options] @returns {LeaveOut} */
export function leaveOut({ findings_only = false, leave_out = [], ...others } = {}) {
  const unknown = Object.keys(others)[0];
  if (unknown !== undefined) throw problem("bad_setting", `“${unknown}” is nothing that can be said of sharing. There are: findings_only, leave_out.`);
  if (typeof findings_only !== "boolean") throw problem("bad_setting", "`findings_only` is true or false.");
  const wrong = Array.isArray(leave_out) ? leave_out.find((word) => !LEFT.includes(word)) : leave_out;
  if (wrong !== undefined) throw problem("bad_setting", `“${String(wrong)}” is nothing that can be left out. There are: ${LEFT.join(", ")}.`);
  const has = (/** @type {Left} */ word) => leave_out.includes(word);
  return { findings_only, photo: has("photo"), file_names: has("file names"), notes: has("notes"), coordinates: has("coordinates"), object: has("object") };
}

export class Sharing {
  #save;
  #reduce;
  #expect;
  #texts;

  /** @param {{save: (options: CallOptions) => Promise<Blob>, reduce: (study: Blob, what: LeaveOut, options: CallOptions) => Promise<Blob>,
   *   expect: (what: LeaveOut, options: CallOptions) => Promise<Expected>, texts: () => PageTexts}} parts `reduce` leaves something out
   * of a saved study, in a worker of its own; `expect` says how large that will be */
  constructor({ save, reduce, expect, texts }) {
    this.#save = save;
    this.#reduce = reduce;
    this.#expect = expect;
    this.#texts = texts;
  }

  /** The copy as a file. @param {ShareOptions} [what] @param {CallOptions} [options] @returns {Promise<Blob>} */
  async share(what, { signal, on_progress } = {}) {
    const left = leaveOut(what);
    const is_less = Object.values(left).includes(true);
    const texts = this.#texts();
    const part = (/** @type {number} */ from, /** @type {number} */ to) => /** @type {CallOptions} */ ({
      signal,
      on_progress: (/** @type {import("./types.js").Progress} */ { fraction, text }) => on_progress?.({ fraction: from + (to - from) * fraction, text }),
    });
    let study = await this.#save({ signal });
    if (is_less) study = await this.#reduce(study, left, part(0, LEAVING_OUT));
    if (signal?.aborted) throw CANCELLED;
    const copy = await pageWith(texts, study, part(is_less ? LEAVING_OUT : 0, 1));
    on_progress?.({ fraction: 1, text: "" });
    return copy;
  }

  /** How large the copy will be, before it is written. @param {ShareOptions} [what] @param {CallOptions} [options]
   * @returns {Promise<{bytes: number, text: string}>} */
  async share_size(what, options = {}) {
    const { bytes: study, exact, text } = await this.#expect(leaveOut(what), options);
    if (study > LARGEST_STUDY) return { bytes: sizeOfPage(this.#texts(), study), text: tooLarge(study).message };
    const bytes = sizeOfPage(this.#texts(), study);
    return { bytes, text: `${exact ? "" : "About "}${megabytes(bytes)}${text === "" ? "" : `. ${text}`}` };
  }
}
