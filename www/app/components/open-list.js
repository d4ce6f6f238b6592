// What every list that opens under the word it sets has in common: the option that the keyboard is at, and closing.

import { setAttribute } from "../dom.js";

/** @param {HTMLButtonElement} button the word that it sets @param {HTMLElement} box what is taken away on closing
 * @param {HTMLElement} list with the id under which its options are numbered @param {HTMLElement[]} options @param {() => void} closed
 * @returns {{readonly at: number, go: (index: number, scroll?: boolean) => void, shut: (focus_back: boolean) => void}} */
export function openList(button, box, list, options, closed) {
  let at = 0;
  let open = true;
  return {
    get at() {
      return at;
    },
    go(index, scroll = true) {
      at = Math.min(options.length - 1, Math.max(0, index));
      options.forEach((option, i) => option.classList.toggle("listbox-option-at", i === at));
      setAttribute(list, "aria-activedescendant", `${list.id}-${at}`);
      if (scroll) options[at]?.scrollIntoView({ block: "nearest" });
    },
    shut(focus_back) {
      if (!open) return;
      open = false;
      box.remove();
      setAttribute(button, "aria-expanded", "false");
      button.removeAttribute("aria-controls");
      if (focus_back) button.focus();
      closed();
    },
  };
}
