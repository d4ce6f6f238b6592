// Making maps of others, folded below the scan: one sentence with settings, then what was made and how, or why it was not.

import { el, reconcile, setAttribute, setText } from "../dom.js";
import { MAKINGS, built, makingOf, valuesOf } from "../deriving.js";
import { openListbox } from "./listbox.js";
import { createWording } from "./wording.js";

/** @typedef {import("../state.js").State} State */
/** @typedef {import("../deriving.js").Values} Values */
/** @typedef {import("../types.js").MapSummary} MapSummary */

/** @param {HTMLDetailsElement} root @param {import("../controller.js").Send} send
 * @returns {{update: (state: State) => void}} */
export function createMaking(root, send) {
  let key = MAKINGS[0]?.key ?? "";
  /** What was typed and chosen, for all sentences: what two of them share stays. @type {Values} */
  let values = {};
  /** @type {State|null} */
  let state = null;
  /** @type {MapSummary[]|null} */
  let drawn_for = null;
  /** @type {(() => void)|null} */
  let close = null;

  const sentence = el("div", { class: "sentence making-sentence" });
  const way = el("button", { class: "sentence-setting", attrs: { type: "button", "aria-haspopup": "listbox", "aria-expanded": "false" }, on: { click: openWays, keydown: (/** @type {KeyboardEvent} */ event) => {
    if (event.key !== "ArrowDown" && event.key !== "ArrowUp") return;
    event.preventDefault();
    if (!close) openWays();
  } } });
  const name = el("input", { class: "field making-name", attrs: { id: "making-name", type: "text", placeholder: "if you like", autocomplete: "off", maxlength: 120 } });
  const named = el("p", { class: "making-named" }, [el("label", { text: "Named", attrs: { for: "making-name" } }), name]);
  const go = el("button", { class: "button", text: "Make it", attrs: { type: "submit" } });
  const said = el("p", { class: "making-said" });
  const bar = el("progress", { attrs: { max: 1, "aria-label": "Making" } });
  const progress_text = el("span", { attrs: { role: "status" } });
  const progress = el("div", { class: "making-progress", attrs: { hidden: true } }, [bar, progress_text, el("button", { class: "quiet-button", text: "Cancel", attrs: { type: "button" }, on: { click: () => send({ type: "cancel_make" }) } })]);
  const troubles = el("ul", { class: "making-troubles", attrs: { role: "alert" } });
  const made = el("ul", { class: "making-made", attrs: { role: "status" } });
  const form = el("form", { class: "making", attrs: { novalidate: true }, on: { submit: (event) => {
    event.preventDefault();
    run();
  } } }, [sentence, named, el("div", { class: "making-go" }, [go, said]), progress, troubles, made]);
  root.append(el("summary", { class: "part-head" }, [el("span", { class: "part-title", text: "Make a map" })]), form);
  const wording = createWording(sentence, (setting, value) => {
    values = { ...values, [setting]: value };
    draw();
  });
  // Drawn when it is opened, not with every change of the page before.
  root.addEventListener("toggle", () => draw());

  function openWays() {
    if (close) return close();
    close = openListbox(way, sentence, {
      label: "What to make", chosen: key,
      choices: MAKINGS.map(({ key, label, meaning }) => ({ value: key, text: label, detail: meaning })),
      choose: (value) => {
        key = value;
        draw();
        way.focus();
      },
      closed: () => (close = null),
    });
  }

  function now() {
    const making = makingOf(key);
    const chosen = valuesOf(making, values, state?.maps ?? []);
    return { making, chosen, built: built(making, chosen, name.value) };
  }

  function run() {
    const { built } = now();
    if (state?.making === null && "calls" in built) return send({ type: "make", calls: built.calls });
    draw();
  }

  function draw() {
    if (!root.open || state === null) return;
    const { making, chosen, built } = now();
    setText(way, making.label);
    setAttribute(way, "aria-label", `Make ${making.label}: change`);
    wording.draw(["Make ", way], making.parts, chosen, state.maps);
    const many = "calls" in built && built.calls.length > 1;
    named.hidden = many;
    setText(go, many ? `Make ${built.calls.length} maps` : "Make it");
    go.disabled = state.making !== null || "open" in built;
    setText(said, "message" in built ? built.message : "open" in built ? `Still to choose: ${built.open}.` : "");
    said.classList.toggle("making-wrong", "message" in built);
  }

  return {
    update(next) {
      const { maps, making, made: ids, make_troubles } = (state = next);
      progress.hidden = making === null;
      if (making !== null) {
        if (making.fraction > 0) bar.value = making.fraction;
        else bar.removeAttribute("value");
        setText(progress_text, making.text);
      }
      reconcile(troubles, make_troubles, (text) => text, () => el("li"), (item, text) => setText(item, text));
      troubles.hidden = make_troubles.length === 0;
      const results = maps.filter(({ id }) => ids.includes(id));
      made.hidden = results.length === 0;
      reconcile(made, results, ({ id }) => id, ({ id }) => el("li", {}, [
        el("p", {}, ["Made: ", el("button", { class: "word-button making-show", attrs: { type: "button" }, on: { click: () => send({ type: "choose_map", id }) } })]),
        el("ul", { class: "making-account" }),
      ]), (item, map) => {
        const button = /** @type {HTMLElement} */ (item.querySelector(".making-show"));
        // By its making: as it is labelled another map may be too.
        setText(button, map.derived?.text || map.label);
        // Of several maps the account stands with each of them on the sheet.
        const account = results.length > 1 ? [] : map.derived?.account ?? [];
        reconcile(/** @type {HTMLElement} */ (item.querySelector(".making-account")), account, (_, index) => String(index), () => el("li"), (line, text) => setText(line, text));
      });
      go.disabled = making !== null || go.disabled;
      if (drawn_for !== maps || making === null) draw();
      drawn_for = maps;
    },
  };
}
