// Files in: chosen, dropped anywhere on the page, or handed over by a script.

import { takeDropped } from "./folders.js";
import { problem } from "./protocol.js";

/** @typedef {import("./types.js").Input} Input */

/** @param {File | {name: string, bytes: Uint8Array, way?: string} | Input} given
 * @returns {Input} */
export function asInput(given) {
  if (given instanceof File) return { file: given, name: given.webkitRelativePath || given.name, way: null };
  if (typeof given?.name !== "string") throw unfit();
  if ("file" in given) {
    if (!(given.file instanceof File)) throw unfit();
    return { file: given.file, name: given.name, way: given.way ?? null };
  }
  if (!(given.bytes instanceof Uint8Array)) throw unfit();
  return { file: new File([/** @type {BlobPart} */ (given.bytes)], given.name), name: given.name, way: given.way ?? null };
}

const unfit = () => problem("bad_call", "Give File objects, or {name, bytes} with bytes as a Uint8Array.");

/** Let files and folders be dropped anywhere. `over` is told when a drag of files comes and goes.
 * @param {Document} page
 * @param {(files: File[], entries: FileSystemEntry[]) => void} take files alone, or what has folders in it and is to be walked through
 * @param {(over: boolean) => void} over */
export function acceptDrops(page, take, over) {
  // A drag enters and leaves every element on its way; the balance tells when it has left the page.
  let depth = 0;
  const holdsFiles = (/** @type {DragEvent} */ event) => event.dataTransfer?.types.includes("Files") ?? false;
  page.addEventListener("dragenter", (event) => {
    if (!holdsFiles(event)) return;
    event.preventDefault();
    depth += 1;
    over(true);
  });
  page.addEventListener("dragover", (event) => {
    if (holdsFiles(event)) event.preventDefault(); // otherwise the browser would open the file in place of the page
  });
  page.addEventListener("dragleave", (event) => {
    if (!holdsFiles(event)) return;
    depth = Math.max(0, depth - 1);
    if (depth === 0) over(false);
  });
  page.addEventListener("drop", (event) => {
    if (!holdsFiles(event)) return;
    event.preventDefault();
    depth = 0;
    over(false);
    const { files, entries } = takeDropped(event.dataTransfer);
    take(files, entries);
  });
}

/** Let files be chosen with a file input. The same file can be chosen twice in a row.
 * @param {HTMLInputElement} input
 * @param {(files: File[]) => void} take */
export function acceptChoice(input, take) {
  input.addEventListener("change", () => {
    const files = [...(input.files ?? [])];
    input.value = "";
    if (files.length > 0) take(files);
  });
}
