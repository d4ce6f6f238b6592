// The keys of the view, as a short list that opens in place.

import { el } from "../dom.js";

/** @type {[string, string][]} */
const KEYS = [
  ["arrows", "move the picture"],
  ["+ and −", "nearer, farther"],
  ["0", "fit the whole picture"],
  ["Shift with an arrow", "read single pixels"],
  ["Escape", "put the reading box away, leave the full screen"],
  ["1, 2, 4", "so many views"],
  ["N", "next view"],
  ["F", "full screen, and back"],
  ["P", "a photo with the maps"],
  ["R", "draw a region, add an analysis point"],
  ["O", "outlines of regions, to be seen or not"],
  ["K", "keep this view, or the answer in the column beside it"],
  ["L", "limits, to be seen or not"],
  ["S", "save the picture"],
  ["Ctrl\u00a0Z, Ctrl\u00a0Shift\u00a0Z", "undo, redo, anywhere on the page"],
  ["?", "these keys"],
];
const ON_LIMITS = "On the handles of a histogram: arrows move a limit, Page\u00a0Up and Page\u00a0Down by more. On a finding: Alt with an arrow moves it up or down the list.";

/** @param {HTMLElement} root @param {() => void} closed @param {{place: string, keys: [string, string][], more: string}} [of] the view unless said otherwise
 * @returns {{open: () => void, close: () => void, is_open: () => boolean}} */
export function createKeysHelp(root, closed, { place, keys, more } = { place: "the view", keys: KEYS, more: ON_LIMITS }) {
  const close_button = el("button", { class: "button", text: "Close", attrs: { type: "button" }, on: { click: close } });
  const panel = el("section", { class: "keys", attrs: { hidden: true, "aria-label": `Keys of ${place}` }, on: { keydown: (/** @type {KeyboardEvent} */ event) => {
    if (event.key !== "Escape" && event.key !== "?") return;
    event.preventDefault();
    event.stopPropagation();
    close();
  } } }, [
    el("h2", { class: "keys-title", text: `Keys, while the focus is in ${place}` }),
    el("dl", { class: "keys-list" }, keys.map(([key, text]) => el("div", { class: "keys-line" }, [el("dt", { text: key }), el("dd", { text })]))),
    el("p", { text: more }),
    close_button,
  ]);
  root.append(panel);

  function close() {
    if (panel.hidden) return;
    panel.hidden = true;
    closed();
  }

  return {
    open() {
      panel.hidden = false;
      close_button.focus();
    },
    close,
    is_open: () => !panel.hidden,
  };
}
