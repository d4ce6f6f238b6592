// Whether the browser has room for a file that the page makes.

import { problem } from "./protocol.js";

/** Makes sure that the browser has a file: one that it had no room for says so only when it is read, and then at its end.
 * @template {Blob} Part @param {Part} part @returns {Promise<Part>} the same */
export async function kept(part) {
  try {
    await part.slice(-1).arrayBuffer();
  } catch (thrown) {
    throw problem("no_room", "The browser has no room left for a file of this size. Close other pages, leave out the photo, or save the study file instead.", String(thrown));
  }
  return part;
}
