// The plots of an answer, one below the other. Each kind has its file; all draw from the shares and texts that the core gives.

import { reconcile } from "../../dom.js";
import { createBars } from "./bars.js";
import { createDots } from "./dots.js";
import { createJoint } from "./joint.js";
import { createMatrix } from "./matrix.js";
import { createProfile } from "./profile.js";

/** @typedef {import("../../state.js").State} State */
/** @typedef {import("../../types.js").Answer} Answer */
/** @typedef {import("../../types.js").Plot} Plot */
/** `update` when the state has changed; `redraw` when colours have.
 * @typedef {{element: HTMLElement, update?: (state: State) => void, redraw?: () => void}} Drawn */

/** @param {HTMLElement} root @param {import("../../controller.js").Send} send
 * @returns {{update: (state: State, answer: Answer) => void}} */
export function createPlots(root, send) {
  /** @type {Map<string, Drawn>} */
  const drawn = new Map();
  matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => {
    for (const plot of drawn.values()) plot.redraw?.();
  });

  /** @param {Answer} answer @param {Plot} plot
   * @returns {Drawn} */
  function make(answer, plot) {
    switch (plot.kind) {
      case "bars":
        return createBars(plot);
      case "joint":
        return createJoint(plot, answer.id, send);
      case "matrix":
        return createMatrix(plot, send);
      case "profile":
        return createProfile(plot, () => send({ type: "save_csv", what: "profile", answer: answer.id }));
      case "dots":
        return createDots(plot);
    }
  }

  return {
    update(state, answer) {
      const plots = answer.plots ?? [];
      root.hidden = plots.length === 0;
      const name = (/** @type {Plot} */ { key }) => `${answer.id} ${key}`;
      reconcile(root, plots, name, (plot) => {
        const made = make(answer, plot);
        drawn.set(name(plot), made);
        return made.element;
      }, (_, plot) => drawn.get(name(plot))?.update?.(state));
      for (const key of [...drawn.keys()]) if (!plots.some((plot) => name(plot) === key)) drawn.delete(key);
    },
  };
}
