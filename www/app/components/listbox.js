// A list that opens in place under the word it sets. Arrows, Home, End, type-ahead, Enter, Escape; or the mouse.

import { el, setAttribute } from "../dom.js";
import { openList } from "./open-list.js";

/** `disabled`: it is seen and cannot be taken; `detail` says why.
 * @typedef {{value: string, text: string, detail: string, disabled?: boolean}} Choice */
/** @typedef {{label: string, choices: Choice[], chosen: string|null, choose: (value: string) => void, closed: () => void}} ListboxParts */

/** Letters typed within this time belong together. */
const TYPE_AHEAD_MS = 800;
let made = 0;

/** Opens at once. Returns a function that closes it without choosing.
 * @param {HTMLButtonElement} button the word that it sets @param {HTMLElement} container positioned, and as wide as the list may be
 * @param {ListboxParts} parts
 * @returns {() => void} */
export function openListbox(button, container, { label, choices, chosen, choose, closed }) {
  made += 1;
  const id = `listbox-${made}`;
  let typed = "";
  let typed_at = 0;

  const options = choices.map(({ value, text, detail, disabled }, index) =>
    el("li", { class: "listbox-option", attrs: { role: "option", id: `${id}-${index}`, "aria-selected": String(value === chosen), "aria-disabled": disabled === true ? "true" : false },
      on: { click: () => take(index), pointermove: () => go(index, false) } },
    [el("span", { class: "listbox-text", text }), el("span", { class: "listbox-detail", text: detail })]));
  const list = el("ul", { class: "listbox", attrs: { role: "listbox", id, tabindex: -1, "aria-label": label } }, options);
  const here = openList(button, list, list, options, closed);
  const { go, shut } = here;

  function take(/** @type {number} */ index) {
    const choice = choices[index];
    if (choice?.disabled) return;
    shut(true);
    if (choice) choose(choice.value);
  }

  function typeAhead(/** @type {string} */ letter) {
    const now = performance.now();
    typed = now - typed_at < TYPE_AHEAD_MS ? typed + letter : letter;
    typed_at = now;
    // One letter again and again goes through the choices that begin with it; more letters stay where they fit.
    const same = [...typed].every((one) => one === typed[0]);
    const wanted = (same ? letter : typed).toLowerCase();
    const start = same ? here.at + 1 : here.at;
    for (let step = 0; step < choices.length; step += 1) {
      const index = (start + step) % choices.length;
      if (choices[index]?.text.toLowerCase().startsWith(wanted)) return go(index);
    }
  }

  list.addEventListener("keydown", (event) => {
    const page = 8;
    /** @type {Record<string, () => void>} */
    const keys = {
      ArrowDown: () => go(here.at + 1), ArrowUp: () => go(here.at - 1), PageDown: () => go(here.at + page), PageUp: () => go(here.at - page),
      Home: () => go(0), End: () => go(choices.length - 1), Enter: () => take(here.at), Escape: () => shut(true),
    };
    const run = keys[event.key];
    if (run) run();
    else if (event.key === " ") {
      if (typed !== "" && performance.now() - typed_at < TYPE_AHEAD_MS) typeAhead(" "); // labels hold a space: "Cu K"
      else take(here.at);
    } else if (event.key === "Tab") return shut(true); // and the focus moves on from the word
    else if (event.key.length === 1 && !event.ctrlKey && !event.metaKey && !event.altKey) typeAhead(event.key);
    else return;
    event.preventDefault();
    event.stopPropagation();
  });
  list.addEventListener("focusout", (event) => {
    // A press on the word itself closes by the word's own click.
    if (event.relatedTarget !== button) shut(false);
  });

  container.append(list);
  const word = button.getBoundingClientRect();
  const frame = container.getBoundingClientRect();
  const seen = sightOf(container);
  const below = seen.bottom - word.bottom - 24;
  const above = word.top - seen.top - 24;
  const upward = below < list.scrollHeight && above > Math.max(below, 160);
  if (upward) list.style.bottom = `${frame.bottom - word.top + 4}px`;
  else list.style.top = `${word.bottom - frame.top + 4}px`;
  list.style.left = `${Math.max(0, Math.min(word.left - frame.left, frame.width - list.offsetWidth))}px`;
  list.style.maxHeight = `${Math.max(160, upward ? above : below)}px`;
  setAttribute(button, "aria-expanded", "true");
  setAttribute(button, "aria-controls", id);
  list.focus({ preventScroll: true });
  go(choices.findIndex(({ value }) => value === chosen));
  return () => shut(true);
}

/** From where to where what lies in an element can be seen: where it scrolls, no further than what it scrolls in.
 * @param {HTMLElement} element
 * @returns {{top: number, bottom: number}} */
export function sightOf(element) {
  let sight = { top: 0, bottom: window.innerHeight };
  for (let parent = element.parentElement; parent !== null; parent = parent.parentElement) {
    if (!["auto", "scroll", "hidden"].includes(getComputedStyle(parent).overflowY) || parent === document.body) continue;
    const { top, bottom } = parent.getBoundingClientRect();
    sight = { top: Math.max(sight.top, top), bottom: Math.min(sight.bottom, bottom) };
  }
  return sight;
}
