// A sentence whose underlined words are its settings: one map, several maps, a choice of words, or something typed.

import { el, setAttribute, setText } from "../dom.js";
import { manyText } from "../deriving.js";
import { isElementMap } from "../sheet-list.js";
import { openListbox } from "./listbox.js";
import { openManyList } from "./many-list.js";

/** @typedef {import("../types.js").MapSummary} MapSummary */
/** @typedef {import("../deriving.js").Part} Part */
/** @typedef {import("../deriving.js").Values} Values */
/** @typedef {Exclude<Part, string>} Setting */

/** @param {HTMLElement} root positioned; lists open in it @param {(setting: string, value: string[]|string) => void} set
 * @returns {{draw: (before: (Node|string)[], parts: Part[], values: Values, maps: MapSummary[]) => void, close: () => void}} */
export function createWording(root, set) {
  const words = el("p", { class: "sentence-words" });
  root.append(words);
  /** @type {(() => void)|null} */
  let close = null;
  /** What the sentence is made for: as long as it is the same, its words keep their focus. */
  let drawn = "";
  /** @type {{part: Setting, show: (values: Values, maps: MapSummary[]) => void}[]} */
  let settings = [];
  /** @type {MapSummary[]} */
  let now = [];
  /** @type {Values} */
  let held = {};

  const choice = (/** @type {MapSummary} */ map) => {
    const twice = now.filter(({ label }) => label === map.label).length > 1;
    return { value: map.id, text: map.label, detail: twice ? map.file : map.largest };
  };

  /** @param {Setting} part @param {(button: HTMLButtonElement) => (() => void)} unfold */
  function wordButton(part, unfold) {
    const button = el("button", { class: "sentence-setting", attrs: { type: "button", "aria-haspopup": "listbox", "aria-expanded": "false" }, on: {
      click: () => {
        if (close) return close();
        close = unfold(button);
      },
      keydown: (/** @type {KeyboardEvent} */ event) => {
        if (event.key !== "ArrowDown" && event.key !== "ArrowUp") return;
        event.preventDefault();
        if (!close) button.click();
      },
    } });
    button.dataset.setting = part.setting;
    return button;
  }

  const closed = () => (close = null);

  /** @param {Setting} part
   * @returns {HTMLElement} */
  function made(part) {
    switch (part.kind) {
      case "map": {
        const button = wordButton(part, () => openListbox(button, root, {
          label: part.open, chosen: /** @type {string|null} */ (held[part.setting] ?? null), closed,
          choices: [...(part.optional ? [{ value: "", text: part.open, detail: "" }] : []), ...now.map(choice)],
          choose: (value) => set(part.setting, value),
        }));
        settings.push({ part, show: (values, maps) => {
          const text = maps.find(({ id }) => id === values[part.setting])?.label;
          setText(button, text ?? part.open);
          button.classList.toggle("sentence-setting-open", text === undefined);
        } });
        return button;
      }
      case "maps": {
        const ids = (/** @type {(map: MapSummary) => boolean} */ which) => now.filter(which).map(({ id }) => id);
        const button = wordButton(part, () => openManyList(button, root, {
          label: part.open, choices: now.map(choice), chosen: chosenOf(held[part.setting]), closed,
          sets: [{ text: "All element maps", values: ids((map) => isElementMap(map) && !map.derived) }, { text: "None", values: [] }],
          change: (values) => set(part.setting, values),
        }));
        settings.push({ part, show: (values, maps) => {
          const text = manyText(chosenOf(values[part.setting]), maps);
          setText(button, text === "" ? part.open : text);
          button.classList.toggle("sentence-setting-open", text === "");
        } });
        return button;
      }
      case "choice": {
        const button = wordButton(part, () => openListbox(button, root, {
          label: part.label, chosen: /** @type {string|null} */ (held[part.setting] ?? null), closed,
          choices: part.choices.map(({ value, text, detail = "" }) => ({ value, text, detail })),
          choose: (value) => set(part.setting, value),
        }));
        settings.push({ part, show: (values) => setText(button, part.choices.find(({ value }) => value === values[part.setting])?.text ?? "") });
        return button;
      }
      default: {
        const { open = "" } = part;
        const input = el("input", { class: "sentence-field", attrs: { type: "text", "aria-label": part.label, placeholder: open, autocomplete: "off", spellcheck: "false", maxlength: part.kind === "places" ? 2000 : 24,
          inputmode: part.kind === "number" ? "decimal" : "text" }, on: { input: () => {
          set(part.setting, input.value);
          fit();
        } } });
        input.title = part.label;
        const fit = () => input.style.setProperty("--letters", String(Math.min(24, Math.max(2, (input.value || open).length))));
        settings.push({ part, show: (values) => {
          const text = /** @type {string} */ (values[part.setting] ?? "");
          if (input.value !== text) input.value = text;
          fit();
        } });
        return input;
      }
    }
  }

  return {
    draw(before, parts, values, maps) {
      now = maps;
      held = values;
      const wanted = JSON.stringify(parts);
      if (wanted !== drawn) {
        close?.();
        drawn = wanted;
        settings = [];
        words.replaceChildren(...before, ...parts.map((part) => (typeof part === "string" ? part : made(part))));
      }
      for (const { show } of settings) show(values, maps);
      for (const button of words.querySelectorAll("button[data-setting]")) setAttribute(button, "aria-label", `${button.textContent}: change`);
    },
    close: () => close?.(),
  };
}

/** @param {string[]|string|undefined} value */
function chosenOf(value) {
  return Array.isArray(value) ? value : [];
}
