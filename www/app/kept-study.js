// A study as it is kept: what its head says, and its whole state read back. All that is read is untrusted; what is not as it was written
// is not believed.

import { Damaged, KeptTree } from "./kept-tree.js";
import { problem } from "./protocol.js";

/** @typedef {import("./types.js").StateRecord} StateRecord */
/** @typedef {import("./kept-store.js").KeptStore} KeptStore */
/** @typedef {import("./kept-tree.js").Part} Part */

/** @typedef {import("./types.js").Snapshot} Snapshot */
/** The parts of one whole state. @typedef {{record: Part, history: Part, inputs: Part, blobs: Part}} StateParts */
/** What the list of kept studies says of one. @typedef {{title: string, maps: number, photos: number, findings: number}} Summary */
/** `generation` rises by one with each state, `before` is the state of the one before, `copy` is that shared copy of the page that it was made
 * in. @typedef {{id: string, form: number, generation: number, updated: number, copy: string, bytes: number, summary: Summary, now: StateParts,
 *   before: StateParts|null}} Head */
/** @typedef {{id: string, generation: number, updated: number, copy: string, bytes: number, summary: Summary, now: unknown, before: unknown}} ReadHead */

export const FORM = 1;
const LONGEST_TITLE = 200;
const MOST = 1e6;
/** The last moment that a date can hold. */
const LATEST = 8.64e15;

/** @returns {string} an id that nobody else has */
export function newId() {
  return Array.from(crypto.getRandomValues(new Uint8Array(16)), (byte) => byte.toString(16).padStart(2, "0")).join("");
}

/** The id of whatever is kept, also where nothing else of it can be read; null where it has none.
 * @param {unknown} any @returns {string|null} */
export function idOf(any) {
  const { id } = /** @type {{id?: unknown}} */ (any ?? {});
  return typeof id === "string" && id !== "" && id.length <= 64 && !id.includes("/") ? id : null;
}

/** What a head says, if it is one; its parts are looked at where they are read.
 * @param {unknown} any @returns {ReadHead|null} */
export function headOf(any) {
  const id = idOf(any);
  if (id === null) return null;
  const { form, generation, updated, copy, bytes, summary, now, before } = /** @type {Record<string, unknown>} */ (any);
  if (form !== FORM || !isCount(generation, Number.MAX_SAFE_INTEGER - 1) || !isCount(updated, LATEST) || typeof copy !== "string") return null;
  const { title, maps, photos, findings } = /** @type {Record<string, unknown>} */ (summary ?? {});
  const count = (/** @type {unknown} */ value) => (isCount(value, MOST) ? value : 0);
  return {
    id, generation, updated, copy, bytes: isCount(bytes, Number.MAX_SAFE_INTEGER) ? bytes : 0, now, before: before ?? null,
    summary: { title: typeof title === "string" ? title.slice(0, LONGEST_TITLE) : "", maps: count(maps), photos: count(photos), findings: count(findings) },
  };
}

/** @param {unknown} value @param {number} most
 * @returns {value is number} */
function isCount(value, most) {
  return typeof value === "number" && Number.isSafeInteger(value) && value >= 0 && value <= most;
}

/** @param {KeptTree} tree @param {Snapshot} snapshot
 * @returns {StateParts} */
export function partsOf(tree, { record, history, inputs, blobs }) {
  return {
    record: tree.pack(record),
    history: tree.pack(history),
    inputs: tree.pack(inputs.map(({ sha256, name, way }) => ({ sha256, name, way }))),
    blobs: tree.pack([...blobs.keys()]),
  };
}

/** @param {StateParts} parts */
export function listOf({ record, history, inputs, blobs }) {
  return [record, history, inputs, blobs];
}

/** What reading gave: the study, the names of files that had not been kept, whether the last state was damaged and the one before it was read,
 * and what is needed to go on writing. @typedef {{head: ReadHead, snapshot: Snapshot, missing: string[], is_before: boolean, tree: KeptTree,
 *   parts: StateParts, has: {inputs: Set<string>, blobs: Set<string>}}} ReadStudy */

/** The last whole state of a study.
 * @param {KeptStore} store @param {string} id
 * @returns {Promise<ReadStudy>} throws a problem where there is none, or it is damaged */
export async function readStudy(store, id) {
  const found = await store.head(id);
  if (found === undefined) throw problem("kept_gone", "This study is no longer kept in this browser.");
  const head = headOf(found);
  if (head === null) throw damaged("its head");
  const [texts, files, blobs] = await Promise.all([store.all(id, "parts"), store.all(id, "inputs"), store.all(id, "blobs")]);
  /** @type {unknown} */
  let why = null;
  for (const state of [head.now, head.before]) {
    if (state === null) continue;
    try {
      return { head, is_before: state === head.before, ...stateOf(/** @type {StateParts} */ (state), texts, files, blobs) };
    } catch (thrown) {
      if (!(thrown instanceof Damaged)) throw thrown;
      why ??= thrown;
    }
  }
  throw damaged(String(why));
}

const damaged = (/** @type {string} */ why) => problem("kept_damaged", "What this browser kept of this study is damaged and cannot be opened. Open its study file or its maps instead.", why);

/** @param {StateParts} state @param {Map<string, unknown>} texts @param {Map<string, unknown>} files @param {Map<string, unknown>} kept_blobs */
function stateOf(state, texts, files, kept_blobs) {
  const tree = new KeptTree();
  const [record, history, inputs, blobs] = tree.unpack(listOf(state), (hash) => texts.get(hash));
  if (typeof record !== "object" || record === null || Array.isArray(record)) throw new Damaged("no record");
  if (!Array.isArray(inputs) || !Array.isArray(blobs)) throw new Damaged("no lists");
  /** @type {Snapshot} */
  const snapshot = { record: /** @type {StateRecord} */ (record), history: /** @type {Snapshot["history"]} */ (history), inputs: [], blobs: new Map() };
  /** @type {string[]} */
  const missing = [];
  for (const input of inputs) {
    const { sha256, name, way } = /** @type {Record<string, unknown>} */ (input ?? {});
    if (typeof sha256 !== "string" || typeof name !== "string" || !(way === null || typeof way === "string")) throw new Damaged("no file");
    const file = files.get(sha256);
    if (file instanceof File) snapshot.inputs.push({ sha256, name, way, file });
    else missing.push(name);
  }
  for (const hash of blobs) {
    const bytes = kept_blobs.get(String(hash));
    // It is of the same transaction as the state that names it.
    if (!(bytes instanceof Uint8Array)) throw new Damaged("a kept answer or picture is missing");
    snapshot.blobs.set(String(hash), bytes);
  }
  return { snapshot, missing, tree, parts: state, has: { inputs: new Set(files.keys()), blobs: new Set(kept_blobs.keys()) } };
}
