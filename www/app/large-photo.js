// Which files are decoded in a worker of their own, and what that worker hands over.

/** @typedef {import("./types.js").PhotoRead} PhotoRead */

/** A picture file above this size is decoded in a worker of its own: that may take longer than anybody would wait for the session. */
const LARGE_PHOTO = 4e6;
/** How the files begin that may hold a photo: JPEG, PNG, TIFF and BigTIFF in both orders of bytes. */
const PHOTO_STARTS = ["ffd8ff", "89504e47", "49492a00", "4d4d002a", "49492b00", "4d4d002b"];

/** Whether a file is large and begins as a photo may.
 * @param {Blob} file */
export async function mayBeLargePhoto(file) {
  if (file.size < LARGE_PHOTO) return false;
  try {
    const start = [...new Uint8Array(await file.slice(0, 4).arrayBuffer())].map((byte) => byte.toString(16).padStart(2, "0")).join("");
    return PHOTO_STARTS.some((one) => start.startsWith(one));
  } catch {
    return false; // whoever reads it says that it cannot be read
  }
}

/** The buffer of a photo, to be handed over.
 * @param {PhotoRead} read
 * @returns {Transferable[]} */
export const pixelsOf = ({ photo }) => (photo ? [/** @type {ArrayBuffer} */ (photo.pixels.buffer)] : []);
