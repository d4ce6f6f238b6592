// A study inside a page: its bytes as base64, in blocks that are elements of their own, so that no text of its size ever exists.

import { base64FromBytes, bytesFromBase64 } from "./base64.js";
import { CANCELLED, problem } from "./protocol.js";
import { kept } from "./room.js";

/** @typedef {import("./types.js").CallOptions} CallOptions */

/** Bytes of a block: a multiple of 3, so that blocks join without a gap, and 4 MiB of base64. */
export const BLOCK_BYTES = 3 * 1024 * 1024;
/** What stands between two blocks: the first one lies in the element that the page has for it. Joined, because the tags of a script
 * may not stand inside one. */
const BETWEEN = ["", '/script>\n', 'script type="text/plain" class="study-block">'].join("<");
/** The largest study that is put into a page. Chromium held 500 MB of a page's own files in all, and a study grows by a third in it; a page
 * of 400 MB of study took it 5 s and 1.7 GB to open. */
export const LARGEST_STUDY = 350_000_000;

/** How many bytes blocks of a study of this size take in the page.
 * @param {number} size @returns {number} */
export function sizeInPage(size) {
  const blocks = Math.ceil(size / BLOCK_BYTES);
  return Math.ceil(size / 3) * 4 + Math.max(0, blocks - 1) * BETWEEN.length;
}

/** The blocks, as parts of a page. Each is handed to the browser as soon as it is made.
 * @param {Blob} study @param {CallOptions} [options] @returns {Promise<Blob[]>} */
export async function blocksOf(study, { signal, on_progress } = {}) {
  /** @type {Blob[]} */
  const parts = [];
  for (let at = 0; at < study.size; at += BLOCK_BYTES) {
    if (signal?.aborted) throw CANCELLED;
    on_progress?.({ fraction: at / study.size, text: "Writing the copy" });
    const bytes = new Uint8Array(await study.slice(at, at + BLOCK_BYTES).arrayBuffer());
    parts.push(await kept(new Blob([at === 0 ? "" : BETWEEN, base64FromBytes(bytes)])));
  }
  return parts;
}

/** The elements that hold blocks, in their order; none in a page without a study.
 * @param {ParentNode} page @returns {Element[]} */
export function elementsOf(page) {
  const first = page.querySelector("#study-base64");
  if (first === null || (first.textContent ?? "").trim() === "") return [];
  return [first, ...page.querySelectorAll(".study-block")];
}

/** The study that the elements hold. All but the first, which tells that this is a copy, are let go.
 * @param {Element[]} elements @param {CallOptions} [options] @returns {Promise<Blob>} */
export async function studyOf(elements, { on_progress } = {}) {
  /** @type {Blob[]} */
  const parts = [];
  for (const [done, element] of elements.entries()) {
    on_progress?.({ fraction: done / elements.length, text: "Unpacking the study of this copy" });
    /** @type {Uint8Array<ArrayBuffer>} */
    let bytes;
    try {
      bytes = bytesFromBase64((element.textContent ?? "").trim());
    } catch (thrown) {
      throw problem("copy_damaged", "The study in this copy is damaged: the file was changed or did not come whole. Ask for it again.", String(thrown));
    }
    parts.push(await kept(new Blob([bytes])));
    if (done > 0) element.remove();
    // The page stays alive meanwhile.
    if (done % 8 === 7) await new Promise((resolve) => setTimeout(resolve, 0));
  }
  return new Blob(parts, { type: "application/zip" });
}
