// The question as a sentence. Its underlined words are its settings; each opens its choices in place.

import { el } from "../dom.js";
import { openListbox } from "./listbox.js";

/** @typedef {import("../state.js").State} State */
/** @typedef {import("../types.js").Question} Question */
/** @typedef {import("../types.js").QuestionPart} QuestionPart */
/** @typedef {Exclude<QuestionPart, {setting?: undefined}>} SettingPart */
/** @typedef {import("./listbox.js").Choice} Choice */

/** @param {HTMLElement} root @param {import("../controller.js").Send} send
 * @returns {{update: (state: State, question: Question|null) => void}} */
export function createSentence(root, send) {
  const words = el("p", { class: "sentence-words" });
  root.append(words);
  /** @type {(() => void)|null} */
  let close = null;
  let drawn = "";

  /** @param {SettingPart} part @param {State} state
   * @returns {Choice[]} */
  function choicesOf(part, state) {
    if (part.choices) return part.choices.map(({ value, text }) => ({ value, text, detail: "" }));
    if (part.kind !== "map") return [];
    // Two maps of one line are told apart by their files, which otherwise would only be noise.
    const twice = (/** @type {string} */ label) => state.maps.filter((map) => map.label === label).length > 1;
    return state.maps.map((map) => ({ value: map.id, text: map.label, detail: twice(map.label) ? map.file : map.largest }));
  }

  /** @param {SettingPart} part @param {State} state @param {boolean} first whether it is the first map of the sentence */
  function settingButton(part, state, first) {
    const choices = choicesOf(part, state);
    const value = state.settings[part.setting] ?? null;
    const chosen = choices.find((choice) => choice.value === value);
    const text = chosen?.text ?? (part.text || (first ? "a map" : "another map"));
    const button = el("button", { class: `sentence-setting${chosen || part.kind !== "map" ? "" : " sentence-setting-open"}`, text,
      attrs: { type: "button", "aria-haspopup": "listbox", "aria-expanded": "false" } });
    button.dataset.setting = part.setting;
    button.addEventListener("click", () => {
      if (close) return close();
      close = openListbox(button, root, {
        label: part.kind === "map" ? `Map ${part.setting.toUpperCase()}` : part.setting,
        choices,
        chosen: value,
        choose: (picked) => send({ type: "choose_setting", name: part.setting, value: picked }),
        closed: () => (close = null),
      });
    });
    button.addEventListener("keydown", (event) => {
      if (event.key !== "ArrowDown" && event.key !== "ArrowUp") return;
      event.preventDefault();
      if (!close) button.click();
    });
    return button;
  }

  return {
    update(state, question) {
      root.hidden = question === null || !question.ready;
      const now = JSON.stringify([question, state.settings, state.maps.map(({ id, label, file, largest }) => [id, label, file, largest])]);
      if (now === drawn) return;
      drawn = now;
      close?.();
      const active = document.activeElement;
      const focused = active instanceof HTMLElement && words.contains(active) ? active.dataset.setting : undefined;
      const parts = question?.parts ?? [];
      words.replaceChildren(...parts.map((part) => {
        if (part.setting === undefined) return part.text;
        // What offers no choice yet is plain words, not a button that opens nothing.
        return choicesOf(part, state).length === 0 ? part.text : settingButton(part, state, parts.find(({ kind }) => kind === "map") === part);
      }));
      if (focused !== undefined) {
        const again = [...words.querySelectorAll("button")].find((button) => button.dataset.setting === focused);
        again?.focus();
      }
    },
  };
}
