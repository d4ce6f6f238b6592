// What the browser has for keeping work, as far as this page may use it. Everything here may be missing or refuse.

import { sha256OfText } from "./sha256.js";
import { elementsOf } from "./study-blocks.js";

/** @typedef {import("./kept-store.js").Database} Database */
/** @typedef {import("./keeping-state.js").Where} Where */
/** A few words by name. @typedef {{get: (name: string) => string|null, set: (name: string, text: string) => void, remove: (name: string) => void}} Notes */
/** `copy` tells one shared copy of the page from others and is empty for the page itself. `tab` lasts as long as the tab, `browser` as long as the
 * user wants. @typedef {{where: Where, copy: string, database: Database|null, locks: LockManager|undefined, storage: StorageManager|undefined,
 *   tab: Notes, browser: Notes, asks_nothing: boolean, now: () => number}} KeepingWorld */

const SAMPLE = 65_536;

/** @returns {KeepingWorld} */
export function keepingWorld() {
  const elements = elementsOf(document);
  const is_copy = elements.length > 0;
  return {
    where: is_copy ? "copy" : location.protocol === "file:" ? "disk" : "site",
    copy: is_copy ? markOf(elements.map((element) => element.textContent ?? "")) : "",
    database: orNothing(() => ({ factory: indexedDB, range: (low, high) => IDBKeyRange.bound(low, high) })),
    locks: orNothing(() => navigator.locks) ?? undefined,
    storage: orNothing(() => navigator.storage) ?? undefined,
    tab: notesIn(() => sessionStorage),
    browser: notesIn(() => localStorage),
    // Where the browser asks the user before storage may stay, nothing is asked: a question that nobody expects.
    asks_nothing: "userAgentData" in navigator,
    now: () => Date.now(),
  };
}

/** Tells one copy from another: the ends of what it holds, with its directory and its hashes.
 * @param {string[]} blocks */
function markOf(blocks) {
  const [first, last] = [blocks[0] ?? "", blocks.at(-1) ?? ""];
  return sha256OfText(`${blocks.length} ${first.length} ${last.length} ${first.slice(0, SAMPLE)} ${last.slice(-SAMPLE)}`);
}

/** @template {object} Found
 * @param {() => Found} get
 * @returns {Found|null} */
function orNothing(get) {
  try {
    return get() ?? null;
  } catch {
    return null; // refused, as with storage switched off: the page says so where it matters
  }
}

/** @param {() => Storage} storage
 * @returns {Notes} */
function notesIn(storage) {
  return {
    get: (name) => orNothing(() => ({ text: storage().getItem(name) }))?.text ?? null,
    set: (name, text) => void orNothing(() => ({ done: storage().setItem(name, text) })),
    remove: (name) => void orNothing(() => ({ done: storage().removeItem(name) })),
  };
}
