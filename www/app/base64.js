// Base64 text to bytes.

/** @param {string} text
 * @returns {Uint8Array<ArrayBuffer>} */
export function bytesFromBase64(text) {
  const native = /** @type {{fromBase64?: (text: string) => Uint8Array<ArrayBuffer>}} */ (/** @type {unknown} */ (Uint8Array));
  if (native.fromBase64) return native.fromBase64(text);
  return Uint8Array.from(atob(text), (character) => character.charCodeAt(0));
}
