// Which map the view shows and how its numbers are taken, as words that can be set: "Fe K, a window map".

import { el, setText } from "../dom.js";
import { KINDS, kindWord } from "../kinds.js";
import { openListbox } from "./listbox.js";

/** @typedef {import("../state.js").State} State */

/** @param {HTMLElement} root positioned; the list of kinds opens in it @param {import("../controller.js").Send} send
 * @returns {{update: (state: State) => void}} */
export function createSubject(root, send) {
  /** @type {import("../types.js").MapSummary|null} */
  let map = null;
  /** @type {(() => void)|null} */
  let close = null;
  const name = el("button", { class: "subject-word subject-name", attrs: { type: "button", title: "Name element and line" }, on: { click: () => edit(true) } });
  const kind_words = ["subject-spare", "subject-kind", "subject-spare"].map((name) => el("span", { class: name }));
  const kind = el("button", { class: "subject-word", attrs: { type: "button", title: "How the numbers are to be taken", "aria-haspopup": "listbox", "aria-expanded": "false" },
    on: { click: openKinds, keydown: (/** @type {KeyboardEvent} */ event) => {
      if (event.key !== "ArrowDown" && event.key !== "ArrowUp") return;
      event.preventDefault();
      openKinds();
    } } }, kind_words);
  const words = el("p", { class: "subject-words" }, [name, ", ", kind]);
  const field = el("input", { class: "surround-field subject-field", attrs: { type: "text", "aria-label": "Element and line, for example Cu K", placeholder: "Cu K", autocomplete: "off", spellcheck: "false", maxlength: 24 },
    on: { keydown: (/** @type {KeyboardEvent} */ event) => {
      if (event.key === "Escape") edit(false);
    } } });
  const form = el("form", { class: "subject-form", attrs: { novalidate: true, hidden: true }, on: { submit: (event) => {
    event.preventDefault();
    if (map !== null && field.value.trim() !== map.label) send({ type: "name_map", id: map.id, text: field.value });
    edit(false);
  } } }, [field, el("button", { class: "surround-button", text: "Set", attrs: { type: "submit" } })]);
  root.append(words, form);

  function edit(/** @type {boolean} */ on) {
    if (on === !form.hidden) return;
    form.hidden = !on;
    words.hidden = on;
    if (!on) return name.focus();
    field.value = map?.element == null ? "" : map.label;
    field.select();
    field.focus();
  }

  function openKinds() {
    if (close) return close();
    if (map === null) return;
    const { id, kind: chosen } = map;
    close = openListbox(kind, root, {
      label: "How the numbers are to be taken",
      choices: Object.entries(KINDS).map(([value, { meaning }]) => ({ value, text: kindWord(value), detail: meaning })),
      chosen,
      choose: (value) => {
        if (value !== chosen) send({ type: "set_kind", id, kind: value });
      },
      closed: () => (close = null),
    });
  }

  return {
    update(state) {
      const next = state.mode === "map" || state.mode === "overlap" ? state.maps.find(({ id }) => id === state.map) ?? null : null;
      if (next?.id !== map?.id) {
        close?.();
        form.hidden = true;
        words.hidden = false;
      }
      map = next;
      root.hidden = map === null;
      if (map === null) return;
      setText(name, map.label);
      const { before = "", after = "" } = KINDS[map.kind] ?? {};
      [before, kindWord(map.kind), after].forEach((text, index) => setText(/** @type {Node} */ (kind_words[index]), text));
    },
  };
}
