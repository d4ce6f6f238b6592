// The question as a sentence. Its underlined words are its settings; each opens its choices in place, or is typed where it stands.

import { el, setAttribute, setText } from "../dom.js";
import { OPEN, YEARS, choicesOf, mapOf, numberText, regionsOf, typedNumber, valueOf, wordOf } from "../asking.js";
import { isElementMap } from "../sheet-list.js";
import { openListbox } from "./listbox.js";
import { openManyList } from "./many-list.js";

/** @typedef {import("../state.js").State} State */
/** @typedef {import("../types.js").QuestionPart} QuestionPart */
/** @typedef {import("../types.js").SettingPart} SettingPart */

/** What can be done about a line over the picture. */
const DRAW = "draw";
const WIDTHS = [1, 3, 5, 9];
const MARK = /^[,.;:?]/;

/** @param {HTMLElement} root @param {import("../controller.js").Send} send @param {string} [quiet] a class for a sentence that stands back
 * @returns {{update: (state: State, parts: QuestionPart[]) => void}} */
export function createSentence(root, send, quiet = "") {
  const words = el("p", { class: `sentence-words ${quiet}`.trim() });
  const said = el("p", { class: "sentence-said", attrs: { role: "alert", hidden: true } });
  root.append(words, said);
  /** @type {(() => void)|null} */
  let close = null;
  /** A list of which several are chosen stays open while the sentence changes under it. */
  let many_open = false;
  let drawn = "";
  /** @type {State|null} */
  let now = null;

  const closed = () => {
    close = null;
    many_open = false;
    if (now !== null && pending !== null) draw(now, pending);
  };
  /** @type {QuestionPart[]|null} */
  let pending = null;

  /** @param {SettingPart} part @param {import("../asking.js").Value} value */
  function choose(part, value) {
    const of = now === null ? undefined : mapOf(now, part);
    send({ type: "choose_setting", name: part.setting, ...(of === undefined ? {} : { of }), value });
  }

  /** @param {SettingPart} part
   * @returns {string} */
  const labelOf = (part) => part.label ?? (part.kind === "map" ? `Map ${part.setting.toUpperCase()}` : part.text);

  /** @param {SettingPart} part @param {HTMLButtonElement} button @param {State} state */
  function unfold(part, button, state) {
    const value = valueOf(state, part);
    if (part.kind === "maps" || part.kind === "regions") {
      const choices = choicesOf(state, part);
      const all = part.kind === "regions" ? choices.map((choice) => choice.value) : state.maps.filter((map) => isElementMap(map) && !map.derived).map(({ id }) => id);
      many_open = true;
      return openManyList(button, root, {
        label: labelOf(part), choices, chosen: Array.isArray(value) ? value : part.needed ? [] : all, closed,
        sets: [{ text: part.kind === "regions" ? "All regions" : "All element maps", values: all }, { text: "None", values: [] }],
        change: (values) => choose(part, values),
      });
    }
    if (part.kind === "line") return unfoldLine(part, button, value);
    const choices = choicesOf(state, part);
    const chosen = typeof value === "string" ? value : choices.find((choice) => choice.value === OPEN || (part.kind === "choice" && choice.text === part.text))?.value ?? null;
    return openListbox(button, root, { label: labelOf(part), choices, chosen, closed,
      choose: (picked) => choose(part, picked) });
  }

  /** @param {SettingPart} part @param {HTMLButtonElement} button @param {unknown} value */
  function unfoldLine(part, button, value) {
    const line = typeof value === "object" && value !== null && "from" in value ? /** @type {import("../asking.js").Line} */ (value) : null;
    const widths = line === null ? [] : WIDTHS.map((width) => ({ value: String(width), text: width === 1 ? "1 pixel wide" : `${width} pixels wide`, detail: "" }));
    return openListbox(button, root, {
      label: labelOf(part), closed, chosen: line === null ? OPEN : String(line.width_px),
      choices: [{ value: DRAW, text: line === null ? "Draw a line over the picture" : "Draw another", detail: "" }, ...widths, { value: OPEN, text: part.text, detail: "" }],
      choose: (picked) => {
        if (picked === DRAW) send({ type: "draw_line", setting: part.setting });
        else choose(part, picked === OPEN || line === null ? null : { ...line, width_px: Number(picked) });
      },
    });
  }

  /** @param {SettingPart} part @param {State} state @param {boolean} first whether it is the first map of the sentence */
  function settingButton(part, state, first) {
    const { text, open } = wordOf(state, part, first);
    const button = el("button", { class: `sentence-setting${open ? " sentence-setting-open" : ""}`, text,
      attrs: { type: "button", "aria-haspopup": "listbox", "aria-expanded": "false" } });
    button.dataset.setting = part.setting;
    button.addEventListener("click", () => {
      if (close) return close();
      if (now !== null) close = unfold(part, button, now);
    });
    button.addEventListener("keydown", (event) => {
      if (event.key !== "ArrowDown" && event.key !== "ArrowUp") return;
      event.preventDefault();
      if (!close) button.click();
    });
    return button;
  }

  /** @param {SettingPart} part @param {State} state
   * @returns {(Node|string)[]} */
  function numberField(part, state) {
    const { unit = "", step = 1 } = part;
    const before = numberText(state, part);
    const input = el("input", { class: "sentence-field", attrs: { type: "text", "aria-label": labelOf(part), placeholder: part.text || "by itself", autocomplete: "off", spellcheck: "false", inputmode: "decimal", maxlength: 12 } });
    input.dataset.setting = part.setting;
    input.value = before;
    const fit = () => input.style.setProperty("--letters", String(Math.max(2, (input.value || input.placeholder).length)));
    const set = () => {
      const value = typedNumber(part, input.value);
      const wrong = value !== null && typeof value === "object" ? value.message : "";
      setText(said, wrong);
      said.hidden = wrong === "";
      setAttribute(input, "aria-invalid", String(wrong !== ""));
      if (wrong === "" && input.value !== before) choose(part, /** @type {number|null} */ (value));
    };
    input.addEventListener("change", set);
    input.addEventListener("keydown", (event) => {
      const up = { ArrowUp: step, ArrowDown: -step }[event.key];
      const held = Number(input.value.replace("−", "-").replace(",", "."));
      if (event.key === "Escape") input.value = before;
      else if (up !== undefined && Number.isFinite(held) && !(input.value === "" && YEARS.includes(part.setting))) {
        event.preventDefault();
        const next = Math.min(part.high ?? Infinity, Math.max(part.low ?? -Infinity, held + up));
        input.value = String(Number(next.toPrecision(9))).replace("-", "−");
      } else return;
      input.dispatchEvent(new Event("input"));
    });
    // What the core finds by itself stands there as words, without a unit.
    const after = el("span", { text: `\u00a0${unit}` });
    const show = () => {
      fit();
      after.hidden = unit === "" || input.value === "";
    };
    input.addEventListener("input", show);
    show();
    return [input, after];
  }

  /** @param {State} state @param {QuestionPart[]} parts */
  function draw(state, parts) {
    now = state;
    // The words stay as they are while several of a list are being chosen: the list hangs on its word.
    pending = parts;
    if (many_open) {
      for (const part of parts) {
        const button = part.setting === undefined ? null : words.querySelector(`button[data-setting="${part.setting}"]`);
        if (button !== null && part.setting !== undefined) setText(button, wordOf(state, part, false).text);
      }
      return;
    }
    const now_drawn = JSON.stringify([parts, state.settings, state.maps.map(({ id, label, file, largest }) => [id, label, file, largest]), regionsOf(state).map(({ id, name, area_text }) => [id, name, area_text])]);
    if (now_drawn === drawn) return;
    drawn = now_drawn;
    close?.();
    said.hidden = true;
    const active = document.activeElement;
    const focused = active instanceof HTMLElement && words.contains(active) ? active.dataset.setting : undefined;
    words.replaceChildren(...parts.flatMap((part, index) => {
      if (part.setting === undefined) return [index === 0 ? part.text : part.text.replace(MARK, "")];
      // What offers no choice yet is plain words, not a button that opens nothing.
      const is_of_none = Boolean(part.of) && mapOf(state, part) === undefined;
      const has_choices = part.kind === "line" || choicesOf(state, part).length > 0;
      const word = is_of_none ? [part.text] : part.kind === "number" ? numberField(part, state)
        : has_choices ? [settingButton(part, state, parts.find(({ kind }) => kind === "map") === part)] : [wordOf(state, part, false).text];
      // The mark after a word stays on its line.
      const [mark = ""] = parts[index + 1]?.text.match(MARK) ?? [];
      return mark === "" || parts[index + 1]?.setting !== undefined || typeof word[0] === "string" ? [...word, mark] : [el("span", { class: "sentence-piece" }, [...word, mark])];
    }));
    if (focused !== undefined) {
      const again = [.../** @type {NodeListOf<HTMLElement>} */ (words.querySelectorAll("[data-setting]"))].find((element) => element.dataset.setting === focused);
      again?.focus();
    }
  }

  return {
    update(state, parts) {
      root.hidden = parts.length === 0;
      draw(state, parts);
    },
  };
}
