// The calls of findings and of what is said of the object.

import { RegionCalls } from "./region-calls.js";

/** @typedef {import("./turns.js").Turns} Turns */
/** @typedef {import("./types.js").About} About */
/** @typedef {import("./types.js").CallOptions} CallOptions */
/** @typedef {import("./types.js").Finding} Finding */
/** @typedef {import("./types.js").FindingWhole} FindingWhole */
/** @typedef {import("./types.js").KeepSettings} KeepSettings */

/** A picture is drawn, lettered and packed in one go. */
const KEEP_SILENCE_MS = 20000;

export class FindingCalls extends RegionCalls {
  #turns;

  /** @param {Turns} turns */
  constructor(turns) {
    super(turns);
    this.#turns = turns;
  }

  /** Keep an answer by its id, or without one a view: what `picture` shows. @param {string|null} answer @param {KeepSettings} [settings]
   * @param {CallOptions} [options] @returns {Promise<Finding>} */
  async keep(answer, settings = {}, options = undefined) {
    return this.#turns.changing("findings_changed", "keep", [{ ...settings, answer: answer ?? null }], options, KEEP_SILENCE_MS);
  }

  /** All findings, in their order. @param {CallOptions} [options] @returns {Promise<Finding[]>} */
  async findings(options) {
    return this.#turns.once_read("findings", [], options);
  }

  /** A finding with its answer as it was kept, the settings that it was asked with, what the page showed, and its picture as a PNG.
   * @param {string} id @param {CallOptions} [options] @returns {Promise<FindingWhole>} */
  async finding(id, options) {
    const { finding, answer, settings, scene, png } = await this.#turns.as_soon_as_possible("finding", [id], options);
    return { finding, answer, settings, scene, picture: png === null ? null : new Blob([png], { type: "image/png" }) };
  }

  /** Give a finding another title, note or place in the list (from 1).
   * @param {string} id @param {{title?: string, note?: string, place?: number}} settings @param {CallOptions} [options] @returns {Promise<Finding>} */
  async set_finding(id, settings, options) {
    return this.#turns.changing("findings_changed", "set_finding", [id, settings], options);
  }

  /** Ask the question of a finding again, of what is there now; a view is drawn anew. Title, note and place stay. Abort stops the
   * computation itself. @param {string} id @param {CallOptions} [options] @returns {Promise<Finding>} */
  async renew_finding(id, options = {}) {
    await this.#turns.opening;
    const { finding: { question }, settings } = await this.#turns.client.call("finding", [id], { signal: options.signal });
    const asked = question === null ? null : await this.#turns.client.ask(question, settings, options);
    return this.#turns.changing("findings_changed", "renew_finding", [id, asked?.answer.id ?? null], { signal: options.signal }, KEEP_SILENCE_MS);
  }

  /** What is said of the object and the study. @param {CallOptions} [options] @returns {Promise<About>} */
  async about(options) {
    return whole(await this.#turns.once_read("about", [], options));
  }

  /** Say it, all in one go. @param {Partial<About>} about @param {CallOptions} [options] @returns {Promise<About>} */
  async set_about(about, options) {
    const said = whole(await this.#turns.as_soon_as_possible("set_about", [about], options));
    this.#turns.notify({ type: "about_changed", about: said });
    return said;
  }
}

/** What is not said is empty. @param {Partial<About>} about
 * @returns {About} */
function whole(about) {
  return { object: "", number: "", described: "", dated: "", author: "", remarks: "", ...about };
}
