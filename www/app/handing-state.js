// What changes around handing over: what is being written, what was written, how it is to be written, and a study that waits to be opened. Pure.

/** @typedef {import("./state.js").State} State */
/** @typedef {import("./types.js").Progress} Progress */
/** @typedef {import("./types.js").Reproduced} Reproduced */
/** @typedef {import("./types.js").Input} Input */

/** @typedef {"study"|"report"|"share"|"export"|"reproduce"} HandWhat */
/** What can be left out of a copy. @typedef {"photo"|"file names"|"notes"|"coordinates"|"object"} LeftOut */
/** @typedef {{paper: "A4"|"Letter", dpi: number}} ReportHow */
/** @typedef {{findings_only: boolean, leave_out: LeftOut[]}} ShareHow */

/** `handing`: what is being done; `handed`: what came of the last one, in words; `share_size`: how large the copy would be. `study_waits`: a study
 * file that would take the place of what is open.
 * @typedef {{handing: {what: HandWhat, progress: Progress|null}|null, handed: {what: HandWhat, text: string, is_trouble: boolean}|null,
 *   report_how: ReportHow, share_how: ShareHow, share_size: string, reproduced: Reproduced[]|null, export_kinds: import("./types.js").ExportKind[], exported: {what: string, of: string, as: string, lies: string},
 *   study_waits: {input: Input, others: Input[]}|null}} HandingState */
/** @typedef {{type: "handing", handing: HandingState["handing"]} | {type: "handed", handed: HandingState["handed"]} | {type: "report_how", how: ReportHow}
 *   | {type: "share_how", how: ShareHow} | {type: "share_size", text: string} | {type: "reproduced", list: Reproduced[]|null} | {type: "exported", exported: Partial<HandingState["exported"]>} | {type: "export_kinds", kinds: HandingState["export_kinds"]}
 *   | {type: "study_waits", waits: HandingState["study_waits"]}} HandingChange */

/** @type {HandingState} */
export const HANDING_START = Object.freeze({
  handing: null, handed: null, report_how: Object.freeze({ paper: "A4", dpi: 300 }), share_how: Object.freeze({ findings_only: false, leave_out: [] }), share_size: "",
  reproduced: null, export_kinds: [], exported: Object.freeze({ what: "", of: "", as: "", lies: "" }), study_waits: null,
});

/** @type {HandingChange["type"][]} */
const TYPES = ["handing", "handed", "report_how", "share_how", "share_size", "reproduced", "exported", "export_kinds", "study_waits"];

/** @param {{type: string}} change
 * @returns {change is HandingChange} */
export function isOfHanding(change) {
  return TYPES.some((one) => one === change.type);
}

/** @param {State} state @param {HandingChange} change
 * @returns {State} */
export function handingChanged(state, change) {
  switch (change.type) {
    case "handing":
      return { ...state, handing: change.handing, handed: change.handing === null ? state.handed : null };
    case "handed":
      return { ...state, handing: null, handed: change.handed };
    case "report_how":
      return { ...state, report_how: change.how };
    case "share_how":
      return { ...state, share_how: change.how, share_size: "" };
    case "share_size":
      return { ...state, share_size: change.text };
    case "reproduced":
      return { ...state, reproduced: change.list };
    case "exported":
      return { ...state, exported: { ...state.exported, ...change.exported } };
    case "export_kinds":
      return { ...state, export_kinds: change.kinds };
    case "study_waits":
      return { ...state, study_waits: change.waits };
  }
}
