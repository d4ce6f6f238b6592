// What a page begins with: the study that it carries, the study that its link names, or nothing.

import { asProblem } from "./protocol.js";
import { elementsOf, studyOf } from "./study-blocks.js";
import { pathOf, studyOfLink } from "./study-link.js";

/** @typedef {import("./types.js").Opened} Opened */
/** @typedef {import("./types.js").Progress} Progress */

/** `is_copy`: the page was handed over with a study in it; it never offers another study, and keeps nothing unless the user says so.
 * @typedef {{is_copy: boolean, path: string|null}} Beginning */

/** What it is called where its parts are named. */
const NAME = "the study of this copy";

/** Whether the page is a copy, and what its link names. To be asked before the study is unpacked.
 * @param {ParentNode} page @param {string} hash of the address @returns {Beginning} */
export function beginningOf(page, hash) {
  const is_copy = elementsOf(page).length > 0;
  // A copy shows its own study, whatever its address says.
  return { is_copy, path: is_copy ? null : pathOf(hash) };
}

/** In the tab: the link that it followed last. */
const LINK = "limner link";

/** Whether the page's link is another one than this tab followed last: then it is followed, and what the tab had open is not gone on with.
 * @param {Beginning} beginning @param {import("./keeping-world.js").Notes} tab @returns {boolean} */
export function isNewLink({ path }, tab) {
  if (path === null || path === tab.get(LINK)) return false;
  tab.set(LINK, path);
  return true;
}

/** Open it. Trouble is told as of a file, and the page stays empty then.
 * @param {Beginning} beginning
 * @param {{page: ParentNode, address: string, restore: (study: File) => Promise<unknown>, getting: (progress: Progress|null, name: string) => void,
 *   read: (opened: Opened) => void}} parts `address` of the page; `getting`: how far a study is that comes over the net, null when it is there
 * @returns {Promise<boolean>} whether a study was opened */
export async function begin({ is_copy, path }, { page, address, restore, getting, read }) {
  if (!is_copy && path === null) return false;
  const name = is_copy ? NAME : (path ?? "");
  try {
    const study = is_copy
      ? new File([await studyOf(elementsOf(page))], NAME, { type: "application/zip" })
      : await studyOfLink(name, address, { on_progress: (progress) => getting(progress, name) });
    getting(null, name);
    await restore(study);
    return true;
  } catch (thrown) {
    getting(null, name);
    const { code, message } = asProblem(thrown);
    read({ maps: [], photos: [], notices: [{ severity: "error", code, file: name, text: message }], asks: [], is_kept: false });
    return false;
  }
}
