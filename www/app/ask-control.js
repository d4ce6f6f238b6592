// The part of the controller that asks: one question at a time, again when what it rests on has changed.

import { CANCELLED, asProblem } from "./protocol.js";
import { readyToAsk } from "./asking.js";

/** @typedef {import("./core-client.js").CoreClient} CoreClient */
/** @typedef {import("./state.js").State} State */
/** @typedef {import("./state.js").Change} Change */

/** @typedef {{state: () => State, change: (change: Change) => void}} Desk */

/** One message in a short silence would only flicker. */
const SHOW_PROGRESS_AFTER_MS = 150;
/** Questions whose answers rest on what is known beside maps and regions. */
const OF_MATERIALS = ["materials", "covered", "dates"];

export class AskControl {
  #client;
  #desk;
  /** @type {AbortController|null} */
  #asking = null;
  #asked = "";

  /** @param {CoreClient} client @param {Desk} desk */
  constructor(client, desk) {
    this.#client = client;
    this.#desk = desk;
  }

  /** Whether the last question names any of these. @param {string[]} words */
  names(words) {
    return words.some((one) => this.#asked.includes(JSON.stringify(one)));
  }

  /** Take back what is being asked. */
  cancel() {
    this.#asking?.abort();
  }

  /** What was asked may be asked again in the same words. */
  forget() {
    this.#asked = "";
  }

  /** What is being asked is taken back, and what was asked is not asked again by itself. */
  nothing() {
    this.#asking?.abort();
    this.#asking = null;
    this.#asked = "";
  }

  /** Ask the last question again, unless it was taken back. */
  anew() {
    const { ask_trouble } = this.#desk.state();
    if (this.#asked !== "" || (ask_trouble !== null && ask_trouble.code !== CANCELLED.code)) void this.ask({ again: true, turn: false });
  }

  /** What a passage could be rests on what was measured there, and says places from the object's edges. */
  anew_of_materials() {
    if (this.#asked === "" || OF_MATERIALS.some((key) => this.#asked.startsWith(JSON.stringify({ question: key }).slice(0, -1)))) this.anew();
  }

  /** Ask what the sentence says, as soon as it is complete. `again`: even if it was the last thing asked; `turn`: show the answer's
   * picture when it comes; `ready`: this, and not what the sentence says. @param {{again?: boolean, turn?: boolean, ready?: ReturnType<typeof readyToAsk>}} [how] */
  async ask({ again = false, turn = true, ready = readyToAsk(this.#desk.state()) } = {}) {
    if (ready === null) {
      this.#asking?.abort();
      this.#asked = "";
      const { answer, ask_trouble } = this.#desk.state();
      if (answer !== null || ask_trouble !== null) this.#desk.change({ type: "ask_failed", problem: null });
      return;
    }
    const asked = JSON.stringify(ready);
    if (asked === this.#asked && !again) return;
    this.#asking?.abort();
    this.#asked = asked;
    const mine = new AbortController();
    this.#asking = mine;
    const current = () => this.#asking === mine;
    const slow = setTimeout(() => {
      if (current() && this.#desk.state().asking === null) this.#desk.change({ type: "asking", progress: { fraction: 0, text: "" } });
    }, SHOW_PROGRESS_AFTER_MS);
    try {
      const { answer, rasters } = await this.#client.ask(ready.question, ready.settings, {
        signal: mine.signal,
        on_progress: (progress) => current() && this.#desk.change({ type: "asking", progress }),
      });
      if (current()) this.#desk.change({ type: "answered", answer, rasters, turn });
    } catch (thrown) {
      if (!current()) return;
      this.#asked = "";
      this.#desk.change({ type: "ask_failed", problem: asProblem(thrown) });
    } finally {
      clearTimeout(slow);
      if (current()) this.#asking = null;
    }
  }
}
