// Base64 text to bytes and back, and what was packed smaller before.

/** @param {string} text
 * @returns {Uint8Array<ArrayBuffer>} */
export function bytesFromBase64(text) {
  const native = /** @type {{fromBase64?: (text: string) => Uint8Array<ArrayBuffer>}} */ (/** @type {unknown} */ (Uint8Array));
  if (native.fromBase64) return native.fromBase64(text);
  return Uint8Array.from(atob(text), (character) => character.charCodeAt(0));
}

/** More bytes than this are not handed over as arguments of one call. */
const MOST_AT_ONCE = 0x6000;

/** @param {Uint8Array} bytes
 * @returns {string} */
export function base64FromBytes(bytes) {
  const native = /** @type {{toBase64?: () => string}} */ (/** @type {unknown} */ (bytes));
  if (native.toBase64) return native.toBase64();
  // A multiple of 3 bytes each, so that the pieces join.
  let text = "";
  for (let at = 0; at < bytes.length; at += MOST_AT_ONCE) text += btoa(String.fromCharCode(...bytes.subarray(at, at + MOST_AT_ONCE)));
  return text;
}

/** What the page carries: gzip, then base64. Nothing is fetched for it.
 * @param {string} text white space around it does not count
 * @returns {Promise<Uint8Array<ArrayBuffer>>} */
export async function unpacked(text) {
  const stream = new Blob([bytesFromBase64(text.trim())]).stream().pipeThrough(new DecompressionStream("gzip"));
  return new Uint8Array(await new Response(stream).arrayBuffer());
}
