// The page writes a copy of itself: from the shell that it carries, the texts of its own elements, and a study. The shell has the
// policy of the one-file form, so a copy is one file also where the page is a site's.

import { bytesFromBase64 } from "./base64.js";
import { problem } from "./protocol.js";
import { LARGEST_STUDY, blocksOf, sizeInPage } from "./study-blocks.js";

/** @typedef {import("./types.js").CallOptions} CallOptions */
/** What a page is made of, by the marks of its shell; the example and the study are not among them.
 * @typedef {{CSS: string, WORKER: string, WASM: string, SHELL: string, MAIN: string}} PageTexts */

const MARK = /\{\{([A-Z]+)\}\}/;

/** The texts of a page, read from its elements.
 * @param {Document} page @returns {PageTexts} */
export function textsOf(page) {
  const text = (/** @type {string} */ selector) => {
    const found = page.querySelector(selector);
    if (found === null) throw problem("page_changed", "This page was changed and cannot write a copy of itself. Open it again from its file.", selector);
    return found.textContent ?? "";
  };
  return {
    CSS: text("head > style"),
    WORKER: text("#worker-source"),
    WASM: text("#wasm-base64"),
    SHELL: text("#shell-base64"),
    MAIN: text("body > script:not([type])"),
  };
}

/** The shell, cut at its marks once: texts and the names of marks in turn.
 * @param {string} shell base64 @returns {string[]} */
function cut(shell) {
  return new TextDecoder().decode(bytesFromBase64(shell.trim())).split(MARK);
}

/** A page with these texts and this study, without the example.
 * @param {PageTexts} texts @param {Blob} study @param {CallOptions} [options] @returns {Promise<Blob>} */
export async function pageWith(texts, study, options = {}) {
  if (study.size > LARGEST_STUDY) throw tooLarge(study.size);
  const blocks = await blocksOf(study, options);
  const filled = cut(texts.SHELL).flatMap((text, place) => (place % 2 === 0 ? [text] : valueAt(text, texts, blocks)));
  return new Blob(filled, { type: "text/html" });
}

/** @param {string} mark @param {PageTexts} texts @param {Blob[]} study @returns {(string|Blob)[]} */
function valueAt(mark, texts, study) {
  if (mark === "STUDY") return study;
  if (mark === "DEMO") return [];
  const text = texts[/** @type {keyof PageTexts} */ (mark)];
  if (text === undefined) throw problem("page_changed", "This page was changed and cannot write a copy of itself. Open it again from its file.", mark);
  return [text];
}

/** How many bytes such a page has with a study of this size.
 * @param {PageTexts} texts @param {number} study bytes @returns {number} */
export function sizeOfPage(texts, study) {
  const frame = cut(texts.SHELL).flatMap((text, place) => (place % 2 === 0 ? [text] : valueAt(text, texts, [])));
  return new Blob(frame).size + sizeInPage(study);
}

/** @param {number} bytes */
export function tooLarge(bytes) {
  return problem(
    "study_too_large",
    `A copy that opens by a double click holds a study of at most ${megabytes(LARGEST_STUDY)}, and this one has ${megabytes(bytes)}. Leave out the photo, hand over the findings only, or save the study file.`,
  );
}

/** @param {number} bytes @returns {string} */
export function megabytes(bytes) {
  const mb = bytes / 1e6;
  return mb < 10 ? `${Math.max(0.1, mb).toFixed(1)} MB` : `${Math.round(mb)} MB`;
}
