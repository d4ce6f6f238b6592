// SHA-256 (FIPS 180-4) of short texts, at once: the browser's own gives its result later, and not on every page.

/** The first 32 bits of the fractional parts of the cube roots of the first 64 primes (section 4.2.2). */
const K = new Uint32Array([
  0x428a2f98, 0x71374491, 0xb5c0fbcf, 0xe9b5dba5, 0x3956c25b, 0x59f111f1, 0x923f82a4, 0xab1c5ed5, 0xd807aa98, 0x12835b01, 0x243185be, 0x550c7dc3,
  0x72be5d74, 0x80deb1fe, 0x9bdc06a7, 0xc19bf174, 0xe49b69c1, 0xefbe4786, 0x0fc19dc6, 0x240ca1cc, 0x2de92c6f, 0x4a7484aa, 0x5cb0a9dc, 0x76f988da,
  0x983e5152, 0xa831c66d, 0xb00327c8, 0xbf597fc7, 0xc6e00bf3, 0xd5a79147, 0x06ca6351, 0x14292967, 0x27b70a85, 0x2e1b2138, 0x4d2c6dfc, 0x53380d13,
  0x650a7354, 0x766a0abb, 0x81c2c92e, 0x92722c85, 0xa2bfe8a1, 0xa81a664b, 0xc24b8b70, 0xc76c51a3, 0xd192e819, 0xd6990624, 0xf40e3585, 0x106aa070,
  0x19a4c116, 0x1e376c08, 0x2748774c, 0x34b0bcb5, 0x391c0cb3, 0x4ed8aa4a, 0x5b9cca4f, 0x682e6ff3, 0x748f82ee, 0x78a5636f, 0x84c87814, 0x8cc70208,
  0x90befffa, 0xa4506ceb, 0xbef9a3f7, 0xc67178f2,
]);
/** Those of the square roots of the first eight (section 5.3.3). */
const START = [0x6a09e667, 0xbb67ae85, 0x3c6ef372, 0xa54ff53a, 0x510e527f, 0x9b05688c, 0x1f83d9ab, 0x5be0cd19];

const encoder = new TextEncoder();

/** @param {string} text
 * @returns {string} 64 hexadecimal digits of its UTF-8 bytes */
export function sha256OfText(text) {
  return sha256OfBytes(encoder.encode(text));
}

/** @param {Uint8Array} bytes
 * @returns {string} 64 hexadecimal digits */
export function sha256OfBytes(bytes) {
  const { length } = bytes;
  const state = Uint32Array.from(START);
  const words = new Uint32Array(64);
  const whole = length - (length % 64);
  for (let at = 0; at < whole; at += 64) takeBlock(state, words, bytes, at);
  // The rest with a bit behind it, and the length in bits at the end of the last block.
  const tail = new Uint8Array(length % 64 < 56 ? 64 : 128);
  tail.set(bytes.subarray(whole));
  tail[length - whole] = 0x80;
  const view = new DataView(tail.buffer);
  view.setUint32(tail.length - 8, Math.floor(length / 0x20000000));
  view.setUint32(tail.length - 4, (length << 3) >>> 0);
  for (let at = 0; at < tail.length; at += 64) takeBlock(state, words, tail, at);
  return Array.from(state, (word) => word.toString(16).padStart(8, "0")).join("");
}

/** @param {Uint32Array} state @param {Uint32Array} w @param {Uint8Array} bytes @param {number} at */
function takeBlock(state, w, bytes, at) {
  const word = (/** @type {Uint32Array} */ of, /** @type {number} */ index) => /** @type {number} */ (of[index]);
  const byte = (/** @type {number} */ index) => /** @type {number} */ (bytes[index]);
  for (let i = 0, from = at; i < 16; i += 1, from += 4) w[i] = (byte(from) << 24) | (byte(from + 1) << 16) | (byte(from + 2) << 8) | byte(from + 3);
  for (let i = 16; i < 64; i += 1) {
    const x = word(w, i - 15);
    const y = word(w, i - 2);
    const s0 = ((x >>> 7) | (x << 25)) ^ ((x >>> 18) | (x << 14)) ^ (x >>> 3);
    const s1 = ((y >>> 17) | (y << 15)) ^ ((y >>> 19) | (y << 13)) ^ (y >>> 10);
    w[i] = (word(w, i - 16) + s0 + word(w, i - 7) + s1) | 0;
  }
  let [a = 0, b = 0, c = 0, d = 0, e = 0, f = 0, g = 0, h = 0] = state;
  for (let i = 0; i < 64; i += 1) {
    const s1 = ((e >>> 6) | (e << 26)) ^ ((e >>> 11) | (e << 21)) ^ ((e >>> 25) | (e << 7));
    const one = (h + s1 + ((e & f) ^ (~e & g)) + word(K, i) + word(w, i)) | 0;
    const s0 = ((a >>> 2) | (a << 30)) ^ ((a >>> 13) | (a << 19)) ^ ((a >>> 22) | (a << 10));
    const two = (s0 + ((a & b) ^ (a & c) ^ (b & c))) | 0;
    h = g;
    g = f;
    f = e;
    e = (d + one) | 0;
    d = c;
    c = b;
    b = a;
    a = (one + two) | 0;
  }
  [a, b, c, d, e, f, g, h].forEach((value, index) => (state[index] = word(state, index) + value));
}
