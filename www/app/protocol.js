// The messages between page and worker, listed once for both sides.
//
//   page -> worker   {id, action, args}
//   worker -> page   {id, started: true}               at once when the work begins
//                    {id, progress: {fraction, text}}   any number of times
//                    {id, ok, record?, change?, blobs?, inputs?}  or  {id, error: {code, message, detail, fatal}}
//
// `record` comes with the result of every action that changes the session, so that the page can never hold a record that is
// older than the result it has already seen; with it `change`, what changed in words, and `blobs`, the bytes that the record names
// newly. `inputs` are the files of a study that was restored, by their places in its file.

/** @typedef {import("./types.js").Problem} Problem */
/** @typedef {import("./types.js").Progress} Progress */
/** @typedef {import("./types.js").StateRecord} StateRecord */

/** @typedef {{id: number, action: string, args: unknown[]}} Request */
/** @typedef {{id: number, started: true}} Started */
/** @typedef {{id: number, progress: Progress}} Progressed */
/** What an action gave.
 * @typedef {{ok: unknown, record?: StateRecord, change?: string, blobs?: import("./types.js").KeptBlob[], inputs?: import("./types.js").InputInFile[]}} Gave */
/** @typedef {{id: number} & Gave} Done */
/** @typedef {{id: number, error: Problem & {fatal: boolean}}} Failed */
/** @typedef {Started|Progressed|Done|Failed} Reply */

/** What the session worker answers. */
export const SESSION_ACTIONS = Object.freeze([
  "load", "open", "open_photo", "maps", "photos", "set_photo", "align", "fields", "compare_scans", "laying", "subject_to_align", "object", "set_object",
  "map", "set_map", "set_maps", "grid", "set_grid", "scan", "set_scan", "picture", "read_out",
  "questions", "lights", "subject", "adopt", "subject_to_derive", "adopt_derived", "add_region", "set_region", "preview_region", "regions",
  "region", "rename", "remove", "inspect", "histogram", "colours", "export", "exports", "joint",
  "points", "add_point", "set_point", "techniques", "materials", "layers", "spectra", "spectrum", "add_spectrum", "overlaps",
  "about", "set_about", "keep", "findings", "finding", "set_finding", "renew_finding",
  "record", "apply", "restate", "difference", "save", "restore", "is_study", "copy_size",
]);

/** What a job worker answers. */
export const JOB_ACTIONS = Object.freeze(["load", "run", "derive", "find_alignment", "read_photo", "reproduce", "report", "leave_out"]);

/** Every action of either worker; the worker's one source serves both. */
export const ALL_ACTIONS = Object.freeze([...new Set([...SESSION_ACTIONS, ...JOB_ACTIONS])]);

/** Anything thrown, as `{code, message, detail}`. Problems of the core pass unchanged.
 * @param {unknown} thrown
 * @returns {Problem} */
export function asProblem(thrown) {
  if (typeof thrown === "object" && thrown !== null) {
    const { code, message, detail, name, stack } = /** @type {Record<string, unknown>} */ (thrown);
    if (typeof code === "string" && typeof message === "string") {
      return { code, message, detail: typeof detail === "string" ? detail : "" };
    }
    if (typeof message === "string") {
      return { code: "unexpected", message: `${typeof name === "string" ? name : "Error"}: ${message}`, detail: typeof stack === "string" ? stack : "" };
    }
  }
  return { code: "unexpected", message: String(thrown), detail: "" };
}

/** A problem that the page words itself.
 * @param {string} code
 * @param {string} message
 * @param {string} [detail]
 * @returns {Problem} */
export function problem(code, message, detail = "") {
  return { code, message, detail };
}

/** The problem of a call that the user or a script took back. */
export const CANCELLED = Object.freeze(problem("cancelled", "Cancelled."));
