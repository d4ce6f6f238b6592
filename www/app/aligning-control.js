// The part of the controller that belongs to aligning: what is set goes to the core soon after, and what it says comes back.

import { begun, edgesBegun, edgesOf, foundTaken, objectOf, scanBegun, settingsOf } from "./aligning-state.js";
import { CANCELLED, asProblem } from "./protocol.js";

/** @typedef {import("./limner.js").Limner} Limner */
/** @typedef {import("./state.js").State} State */
/** @typedef {import("./state.js").Change} Change */
/** @typedef {import("./aligning-state.js").Aligning} Aligning */
/** @typedef {import("./types.js").PhotoSettings} PhotoSettings */

/** `align_edit`: what is set is this by now. `edges`: the object's edges are to be marked;
 * `scan`: the number of another scan that is to be laid. @typedef {{type: "open_aligning", photo: string|null, edges?: boolean, scan?: number} | {type: "close_aligning"} | {type: "align_edit", next: Aligning}
 *   | {type: "state_photo", photo: string, settings: PhotoSettings} | {type: "align_find"} | {type: "align_stop"} | {type: "align_take"} | {type: "align_refuse"}
 *   | {type: "forget_object"}} AligningAction */

/** @typedef {{state: () => State, change: (change: Change) => void, tell: (thrown: unknown) => void}} Desk */

/** @type {AligningAction["type"][]} */
const ACTIONS = ["open_aligning", "close_aligning", "align_edit", "state_photo", "align_find", "align_stop", "align_take", "align_refuse", "forget_object"];

/** @param {{type: string}} action
 * @returns {action is AligningAction} */
export function isAligningAction(action) {
  return ACTIONS.some((one) => one === action.type);
}

/** While a point is moved by keys or hand, the core is not asked after every step. */
const SEND_AFTER_MS = 150;

export class AligningControl {
  #limner;
  #desk;
  /** What the core was last told, and what it shall be told. */
  #told = "";
  #told_object = "";
  /** @type {ReturnType<typeof setTimeout>|undefined} */
  #timer;
  #telling = Promise.resolve();
  /** @type {AbortController|null} */
  #finding = null;

  /** @param {Limner} limner @param {Desk} desk */
  constructor(limner, desk) {
    this.#limner = limner;
    this.#desk = desk;
  }

  /** The object's edges as the maps lie now. */
  object_soon() {
    this.#limner.object().then((object) => this.#desk.change({ type: "object", object }), (thrown) => this.#desk.tell(thrown));
  }

  /** @param {AligningAction} action */
  send(action) {
    const { state, change } = this.#desk;
    const { aligning } = state();
    switch (action.type) {
      case "open_aligning":
        return void this.#open(action.photo, action.edges === true, action.scan ?? null);
      case "close_aligning":
        this.#finding?.abort();
        void this.#flush();
        return change({ type: "aligning", aligning: null });
      case "align_edit":
        return this.#edited(action.next);
      case "state_photo":
        return void this.#state_photo(action.photo, action.settings);
      case "align_find":
        return void this.#find();
      case "align_stop":
        return this.#finding?.abort();
      case "align_take":
        return aligning === null ? undefined : this.#edited(foundTaken(aligning));
      case "align_refuse":
        return aligning === null ? undefined : change({ type: "aligning", aligning: { ...aligning, found: null } });
      case "forget_object":
        if (aligning !== null) change({ type: "aligning", aligning: { ...aligning, edges: null } });
        this.#limner.set_object(null).catch((thrown) => this.#desk.tell(thrown));
        return;
    }
  }

  /** @param {string|null} id @param {boolean} edges @param {number|null} scan */
  async #open(id, edges, scan) {
    await this.#flush();
    const { photos, fields, maps, grid } = this.#desk.state();
    const photo = photos.find((one) => one.id === id);
    const field = fields.find((one) => one.field === scan);
    if (scan !== null && field === undefined) return;
    let aligning = field === undefined ? begun(photo, grid) : scanBegun(field, maps, grid);
    const settings = settingsOf(aligning);
    this.#told = JSON.stringify(settings);
    if (edges) aligning = edgesBegun(aligning, await this.#object());
    this.#desk.change({ type: "aligning", aligning });
  }

  async #object() {
    try {
      const object = await this.#limner.object();
      this.#desk.change({ type: "object", object });
      return object;
    } catch (thrown) {
      this.#desk.tell(thrown);
      return null;
    }
  }

  /** @param {Aligning} next */
  #edited(next) {
    this.#desk.change({ type: "aligning", aligning: next });
    clearTimeout(this.#timer);
    this.#timer = setTimeout(() => void this.#flush(), SEND_AFTER_MS);
  }

  /** What is set now is told to the core, after what it was told before. */
  #flush() {
    clearTimeout(this.#timer);
    const { aligning } = this.#desk.state();
    if (aligning !== null) this.#telling = this.#telling.then(() => this.#tell_points(aligning)).then(() => this.#tell_object(aligning));
    return this.#telling;
  }

  /** @param {Aligning} told */
  async #tell_points(told) {
    const settings = settingsOf(told);
    const text = JSON.stringify(settings);
    if (settings === null) return;
    try {
      const alignment = text === this.#told ? told.alignment : await this.#limner.align(settings);
      this.#told = text;
      this.#taken(text, { alignment, unsent: false, trouble: "" });
    } catch (thrown) {
      this.#taken(text, { trouble: asProblem(thrown).message });
    }
  }

  /** @param {string} told @param {Partial<Aligning>} more */
  #taken(told, more) {
    const { aligning } = this.#desk.state();
    // What was set meanwhile is told next.
    if (aligning !== null && JSON.stringify(settingsOf(aligning)) === told) this.#desk.change({ type: "aligning", aligning: { ...aligning, ...more } });
  }

  /** @param {Aligning} told */
  async #tell_object({ edges }) {
    const settings = objectOf(edges);
    const text = JSON.stringify(settings);
    const { object } = this.#desk.state();
    if (settings === null || text === this.#told_object) return;
    if (object !== null && text === JSON.stringify(objectOf(edgesOf(object)))) return;
    this.#told_object = text;
    try {
      await this.#limner.set_object(settings);
    } catch (thrown) {
      const { aligning } = this.#desk.state();
      if (aligning !== null) this.#desk.change({ type: "aligning", aligning: { ...aligning, trouble: asProblem(thrown).message } });
    }
  }

  /** @param {string} photo @param {PhotoSettings} settings */
  async #state_photo(photo, settings) {
    await this.#flush();
    const { aligning } = this.#desk.state();
    try {
      await this.#limner.set_photo(photo, settings);
      if (aligning !== null && aligning.trouble !== "") this.#desk.change({ type: "aligning", aligning: { ...aligning, trouble: "" } });
    } catch (thrown) {
      if (aligning === null) this.#desk.tell(thrown);
      else this.#desk.change({ type: "aligning", aligning: { ...aligning, trouble: asProblem(thrown).message } });
    }
  }

  async #find() {
    const { aligning } = this.#desk.state();
    if (this.#finding !== null || aligning === null || aligning.photo === null) return;
    await this.#flush();
    const { photo } = aligning;
    const mine = (this.#finding = new AbortController());
    const say = (/** @type {Partial<Aligning>} */ more) => {
      const now = this.#desk.state().aligning;
      if (now !== null && now.photo === photo) this.#desk.change({ type: "aligning", aligning: { ...now, ...more } });
    };
    say({ finding: { fraction: 0, text: "" }, found: null, trouble: "" });
    try {
      const found = await this.#limner.align_auto(photo, { signal: mine.signal, on_progress: (progress) => say({ finding: progress }) });
      say({ finding: null, found });
    } catch (thrown) {
      const { code, message } = asProblem(thrown);
      say({ finding: null, trouble: code === CANCELLED.code ? "" : message });
    } finally {
      this.#finding = null;
    }
  }
}
