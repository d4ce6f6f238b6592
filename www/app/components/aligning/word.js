// A word of a sentence that opens its choices in place.

import { el, setAttribute, setText } from "../../dom.js";
import { openListbox } from "../listbox.js";

/** @typedef {import("../listbox.js").Choice} Choice */

/** @param {HTMLElement} container positioned @param {string} label @param {(value: string) => void} choose
 * @returns {{element: HTMLButtonElement, show: (choices: Choice[], chosen: string) => void}} */
export function createWord(container, label, choose) {
  /** @type {Choice[]} */
  let choices = [];
  let chosen = "";
  /** @type {(() => void)|null} */
  let close = null;
  const element = el("button", { class: "sentence-setting", attrs: { type: "button", "aria-haspopup": "listbox", "aria-expanded": "false" }, on: { click: unfold, keydown: (/** @type {KeyboardEvent} */ event) => {
    if (event.key !== "ArrowDown" && event.key !== "ArrowUp") return;
    event.preventDefault();
    unfold();
  } } });

  function unfold() {
    if (close) return close();
    close = openListbox(element, container, {
      label, choices, chosen, closed: () => (close = null),
      choose: (value) => {
        if (value !== chosen) choose(value);
      },
    });
  }

  return {
    element,
    show(next, value) {
      choices = next;
      chosen = value;
      const text = next.find((one) => one.value === value)?.text ?? value;
      setText(element, text);
      setAttribute(element, "aria-label", `${label}: ${text}`);
    },
  };
}
