// Base64 text to bytes, and what was packed smaller before.

/** @param {string} text
 * @returns {Uint8Array<ArrayBuffer>} */
export function bytesFromBase64(text) {
  const native = /** @type {{fromBase64?: (text: string) => Uint8Array<ArrayBuffer>}} */ (/** @type {unknown} */ (Uint8Array));
  if (native.fromBase64) return native.fromBase64(text);
  return Uint8Array.from(atob(text), (character) => character.charCodeAt(0));
}

/** What the page carries: gzip, then base64. Nothing is fetched for it.
 * @param {string} text white space around it does not count
 * @returns {Promise<Uint8Array<ArrayBuffer>>} */
export async function unpacked(text) {
  const stream = new Blob([bytesFromBase64(text.trim())]).stream().pipeThrough(new DecompressionStream("gzip"));
  return new Uint8Array(await new Response(stream).arrayBuffer());
}
