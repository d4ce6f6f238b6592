// The part of the controller that belongs to findings: keeping, opening, changing their order, asking again; the object; undo and redo.

import { CANCELLED, asProblem } from "./protocol.js";
import { newestOnly } from "./newest.js";
import { sceneOf } from "./scene.js";

/** @typedef {import("./limner.js").Limner} Limner */
/** @typedef {import("./state.js").State} State */
/** @typedef {import("./state.js").Change} Change */
/** @typedef {import("./findings-state.js").KeptAt} KeptAt */
/** @typedef {import("./scene.js").Window} Window */
/** @typedef {import("./types.js").About} About */
/** @typedef {import("./types.js").PictureSettings} PictureSettings */

/** What the views show now: the picture of the active one as it would be saved, and the parts of planes that are in sight.
 * @typedef {{picture: PictureSettings|null, windows: Window[]}} Seen */

/** @typedef {{type: "choose_column", column: "ask"|"findings"} | {type: "keep", at: KeptAt, seen: Seen} | {type: "write_kept", title: string, note: string} | {type: "leave_kept"}
 *   | {type: "open_finding", id: string} | {type: "close_finding"} | {type: "see_now"} | {type: "edit_finding", id: string|null} | {type: "write_finding", id: string, title: string, note: string}
 *   | {type: "move_finding", id: string, by: -1|1} | {type: "renew_finding", id: string} | {type: "cancel_renew"} | {type: "remove_finding", id: string}
 *   | {type: "set_about", about: About} | {type: "undo"} | {type: "redo"}} FindingsAction */

/** @typedef {{state: () => State, change: (change: Change) => void, tell: (thrown: unknown) => void,
 *   findings: () => Promise<import("./types.js").Finding[]>, about: () => Promise<Partial<About>>, ask_as: (ready: {question: string, settings: Record<string, unknown>}|null) => void}} Desk */

/** @type {FindingsAction["type"][]} */
const ACTIONS = ["choose_column", "keep", "write_kept", "leave_kept", "open_finding", "close_finding", "see_now", "edit_finding", "write_finding", "move_finding", "renew_finding",
  "cancel_renew", "remove_finding", "set_about", "undo", "redo"];

/** @template {{type: string}} Any
 * @param {Any} action
 * @returns {action is Extract<Any, FindingsAction>} */
export function isFindingsAction(action) {
  return ACTIONS.some((one) => one === action.type);
}

/** What is not said of the object, the core leaves out. @type {About} */
const UNSAID = { object: "", number: "", described: "", dated: "", author: "", remarks: "" };

export class FindingsControl {
  #limner;
  #desk;
  #refresh;
  #refresh_about;
  /** One after the other: each rests on the order that the last one left. */
  #changing = Promise.resolve();
  /** @type {AbortController|null} */
  #renewing = null;
  /** The last one that was to be opened: what comes of an earlier one is too late. */
  #opening = 0;

  /** @param {Limner} limner @param {Desk} desk */
  constructor(limner, desk) {
    this.#limner = limner;
    this.#desk = desk;
    this.#refresh = newestOnly((/** @type {null} */ _) => desk.findings(), (findings) => desk.change({ type: "findings", findings }), (thrown) => desk.tell(thrown));
    this.#refresh_about = newestOnly((/** @type {null} */ _) => desk.about(), (about) => desk.change({ type: "about", about: { ...UNSAID, ...about } }), (thrown) => desk.tell(thrown));
  }

  /** The list is another one. */
  refresh() {
    this.#refresh.ask(null);
  }

  /** What findings rest on may have changed; without any there is nothing to look up. */
  ground_changed() {
    if (this.#desk.state().findings.length > 0) this.#refresh.ask(null);
  }

  refresh_about() {
    this.#refresh_about.ask(null);
  }

  /** @param {FindingsAction} action */
  send(action) {
    const { change, state, tell } = this.#desk;
    switch (action.type) {
      case "choose_column":
        return change({ type: "column", column: action.column });
      case "keep":
        return void this.#keep(action.at, action.seen);
      case "write_kept": {
        const { kept } = state();
        if (kept !== null) this.#write(kept.id, action.title, action.note).then(() => change({ type: "kept", kept: null }), (thrown) => change({ type: "keep_failed", trouble: { at: kept.at, message: asProblem(thrown).message } }));
        return;
      }
      case "leave_kept":
        return change({ type: "kept", kept: null });
      case "open_finding":
        return void this.#open(action.id);
      case "close_finding":
        change({ type: "close_finding" });
        return change({ type: "column", column: "findings" });
      case "see_now":
        return change(action);
      case "edit_finding":
        return change({ type: "editing", id: action.id });
      case "write_finding":
        this.#write(action.id, action.title, action.note).then(() => change({ type: "editing", id: null }), this.#failed(action.id));
        return;
      case "move_finding":
        this.#move(action.id, action.by);
        return;
      case "renew_finding":
        return void this.#renew(action.id);
      case "cancel_renew":
        return this.#renewing?.abort();
      case "remove_finding":
        this.#limner.remove(action.id).catch(this.#failed(action.id));
        return;
      case "set_about":
        this.#limner.set_about(action.about).catch((thrown) => change({ type: "about_failed", message: asProblem(thrown).message }));
        return;
      case "undo":
      case "redo":
        this.#changing = this.#changing.then(() => this.#step(action.type)).catch(tell);
        return;
    }
  }

  /** @param {string} id */
  #failed(id) {
    return (/** @type {unknown} */ thrown) => this.#desk.change({ type: "finding_failed", trouble: { id, message: asProblem(thrown).message } });
  }

  /** @param {KeptAt} at @param {Seen} seen */
  async #keep(at, seen) {
    const { state, change } = this.#desk;
    const { answer, keeping } = state();
    if (keeping !== null || (at === "answer" && answer === null)) return;
    change({ type: "keeping", at });
    try {
      const scene = sceneOf(state(), seen.windows);
      const { id } = await this.#limner.keep(at === "answer" && answer !== null ? answer.id : null, { ...(seen.picture === null ? {} : { picture: seen.picture }), scene });
      change({ type: "findings", findings: await this.#desk.findings() });
      change({ type: "kept", kept: { id, at } });
    } catch (thrown) {
      change({ type: "keep_failed", trouble: { at, message: asProblem(thrown).message } });
    }
  }

  /** @param {string} id @param {string} title @param {string} note */
  async #write(id, title, note) {
    const now = this.#desk.state().findings.find((one) => one.id === id);
    const settings = { ...(title.trim() === now?.title ? {} : { title: title.trim() }), ...(note.trim() === (now?.note ?? "") ? {} : { note: note.trim() }) };
    if (Object.keys(settings).length > 0) await this.#limner.set_finding(id, settings);
  }

  /** @param {string} id @param {-1|1} by */
  #move(id, by) {
    this.#changing = this.#changing.then(async () => {
      // The order as it is by now: keys are pressed faster than the list comes.
      const findings = await this.#desk.findings();
      const place = (findings.find((one) => one.id === id)?.place ?? 0) + by;
      if (place < 1 || place > findings.length) return;
      await this.#limner.set_finding(id, { place });
      this.#desk.change({ type: "findings", findings: await this.#desk.findings() });
      this.#desk.change({ type: "moved", id });
    }).catch(this.#failed(id));
  }

  /** @param {string} id */
  async #open(id) {
    const { state, change } = this.#desk;
    this.#opening += 1;
    const mine = this.#opening;
    try {
      const whole = await this.#limner.finding(id);
      if (mine !== this.#opening) return;
      // Whatever is being asked is not wanted any more.
      this.#desk.ask_as(null);
      change({ type: "opened", whole });
      const { answer, finding, settings } = whole;
      if (answer === null || finding.changed.length > 0 || state().maps.length + state().photos.length === 0) return;
      // The same question gives the same answer, and the core then holds its pixels.
      this.#desk.ask_as({ question: answer.question, settings: settings ?? answer.settings });
    } catch (thrown) {
      this.#failed(id)(thrown);
    }
  }

  /** @param {string} id */
  async #renew(id) {
    const { state, change } = this.#desk;
    if (state().renewing !== null) return;
    const mine = (this.#renewing = new AbortController());
    const was_open = state().opened?.id === id;
    change({ type: "renewing", renewing: { id, progress: null } });
    try {
      await this.#limner.renew_finding(id, { signal: mine.signal, on_progress: (progress) => state().renewing !== null && change({ type: "renewing", renewing: { id, progress } }) });
      change({ type: "renewing", renewing: null });
      change({ type: "findings", findings: await this.#desk.findings() });
      if (was_open) await this.#open(id);
    } catch (thrown) {
      if (asProblem(thrown).code === CANCELLED.code) change({ type: "renewing", renewing: null });
      else this.#failed(id)(thrown);
    }
  }

  /** @param {"undo"|"redo"} how */
  async #step(how) {
    const { history } = this.#desk.state();
    if (history[how] === 0) return;
    const { text } = await this.#limner[how]();
    this.#desk.change({ type: "told", text: `${how === "undo" ? "Undone" : "Done again"}: ${text}.` });
  }
}
