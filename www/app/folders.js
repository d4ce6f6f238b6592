// Files and whole folders that were dropped or chosen, as inputs that carry their path as a name.

/** @typedef {import("./types.js").Input} Input */
/** What was found in what was dropped. `troubles`: what could not be read there, by name.
 * @typedef {{files: Input[], troubles: {name: string, message: string}[]}} Found */

/** Whoever drops a whole disk did not mean its maps. */
export const MOST_FILES = 5000;
const TOO_MANY = `There are more than ${MOST_FILES} files in what was dropped. Those found so far are read; drop the folder of the maps alone to read others.`;
const UNREADABLE = "The browser could not read this. Check that it is still there and may be read, and add it again.";

/** Whether it is kept out of sight where it comes from: then it is no map. @param {string} path */
export function isHidden(path) {
  return path.split("/").some((part) => part.startsWith(".") || part === "__MACOSX");
}

const order = new Intl.Collator("en", { numeric: true, sensitivity: "base" });

/** In the order in which people count: map 2 before map 10.
 * @param {Input[]} files
 * @returns {Input[]} */
export function inOrder(files) {
  return files.toSorted((a, b) => order.compare(a.name, b.name));
}

/** What was dropped, taken while the drop is handled: afterwards the browser no longer gives it. Walking through folders comes later.
 * @param {DataTransfer|null} dropped
 * @returns {{files: File[], entries: FileSystemEntry[]}} without a folder, the files alone */
export function takeDropped(dropped) {
  const files = [...(dropped?.files ?? [])];
  const entries = [...(dropped?.items ?? [])].filter(({ kind }) => kind === "file").flatMap((item) => item.webkitGetAsEntry?.() ?? []);
  return entries.some(({ isDirectory }) => isDirectory) ? { files: [], entries } : { files, entries: [] };
}

/** Goes through folders to the last one. What is hidden is left out without a word.
 * @param {FileSystemEntry[]} entries @param {(found: number) => void} tell @param {AbortSignal} signal
 * @returns {Promise<Found>} what was found until it was stopped */
export async function walked(entries, tell, signal) {
  /** @type {Found} */
  const found = { files: [], troubles: [] };
  const open = entries.toReversed();
  while (open.length > 0 && !signal.aborted) {
    const entry = /** @type {FileSystemEntry} */ (open.pop());
    const name = entry.fullPath.replace(/^\//, "");
    if (isHidden(name)) continue;
    if (found.files.length >= MOST_FILES) {
      found.troubles.push({ name: "", message: TOO_MANY });
      break;
    }
    try {
      if (entry.isDirectory) open.push(...(await inside(/** @type {FileSystemDirectoryEntry} */ (entry))));
      else {
        const file = await fileOf(/** @type {FileSystemFileEntry} */ (entry));
        found.files.push({ file, name, way: null });
      }
    } catch {
      found.troubles.push({ name, message: UNREADABLE });
    }
    tell(found.files.length);
  }
  return { ...found, files: inOrder(found.files) };
}

/** A reader gives a hundred at a time, until it gives none. @param {FileSystemDirectoryEntry} folder
 * @returns {Promise<FileSystemEntry[]>} */
async function inside(folder) {
  const reader = folder.createReader();
  /** @type {FileSystemEntry[]} */
  const all = [];
  for (;;) {
    const some = await /** @type {Promise<FileSystemEntry[]>} */ (new Promise((resolve, reject) => reader.readEntries(resolve, reject)));
    if (some.length === 0) return all;
    all.push(...some);
  }
}

/** @param {FileSystemFileEntry} entry
 * @returns {Promise<File>} */
function fileOf(entry) {
  return new Promise((resolve, reject) => entry.file(resolve, reject));
}

/** A folder that was chosen: its files by their paths, without what is hidden.
 * @param {File[]} files
 * @returns {Input[]} */
export function ofFolder(files) {
  const inputs = files.map((file) => ({ file, name: file.webkitRelativePath || file.name, way: null }));
  return inOrder(inputs.filter(({ name }) => !isHidden(name)));
}
