// `#study=relative/path.zip`: a study beside the page, on the page's own site. The one place that asks for anything over the network; the
// policy allows it nothing but the page's own origin, and nothing at all in the one-file form.

import { CANCELLED, asProblem, problem } from "./protocol.js";
import { kept } from "./room.js";

/** @typedef {import("./types.js").CallOptions} CallOptions */

const KEY = "study";
/** Longer than this no path is. */
const LONGEST_PATH = 1024;
/** The most that is taken in: what the core can restore. */
export const LARGEST_LINKED = 2 ** 31;

/** The path that an address names behind its `#`; null where it names no study.
 * @param {string} hash with its `#` @returns {string|null} */
export function pathOf(hash) {
  const path = new URLSearchParams(hash.replace(/^#/, "")).get(KEY);
  return path === null || path.trim() === "" ? null : path.trim();
}

/** Where the study lies: in the folder of the page or one below it, so that a link cannot make the page ask for anything else.
 * @param {string} path @param {string} page the page's own address @returns {URL} */
export function addressOf(path, page) {
  const own = new URL(page);
  if (!/^https?$/.test(own.protocol.slice(0, -1))) {
    throw problem("link_needs_site", "This page was opened as a file and connects to nothing, so it cannot follow the link to a study. Open the study file itself with Add files.");
  }
  const wrong = (/** @type {string} */ why) => problem("link_elsewhere", `The study of this link is not opened: ${why}. A link names a file in the page's own folder.`);
  if (path.length > LONGEST_PATH) throw wrong("its path is too long");
  if (/^[a-z][a-z0-9+.-]*:/i.test(path) || /^[/\\]{2}/.test(path)) throw wrong("it names another site");
  const folder = new URL(".", own);
  /** @type {URL} */
  let there;
  try {
    there = new URL(path, folder);
  } catch {
    throw wrong("it does not name a file");
  }
  if (there.origin !== own.origin || there.username !== "" || there.password !== "") throw wrong("it names another site");
  const is_below = there.pathname.startsWith(folder.pathname) && !/%2e|%2f|%5c/i.test(there.pathname);
  if (!is_below || there.pathname === own.pathname || there.pathname.endsWith("/")) throw wrong("it lies outside of the page's folder");
  there.hash = "";
  return there;
}

/** The file of a link. @param {string} path @param {string} page the page's own address
 * @param {CallOptions & {get?: (address: URL, init: RequestInit) => Promise<Response>}} [options] @returns {Promise<File>} */
export async function studyOfLink(path, page, { signal, on_progress, get = (address, init) => fetch(address, init) } = {}) {
  const address = addressOf(path, page);
  const name = decodeURIComponent(address.pathname.split("/").at(-1) ?? "");
  /** @type {Response} */
  let response;
  try {
    // Nothing of the reader goes along, and no answer leads on to another place.
    response = await get(address, { signal, credentials: "omit", redirect: "error", referrerPolicy: "no-referrer", cache: "no-cache" });
  } catch (thrown) {
    if (signal?.aborted) throw CANCELLED;
    throw problem("link_unreachable", `The study “${name}” of this link could not be got from the site. Check the connection and load the page again.`, asProblem(thrown).message);
  }
  if (!response.ok || response.body === null) {
    const why = response.status === 404 ? "is not there" : `was refused by the site (${response.status})`;
    throw problem("link_not_found", `The study “${name}” of this link ${why}. Ask for the link again.`);
  }
  const stated = Number(response.headers.get("content-length"));
  const too_large = () => problem("link_too_large", `The study “${name}” of this link is larger than 2 GB, which is more than can be opened.`);
  if (stated > LARGEST_LINKED) throw too_large();
  const reader = response.body.getReader();
  /** @type {Blob[]} */
  const parts = [];
  let size = 0;
  try {
    for (;;) {
      const { done, value } = await reader.read();
      if (done) break;
      size += value.byteLength;
      if (size > LARGEST_LINKED) throw too_large();
      parts.push(new Blob([value]));
      on_progress?.({ fraction: stated > 0 ? Math.min(1, size / stated) : 0, text: `Getting ${name}` });
    }
  } catch (thrown) {
    void reader.cancel().catch(() => undefined);
    if (signal?.aborted) throw CANCELLED;
    const trouble = asProblem(thrown);
    throw trouble.code === "link_too_large" ? trouble : problem("link_broke_off", `The study “${name}” of this link did not come whole. Load the page again.`, trouble.message);
  }
  if (stated > 0 && size < stated && response.headers.get("content-encoding") === null) {
    throw problem("link_broke_off", `The study “${name}” of this link did not come whole. Load the page again.`);
  }
  const file = new File(parts, name, { type: "application/zip" });
  await kept(file);
  return file;
}
