// Gives the reader of a study file the parts of the file that it asks for. Knows neither the core nor a worker.

import { problem } from "./protocol.js";

/** @typedef {{from: number, to: number, fraction: number, text: string}} Wish bytes of the file, and how far the reader is */
/** @typedef {{wants: () => Wish | null, give: (bytes: Uint8Array) => void}} PartReader */

/** @param {Blob} part */
async function bytesOf(part) {
  try {
    return new Uint8Array(await part.arrayBuffer());
  } catch (thrown) {
    throw problem("file_unreadable", "The browser could not read the study file. If it was moved or changed, choose it again.", String(thrown));
  }
}

/** Read a file to its end. At no time more of it is held than the reader asks for at once, which is at most one input.
 * @param {PartReader} reader
 * @param {Blob} file
 * @param {(fraction: number, text: string) => void} progress
 * @returns {Promise<void>} */
export async function readThrough(reader, file, progress) {
  for (let wish = reader.wants(); wish !== null; wish = reader.wants()) {
    progress(wish.fraction, wish.text);
    reader.give(await bytesOf(file.slice(wish.from, wish.to)));
  }
}
