// The part of the controller that belongs to spectra: adding one from a file, seeing it, taking it away.

import { asProblem } from "./protocol.js";
import { newestOnly } from "./newest.js";
import { symbolsOf } from "./spectra-state.js";

/** @typedef {import("./limner.js").Limner} Limner */
/** @typedef {import("./state.js").State} State */
/** @typedef {import("./state.js").Change} Change */
/** @typedef {import("./spectra-state.js").Adding} Adding */

/** `energies` where the core has asked for them.
 * @typedef {{type: "spectrum_file", region: string|null, file: File} | {type: "spectrum_how", how: import("./types.js").SpectrumHow}
 *   | {type: "keep_spectrum", energies: {first_kev: number, step_kev: number}|null} | {type: "drop_spectrum"}
 *   | {type: "show_spectrum", id: string|null} | {type: "mark_elements", text: string} | {type: "remove_spectrum", id: string}} SpectraAction */

/** @type {SpectraAction["type"][]} */
const ACTIONS = ["spectrum_file", "spectrum_how", "keep_spectrum", "drop_spectrum", "show_spectrum", "mark_elements", "remove_spectrum"];
/** Neither the file nor the settings say its energies. */
const ASKS = "no_calibration";

/** @template {{type: string}} Any
 * @param {Any} action
 * @returns {action is Extract<Any, SpectraAction>} */
export function isSpectraAction(action) {
  return ACTIONS.some((one) => one === action.type);
}

export class SpectraControl {
  #limner;
  #desk;
  #list;
  #draw;

  /** @param {Limner} limner @param {{state: () => State, change: (change: Change) => void, tell: (thrown: unknown) => void,
   *   spectra: () => Promise<import("./types.js").SpectrumSummary[]>}} desk */
  constructor(limner, desk) {
    this.#limner = limner;
    this.#desk = desk;
    this.#list = newestOnly((/** @type {null} */ _) => desk.spectra(), (spectra) => desk.change({ type: "spectra", spectra }), (thrown) => desk.tell(thrown));
    this.#draw = newestOnly(
      (/** @type {{id: string, text: string}} */ { id, text }) => limner.spectrum(id, { elements: symbolsOf(text) }),
      (plot, { id }) => this.#drawn(id, { plot, message: "" }),
      // What was seen stays, beside why the new one cannot be.
      (thrown, { id }) => this.#drawn(id, { plot: desk.state().spectrum_shown?.plot ?? null, message: asProblem(thrown).message }),
    );
  }

  /** Their list, or what they say, may have changed. */
  refresh() {
    this.#list.ask(null);
    this.#see();
  }

  /** @param {SpectraAction} action */
  send(action) {
    const { change, state } = this.#desk;
    switch (action.type) {
      case "spectrum_file":
        return change({ type: "spectrum_adding", adding: { region: action.region, file: action.file, how: "sum", asks: false, busy: false, message: "" } });
      case "spectrum_how":
        return this.#adding({ how: action.how });
      case "keep_spectrum":
        return void this.#keep(action.energies);
      case "drop_spectrum":
        return change({ type: "spectrum_adding", adding: null });
      case "show_spectrum":
        change({ type: "spectrum_shown", shown: action.id === null ? null : { id: action.id, plot: null, message: "" } });
        return this.#see();
      case "mark_elements":
        change({ type: "spectrum_elements", text: action.text });
        return this.#see();
      case "remove_spectrum": {
        const region = state().spectra.find(({ id }) => id === action.id)?.region ?? null;
        this.#limner.remove(action.id).catch((thrown) => change({ type: "spectrum_failed", trouble: { region, message: asProblem(thrown).message } }));
        return;
      }
    }
  }

  #see() {
    const { spectrum_shown, spectrum_elements: text } = this.#desk.state();
    if (spectrum_shown === null) return this.#draw.forget();
    this.#draw.ask({ id: spectrum_shown.id, text });
  }

  /** @param {string} id @param {{plot: import("./types.js").SpectrumPlot|null, message: string}} got */
  #drawn(id, got) {
    if (this.#desk.state().spectrum_shown?.id === id) this.#desk.change({ type: "spectrum_shown", shown: { id, ...got } });
  }

  /** @param {Partial<Adding>} part */
  #adding(part) {
    const { spectrum_adding } = this.#desk.state();
    if (spectrum_adding !== null) this.#desk.change({ type: "spectrum_adding", adding: { ...spectrum_adding, ...part } });
  }

  /** @param {{first_kev: number, step_kev: number}|null} energies */
  async #keep(energies) {
    const { spectrum_adding } = this.#desk.state();
    if (spectrum_adding === null || spectrum_adding.busy) return;
    const { file, how, region } = spectrum_adding;
    this.#adding({ busy: true, message: "" });
    const still = () => this.#desk.state().spectrum_adding?.file === file;
    try {
      const bytes = new Uint8Array(await file.arrayBuffer());
      const { id } = await this.#limner.add_spectrum({ name: file.name, bytes, how, ...(region === null ? {} : { region }), ...energies });
      if (still()) this.#desk.change({ type: "spectrum_adding", adding: null });
      this.send({ type: "show_spectrum", id });
    } catch (thrown) {
      const { code, message } = asProblem(thrown);
      if (!still()) return;
      const asks = code === ASKS;
      this.#adding({ busy: false, asks: asks || this.#desk.state().spectrum_adding?.asks === true, message: asks ? "" : message });
    }
  }
}
