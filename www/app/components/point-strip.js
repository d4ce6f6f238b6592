// Below the picture, while the place of an analysis point is given: what to do, and the word that ends it.

import { el, setText } from "../dom.js";
import { isOnMaps } from "../under-state.js";

/** @typedef {import("../state.js").State} State */

const HAND = "Press where it was measured.";
const KEYS = "Keys: arrows move the cross, with Shift by 10; Space sets the point.";
const ELSEWHERE = "Points are set on maps: show a map, the overlay, an answer, or a photo that is laid on them.";

/** @param {HTMLElement} root @param {import("../controller.js").Send} send @param {() => void} left the focus was in it when it went away
 * @returns {{update: (state: State) => void, is_open: () => boolean, words: () => string}} `words`: what is to be done */
export function createPointStrip(root, send, left) {
  let open = false;
  const title = el("span", { class: "strip-title" });
  const help = el("span");
  const keys = el("span", { class: "strip-keys" });
  const cancel = el("button", { class: "surround-button", text: "Cancel", attrs: { type: "button" }, on: { click: () => send({ type: "stop_placing" }) } });
  root.append(el("div", { class: "strip", attrs: { role: "group", "aria-label": "Analysis point" }, on: { keydown: (/** @type {KeyboardEvent} */ event) => {
    if (event.key !== "Escape") return;
    event.preventDefault();
    event.stopPropagation();
    cancel.click();
  } } }, [el("div", { class: "strip-words" }, [el("p", {}, [title]), el("p", {}, [help, " ", keys])]), el("div", { class: "strip-acts" }, [cancel])]));

  return {
    update(state) {
      const had_focus = root.contains(document.activeElement);
      open = state.placing !== null;
      root.hidden = !open;
      if (!open) {
        if (had_focus) left();
        return;
      }
      const moved = state.points.find(({ id }) => id === state.placing?.moves);
      setText(title, moved?.name ?? "Analysis point");
      setText(help, isOnMaps(state) ? HAND : ELSEWHERE);
      setText(keys, isOnMaps(state) ? KEYS : "");
    },
    is_open: () => open,
    words: () => `${title.textContent}. ${help.textContent} ${keys.textContent}`,
  };
}
