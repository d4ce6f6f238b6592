// A field with a list of what is found by what is typed in it. Arrows go through the list, Enter takes, Escape puts it away; or the mouse.

import { el, setAttribute } from "../dom.js";

/** @typedef {import("./listbox.js").Choice} Choice */

/** More than these nobody looks through; another letter finds them. */
const MOST = 40;
let made = 0;

/** @param {{id: string, label: string, find: (typed: string) => Choice[], take: (value: string) => void, typed: () => void}} parts `take`: one was taken
 * out of the list; `typed`: something else stands in the field now
 * @returns {{element: HTMLElement, input: HTMLInputElement}} */
export function createCombobox({ id, label, find, take, typed }) {
  made += 1;
  const list_id = `combobox-${made}`;
  /** @type {Choice[]} */
  let choices = [];
  let at = -1;
  const list = el("ul", { class: "listbox combobox-list", attrs: { role: "listbox", id: list_id, "aria-label": label, hidden: true } });
  const input = el("input", { class: "field", attrs: { id, type: "text", role: "combobox", "aria-autocomplete": "list", "aria-expanded": "false", "aria-controls": list_id, autocomplete: "off", spellcheck: "false", maxlength: 80 }, on: {
    input: () => {
      typed();
      unfold();
    },
    click: () => {
      if (list.hidden) unfold();
    },
    blur: () => fold(),
    keydown: (/** @type {KeyboardEvent} */ event) => pressed(event),
  } });
  const element = el("div", { class: "combobox" }, [input, list]);

  function unfold() {
    choices = find(input.value).slice(0, MOST);
    at = -1;
    list.replaceChildren(...choices.map(({ text, detail }, index) => el("li", { class: "listbox-option", attrs: { role: "option", id: `${list_id}-${index}`, "aria-selected": "false" }, on: {
      // Before the field loses the focus.
      pointerdown: (event) => event.preventDefault(),
      click: () => choose(index),
      pointermove: () => go(index),
    } }, [el("span", { class: "listbox-text", text }), el("span", { class: "listbox-detail", text: detail })])));
    list.hidden = choices.length === 0;
    setAttribute(input, "aria-expanded", String(!list.hidden));
    setAttribute(input, "aria-activedescendant", false);
  }

  function fold() {
    list.hidden = true;
    at = -1;
    setAttribute(input, "aria-expanded", "false");
    setAttribute(input, "aria-activedescendant", false);
  }

  function go(/** @type {number} */ index) {
    at = Math.min(choices.length - 1, Math.max(0, index));
    [...list.children].forEach((option, i) => {
      option.classList.toggle("listbox-option-at", i === at);
      setAttribute(option, "aria-selected", String(i === at));
    });
    setAttribute(input, "aria-activedescendant", `${list_id}-${at}`);
    list.children[at]?.scrollIntoView({ block: "nearest" });
  }

  function choose(/** @type {number} */ index) {
    const choice = choices[index];
    if (choice === undefined) return;
    input.value = choice.text;
    fold();
    take(choice.value);
  }

  function pressed(/** @type {KeyboardEvent} */ event) {
    const open = !list.hidden;
    if (event.key === "ArrowDown" || event.key === "ArrowUp") {
      if (!open) unfold();
      go(event.key === "ArrowDown" ? at + 1 : at < 0 ? choices.length - 1 : at - 1);
    } else if (open && event.key === "Enter" && (at >= 0 || choices.length === 1)) choose(Math.max(0, at));
    else if (open && event.key === "Escape") fold();
    else return;
    event.preventDefault();
    event.stopPropagation();
  }

  return { element, input };
}
