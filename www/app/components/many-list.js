// A list of which several can be chosen; it opens in place under the word it sets and stays until it is left. Arrows, Home, End, type-ahead,
// Space or Enter to choose, Escape to leave; or the mouse.

import { el, setAttribute } from "../dom.js";
import { sightOf } from "./listbox.js";
import { openList } from "./open-list.js";

/** @typedef {import("./listbox.js").Choice} Choice */
/** @typedef {{label: string, choices: Choice[], chosen: string[], sets: {text: string, values: string[]}[], change: (values: string[]) => void, closed: () => void}} Parts */

let made = 0;

/** Opens at once. Returns a function that closes it.
 * @param {HTMLButtonElement} button the word that it sets @param {HTMLElement} container positioned @param {Parts} parts `sets`: what can be
 * chosen with one press, in words
 * @returns {() => void} */
export function openManyList(button, container, { label, choices, chosen, sets, change, closed }) {
  made += 1;
  const id = `many-${made}`;
  const picked = new Set(chosen);

  const options = choices.map(({ value, text, detail }, index) => el("li", { class: "listbox-option", attrs: { role: "option", id: `${id}-${index}` }, on: {
    click: () => {
      go(index);
      toggle(value);
    },
    pointermove: () => go(index, false),
  } }, [el("span", { class: "many-mark", attrs: { "aria-hidden": "true" } }), el("span", { class: "listbox-text", text }), el("span", { class: "listbox-detail", text: detail })]));
  const list = el("ul", { class: "many-options", attrs: { role: "listbox", id, tabindex: 0, "aria-label": label, "aria-multiselectable": "true" } }, options);
  const quick = sets.map(({ text, values }) => el("button", { class: "quiet-button", text, attrs: { type: "button" }, on: { click: () => set(values) } }));
  const done = el("button", { class: "quiet-button", text: "Done", attrs: { type: "button" }, on: { click: () => shut(true) } });
  const box = el("div", { class: "listbox many" }, [list, el("div", { class: "many-foot" }, [...quick, done])]);
  const here = openList(button, box, list, options, closed);
  const { go, shut } = here;

  function draw() {
    options.forEach((option, index) => setAttribute(option, "aria-selected", String(picked.has(choices[index]?.value ?? ""))));
  }

  function set(/** @type {string[]} */ values) {
    picked.clear();
    for (const value of values) picked.add(value);
    tell();
  }

  function toggle(/** @type {string} */ value) {
    if (!picked.delete(value)) picked.add(value);
    tell();
  }

  /** In the order of the list, whatever the order in which they were chosen. */
  function tell() {
    draw();
    change(choices.map(({ value }) => value).filter((value) => picked.has(value)));
  }

  list.addEventListener("keydown", (event) => {
    const choice = choices[here.at];
    /** @type {Record<string, () => void>} */
    const keys = {
      ArrowDown: () => go(here.at + 1), ArrowUp: () => go(here.at - 1), Home: () => go(0), End: () => go(choices.length - 1), PageDown: () => go(here.at + 8), PageUp: () => go(here.at - 8),
      " ": () => choice && toggle(choice.value), Enter: () => choice && toggle(choice.value),
    };
    const run = keys[event.key];
    if (run) run();
    else if (event.key.length === 1 && !event.ctrlKey && !event.metaKey && !event.altKey) {
      const next = choices.findIndex(({ text }, index) => index > here.at && text.toLowerCase().startsWith(event.key.toLowerCase()));
      const first = choices.findIndex(({ text }) => text.toLowerCase().startsWith(event.key.toLowerCase()));
      if (first >= 0) go(next >= 0 ? next : first);
    } else return;
    event.preventDefault();
  });
  box.addEventListener("keydown", (event) => {
    if (event.key !== "Escape") return;
    event.preventDefault();
    event.stopPropagation();
    shut(true);
  });
  box.addEventListener("focusout", (event) => {
    const to = /** @type {Node|null} */ (event.relatedTarget);
    if (to !== button && !box.contains(to)) shut(false);
  });

  container.append(box);
  const word = button.getBoundingClientRect();
  const frame = container.getBoundingClientRect();
  box.style.left = `${Math.max(0, Math.min(word.left - frame.left, frame.width - box.offsetWidth))}px`;
  const seen = sightOf(container);
  const [below, above] = [seen.bottom - word.bottom - 96, word.top - seen.top - 96];
  const upward = below < Math.min(320, list.scrollHeight) && above > Math.max(below, 160);
  if (upward) box.style.bottom = `${frame.bottom - word.top + 4}px`;
  else box.style.top = `${word.bottom - frame.top + 4}px`;
  list.style.maxHeight = `${Math.max(160, Math.min(320, upward ? above : below))}px`;
  setAttribute(button, "aria-expanded", "true");
  setAttribute(button, "aria-controls", id);
  draw();
  list.focus({ preventScroll: true });
  go(choices.findIndex(({ value }) => picked.has(value)));
  return () => shut(true);
}
