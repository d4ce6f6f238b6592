// The part of the controller that belongs to other scans: comparing them with the first.

import { comparisonOf } from "./scans-state.js";
import { asProblem } from "./protocol.js";

/** @typedef {import("./limner.js").Limner} Limner */
/** @typedef {import("./state.js").State} State */
/** @typedef {import("./state.js").Change} Change */

/** @typedef {{type: "compare_scans", map: string, first: string|null}} ScansAction */

export class ScansControl {
  #limner;
  #desk;

  /** @param {Limner} limner @param {{state: () => State, change: (change: Change) => void}} desk */
  constructor(limner, desk) {
    this.#limner = limner;
    this.#desk = desk;
  }

  /** @param {ScansAction} action */
  send({ map, first }) {
    void this.#compare(map, first);
  }

  /** @param {string} map @param {string|null} first */
  async #compare(map, first) {
    const { state, change } = this.#desk;
    const of = comparisonOf(state(), { map, first });
    const now = state().compared;
    if (now !== null && now.of === of && now.busy) return;
    // What came too late for another comparison is told nowhere.
    const tell = (/** @type {Partial<import("./scans-state.js").Compared>} */ more) => {
      if (state().compared?.of === of) change({ type: "compared", compared: { of, busy: false, found: null, trouble: "", ...more } });
    };
    change({ type: "compared", compared: { of, busy: true, found: null, trouble: "" } });
    try {
      tell({ found: await this.#limner.compare_scans(first === null ? { map } : { map, first }) });
    } catch (thrown) {
      tell({ trouble: asProblem(thrown).message });
    }
  }
}
