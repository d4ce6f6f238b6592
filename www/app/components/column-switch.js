// The head of the third column: which of its two sides is seen.

import { el, setAttribute, setText } from "../dom.js";
import { columnOf } from "../findings-state.js";

/** @typedef {import("../state.js").State} State */

/** @param {HTMLElement} root @param {import("../controller.js").Send} send
 * @returns {{update: (state: State) => void}} */
export function createColumnSwitch(root, send) {
  const button = (/** @type {"ask"|"findings"} */ column) => el("button", { class: "column-switch-button", attrs: { type: "button" }, on: { click: () => send({ type: "choose_column", column }) } });
  const buttons = { ask: button("ask"), findings: button("findings") };
  buttons.findings.dataset.column = "findings";
  setText(buttons.ask, "Ask");
  root.append(el("div", { class: "column-switch", attrs: { role: "group", "aria-label": "This column shows" } }, [buttons.ask, buttons.findings]));
  return {
    update(state) {
      const is_empty = state.maps.length + state.photos.length + state.findings.length === 0;
      root.hidden = is_empty;
      setText(buttons.findings, state.findings.length === 0 ? "Findings" : `Findings (${state.findings.length})`);
      for (const [column, one] of Object.entries(buttons)) setAttribute(one, "aria-pressed", String(column === columnOf(state)));
      // Without maps there is nothing to ask, but a kept answer is still read there.
      buttons.ask.disabled = state.maps.length + state.photos.length === 0 && state.opened?.answer == null;
    },
  };
}
