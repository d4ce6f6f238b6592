// The colour of a light, chosen in place: the core's own, which stay apart for most eyes, or a free one.

import { el, reconcile, setAttribute, setText } from "../dom.js";

/** @typedef {{colour: string, label: string}} LightColour */

/** @param {(colour: string) => void} choose @param {() => void} close
 * @returns {{element: HTMLElement, update: (colours: LightColour[], chosen: string, label: string) => void, focus: () => void}} */
export function createLightColours(choose, close) {
  const list = el("div", { class: "light-colours-list" });
  const free = el("input", { class: "light-colours-free", attrs: { type: "color", title: "Any colour" }, on: { input: () => choose(free.value) } });
  const title = el("span");
  const element = el("div", { class: "light-colours", attrs: { role: "group", hidden: true }, on: { keydown: (/** @type {KeyboardEvent} */ event) => {
    if (event.key !== "Escape") return;
    event.stopPropagation();
    close();
  } } }, [title, list, free, el("button", { class: "surround-button", text: "Close", attrs: { type: "button" }, on: { click: close } })]);
  return {
    element,
    focus: () => /** @type {HTMLElement|null} */ (list.querySelector("[aria-pressed=true]") ?? list.firstElementChild ?? free)?.focus(),
    update(colours, chosen, label) {
      setAttribute(element, "aria-label", `Colour of ${label}`);
      setText(title, `Colour of ${label}`);
      reconcile(list, colours, ({ colour }) => colour, ({ colour }) =>
        el("button", { class: "light-colour", attrs: { type: "button" }, on: { click: () => choose(colour) } }),
      (button, one) => {
        button.style.setProperty("--light", one.colour);
        setAttribute(button, "aria-label", one.label);
        button.title = one.label;
        setAttribute(button, "aria-pressed", String(one.colour.toLowerCase() === chosen.toLowerCase()));
      });
      setAttribute(free, "aria-label", `Any colour for ${label}`);
      if (/^#[0-9a-f]{6}$/i.test(chosen) && free.value !== chosen.toLowerCase()) free.value = chosen;
    },
  };
}
