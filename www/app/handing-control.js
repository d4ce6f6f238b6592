// The part of the controller that belongs to handing over: the study as a file, the report, a copy to share, exports, computing all findings
// again; and opening a study file.

import { CANCELLED, asProblem } from "./protocol.js";
import { asInput } from "./files.js";
import { download } from "./download.js";
import { exportOf, handFileName, sizeText } from "./handing.js";
import { newestOnly } from "./newest.js";

/** @typedef {import("./limner.js").Limner} Limner */
/** @typedef {import("./state.js").State} State */
/** @typedef {import("./state.js").Change} Change */
/** @typedef {import("./handing-state.js").HandWhat} HandWhat */
/** @typedef {import("./handing-state.js").ReportHow} ReportHow */
/** @typedef {import("./handing-state.js").ShareHow} ShareHow */
/** @typedef {import("./types.js").CallOptions} CallOptions */
/** @typedef {import("./types.js").Input} Input */

/** @typedef {{type: "save_study"} | {type: "save_report"} | {type: "share"} | {type: "export"} | {type: "reproduce"} | {type: "cancel_hand"}
 *   | {type: "set_report", how: ReportHow} | {type: "set_share", how: ShareHow} | {type: "want_share_size"} | {type: "set_export", exported: Partial<import("./handing-state.js").HandingState["exported"]>}
 *   | {type: "open_waiting", save_first: boolean} | {type: "leave_waiting"}} HandingAction */

/** @typedef {{state: () => State, change: (change: Change) => void, tell: (thrown: unknown) => void}} Desk */

/** @type {HandingAction["type"][]} */
const ACTIONS = ["save_study", "save_report", "share", "export", "reproduce", "cancel_hand", "set_report", "set_share", "want_share_size", "set_export", "open_waiting", "leave_waiting"];

/** @template {{type: string}} Any
 * @param {Any} action
 * @returns {action is Extract<Any, HandingAction>} */
export function isHandingAction(action) {
  return ACTIONS.some((one) => one === action.type);
}

export class HandingControl {
  #limner;
  #desk;
  #hand_over;
  #size;
  /** @type {AbortController|null} */
  #doing = null;

  /** @param {Limner} limner @param {Desk} desk @param {(file: Blob, name: string) => void} [hand_over] */
  constructor(limner, desk, hand_over = download) {
    this.#limner = limner;
    this.#desk = desk;
    this.#hand_over = hand_over;
    this.#size = newestOnly((/** @type {ShareHow} */ how) => limner.share_size(how), ({ text }) => desk.change({ type: "share_size", text }),
      // The copy itself says what is wrong, where it is wanted.
      () => desk.change({ type: "share_size", text: "" }));
  }

  /** Files were added. A study takes the place of what is open, so it waits until that is said. @param {(File|Input)[]} files */
  add(files) {
    this.#add(files).catch(this.#desk.tell);
  }

  /** @param {(File|Input)[]} files */
  async #add(files) {
    if (files.length === 0) return;
    const { maps, photos, findings } = this.#desk.state();
    if (maps.length + photos.length + findings.length === 0) return void (await this.#limner.open(files));
    const inputs = files.map(asInput);
    const at = (await Promise.all(inputs.map(({ file }) => this.#limner.is_study(file)))).indexOf(true);
    const input = inputs[at];
    if (input === undefined) return void (await this.#limner.open(files));
    this.#desk.change({ type: "study_waits", waits: { input, others: inputs.filter((_, index) => index !== at) } });
  }

  /** What can be saved, the core says. @param {() => Promise<import("./types.js").ExportKind[]>} exports @param {(thrown: unknown) => void} tell */
  ready(exports, tell) {
    Promise.resolve().then(exports).then((kinds) => this.#desk.change({ type: "export_kinds", kinds }), tell);
  }

  /** @param {HandingAction} action */
  send(action) {
    const { state, change } = this.#desk;
    switch (action.type) {
      case "save_study":
        return void this.#write("study", () => this.#limner.save());
      case "save_report": {
        const how = state().report_how;
        return void this.#write("report", (options) => this.#limner.report({ paper: how.paper, dpi: how.dpi }, options));
      }
      case "share": {
        const how = state().share_how;
        return void this.#write("share", (options) => this.#limner.share(how, options));
      }
      case "export": {
        const chosen = exportOf(state());
        if (chosen === null) return;
        return void this.#write("export", () => this.#limner.export(chosen.what, chosen.options), chosen.name);
      }
      case "reproduce":
        return void this.#reproduce();
      case "cancel_hand":
        return this.#doing?.abort();
      case "set_report":
        return change({ type: "report_how", how: action.how });
      case "set_share":
        change({ type: "share_how", how: action.how });
        return this.#size.ask(action.how);
      case "want_share_size":
        return this.#size.ask(state().share_how);
      case "set_export":
        return change({ type: "exported", exported: action.exported });
      case "open_waiting":
        return void this.#open_waiting(action.save_first);
      case "leave_waiting":
        return change({ type: "study_waits", waits: null });
    }
  }

  /** One thing at a time, with its end in words. @template Made
   * @param {HandWhat} what @param {(options: CallOptions) => Promise<Made>} make
   * @returns {Promise<Made|null>} */
  async #do(what, make) {
    const { state, change } = this.#desk;
    if (state().handing !== null) return null;
    const mine = (this.#doing = new AbortController());
    change({ type: "handing", handing: { what, progress: null } });
    try {
      return await make({ signal: mine.signal, on_progress: (progress) => state().handing?.what === what && change({ type: "handing", handing: { what, progress } }) });
    } catch (thrown) {
      const { code, message } = asProblem(thrown);
      if (code === CANCELLED.code) change({ type: "handing", handing: null });
      else change({ type: "handed", handed: { what, text: message, is_trouble: true } });
      return null;
    }
  }

  /** @param {HandWhat} what @param {(options: CallOptions) => Promise<Blob>} make @param {string} [name]
   * @returns {Promise<boolean>} whether it was written */
  async #write(what, make, name = handFileName(this.#desk.state(), what)) {
    const file = await this.#do(what, make);
    if (file === null) return false;
    // The core knows best how single files are called.
    const called = what === "export" && file instanceof File && file.name !== "" ? file.name : name;
    this.#hand_over(file, called);
    this.#desk.change({ type: "handed", handed: { what, text: `Saved as “${called}”, ${sizeText(file.size)}.`, is_trouble: false } });
    return true;
  }

  async #reproduce() {
    if (this.#desk.state().handing === null) this.#desk.change({ type: "reproduced", list: null });
    const list = await this.#do("reproduce", (options) => this.#limner.reproduce(options));
    if (list === null) return;
    this.#desk.change({ type: "reproduced", list });
    this.#desk.change({ type: "handing", handing: null });
  }

  /** @param {boolean} save_first */
  async #open_waiting(save_first) {
    const { state, change, tell } = this.#desk;
    const { study_waits } = state();
    if (study_waits === null) return;
    if (save_first && !(await this.#write("study", () => this.#limner.save()))) return;
    change({ type: "study_waits", waits: null });
    try {
      // A study is opened alone; what came with it is added to it.
      await this.#limner.open([study_waits.input]);
      if (study_waits.others.length > 0) await this.#limner.open(study_waits.others);
    } catch (thrown) {
      tell(thrown);
    }
  }
}
