// What the page knows of keeping: whether work is kept in this browser, what is kept there, and how far the open study is. Pure.

/** @typedef {import("./state.js").State} State */
/** @typedef {import("./keeping.js").Told} Told */
/** @typedef {import("./kept-study.js").ReadHead} ReadHead */
/** @typedef {import("./types.js").Snapshot} Snapshot */
/** @typedef {import("./kept-study.js").Summary} Summary */

/** The page was opened from a site, from disk, or is a copy that somebody shared. @typedef {"site"|"disk"|"copy"} Where */
/** `asks`: nothing is kept unless the user says so. `on`: kept. `off`: the user wants nothing kept. `none`: the browser keeps nothing here.
 * @typedef {"starting"|"asks"|"on"|"off"|"none"} How */
/** @typedef {{id: string, title: string, maps: number, photos: number, findings: number, updated: number, bytes: number}} KeptEntry */
/** `unreadable`: ids of what is kept and cannot be read. `told`: how far the open study is on the disk. `is_free`: the tab that had the study has
 * closed. `going_on`: the study that is being opened again. `is_open`: the user wants to know more.
 * @typedef {{where: Where, how: How, studies: KeptEntry[], unreadable: string[], told: Told|null, is_read_only: boolean, is_free: boolean,
 *   going_on: string|null, trouble: string, is_open: boolean}} Keeping */
/** @typedef {{stored: Keeping}} KeepingState */
/** @typedef {{type: "stored", stored: Partial<Keeping>}} KeepingChange */

/** @type {KeepingState} */
export const KEEPING_START = Object.freeze({
  stored: { where: /** @type {const} */ ("site"), how: /** @type {const} */ ("starting"), studies: [], unreadable: [], told: null, is_read_only: false, is_free: false,
    going_on: null, trouble: "", is_open: false },
});

/** @template {{type: string}} Any
 * @param {Any} change
 * @returns {change is Extract<Any, KeepingChange>} */
export function isOfKeeping(change) {
  return change.type === "stored";
}

/** @param {State} state @param {KeepingChange} change
 * @returns {State} */
export function keepingChanged(state, { stored }) {
  return { ...state, stored: { ...state.stored, ...stored } };
}

/** @param {ReadHead} head
 * @returns {KeptEntry} */
export function entryOf({ id, updated, bytes, summary }) {
  return { id, updated, bytes, ...summary };
}

/** What the list of kept studies will say of the open one. @param {State} state @param {Snapshot} snapshot
 * @returns {Summary} */
export function summaryOf({ maps, photos }, { record }) {
  const { about, findings } = /** @type {{about?: {object?: unknown}, findings?: unknown}} */ (record ?? {});
  return {
    title: typeof about?.object === "string" ? about.object.trim() : "",
    maps: maps.filter(({ derived }) => derived == null).length,
    photos: photos.length,
    findings: Array.isArray(findings) ? findings.length : 0,
  };
}

/** Nothing was opened yet, so there is nothing to keep. @param {Snapshot} snapshot */
export function isNothing({ record, inputs, blobs }) {
  return record === null || inputs.length + blobs.size === 0;
}

/** Whether the page would show the same of both: what is written ten times a second is not drawn as often.
 * @param {Told|null} a @param {Told} b */
export function looksAlike(a, b) {
  if (a === null || a.status !== b.status || a.why !== b.why || a.files !== b.files) return false;
  return JSON.stringify(a.left_out) === JSON.stringify(b.left_out) && (b.status !== "failed" || a.at === b.at);
}
