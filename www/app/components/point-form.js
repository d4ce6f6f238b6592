// What is said of an analysis point: by which technique, on which material, with what result. It stands in the list, where the point does.

import { el, reconcile, setAttribute, setText } from "../dom.js";
import { materialNamed, materialsFound } from "../points-state.js";
import { createCombobox } from "./combobox.js";
import { openListbox } from "./listbox.js";

/** @typedef {import("../state.js").State} State */
/** @typedef {import("../types.js").Says} Says */
/** @typedef {import("../types.js").PointSummary} PointSummary */
/** @typedef {import("../points-state.js").PointForm} PointForm */

/** @type {Says[]} */
const SAYS = ["found", "not found", "open"];
const UNKNOWN = "No material of this name is known here. Take one from the list, or leave it empty and write it below.";
const NO_TECHNIQUE = "choose";

/** @param {import("../controller.js").Send} send @param {() => HTMLElement} container positioned; the list of techniques opens in it
 * @returns {{element: HTMLFormElement, update: (state: State) => void}} */
export function createPointForm(send, container) {
  /** @type {State|null} */
  let state = null;
  /** @type {PointForm|null} */
  let shown = null;
  let technique = "";
  /** @type {Says} */
  let says = "open";
  /** @type {(() => void)|null} */
  let close = null;

  const field = (/** @type {string} */ label, /** @type {string} */ id, /** @type {HTMLElement} */ one) => el("div", { class: "point-field" }, [el("label", { class: "scan-label", text: label, attrs: { for: id } }), one]);
  const name = el("input", { class: "field", attrs: { id: "point-name", type: "text", autocomplete: "off", spellcheck: "false", maxlength: 120 } });
  const way = el("button", { class: "word-button point-technique", attrs: { id: "point-technique", type: "button", "aria-haspopup": "listbox", "aria-expanded": "false" }, on: {
    click: () => unfold(),
    keydown: (/** @type {KeyboardEvent} */ event) => {
      if (event.key !== "ArrowDown" && event.key !== "ArrowUp") return;
      event.preventDefault();
      unfold();
    },
  } });
  const material = createCombobox({
    id: "point-material", label: "Materials",
    find: (typed) => materialsFound(state?.material_choices ?? [], typed).map(({ id, name, colours }) => ({ value: id, text: name, detail: colours.join(", ") })),
    take: () => draw(), typed: () => draw(),
  });
  setAttribute(material.input, "aria-describedby", "point-material-said");
  material.input.addEventListener("change", () => draw(true));
  const material_said = el("p", { class: "scan-said", attrs: { id: "point-material-said", role: "alert", hidden: true } });
  const says_words = el("span", { class: "point-says" });
  const says_row = el("div", { class: "point-field", attrs: { role: "group", "aria-label": "What it says of the material" } }, [el("span", { class: "scan-label", text: "It was" }), says_words]);
  const result = el("textarea", { class: "field point-result", attrs: { id: "point-result", rows: 2, maxlength: 2000 } });
  const keep = el("button", { class: "button", attrs: { type: "submit" } });
  const cancel = el("button", { class: "quiet-button", text: "Cancel", attrs: { type: "button" }, on: { click: () => send({ type: "drop_point" }) } });
  const move = el("button", { class: "word-button", text: "set on the picture", attrs: { type: "button" }, on: { click: () => {
    if (shown?.id != null) send({ type: "move_point", id: shown.id });
  } } });
  const place = el("span", { class: "point-place" });
  const place_row = el("div", { class: "point-field" }, [el("span", { class: "scan-label", text: "Place" }), el("span", {}, [place, " ", move])]);
  const trouble = el("p", { class: "region-trouble", attrs: { role: "alert", hidden: true } });
  const element = el("form", { class: "point-form", attrs: { novalidate: true, "aria-label": "Analysis point" }, on: {
    submit: (event) => {
      event.preventDefault();
      run();
    },
    keydown: (/** @type {KeyboardEvent} */ event) => {
      if (event.key !== "Escape") return;
      event.preventDefault();
      event.stopPropagation();
      cancel.click();
    },
  } }, [
    field("Technique", "point-technique", way), field("Material", "point-material", material.element), material_said, says_row, field("Result", "point-result", result),
    field("Name", "point-name", name), place_row, trouble, el("div", { class: "making-go" }, [keep, cancel]),
  ]);

  function unfold() {
    if (close) return close();
    close = openListbox(way, container(), { label: "Technique", chosen: technique, choices: (state?.techniques ?? []).map((value) => ({ value, text: value, detail: "" })),
      choose: (value) => {
        technique = value;
        draw();
      }, closed: () => (close = null) });
  }

  function pigment() {
    return materialNamed(state?.material_choices ?? [], material.input.value);
  }

  function run() {
    const chosen = pigment();
    if (chosen === null && material.input.value.trim() !== "") {
      draw(true);
      return material.input.focus();
    }
    // Without a technique the core says so.
    send({ type: "keep_point", settings: { technique, name: name.value, result: result.value, pigment: chosen?.id ?? "", says: chosen === null ? "open" : says } });
  }

  /** @param {boolean} [typed] the name of the material is complete */
  function draw(typed = false) {
    setText(way, technique === "" ? NO_TECHNIQUE : technique);
    setAttribute(way, "aria-label", `Technique: ${technique === "" ? "not chosen" : technique}`);
    const chosen = pigment();
    const unknown = chosen === null && material.input.value.trim() !== "";
    if (typed || !unknown) {
      setAttribute(material.input, "aria-invalid", unknown ? "true" : false);
      setText(material_said, unknown ? UNKNOWN : "");
      material_said.hidden = !unknown;
    }
    says_row.hidden = chosen === null;
    reconcile(says_words, SAYS, (word) => word, (word) => el("button", { class: "word-button point-said", text: word, attrs: { type: "button" }, on: { click: () => {
      says = word;
      draw();
    } } }), (button, word) => setAttribute(button, "aria-pressed", String(word === says)));
  }

  /** @param {PointSummary|undefined} point */
  function fill(point) {
    // The technique of the last point is likely that of the next.
    technique = point?.technique ?? technique;
    says = point?.says ?? "open";
    name.value = point?.name ?? "";
    material.input.value = state?.material_choices.find(({ id }) => id === point?.pigment)?.name ?? point?.pigment_name ?? "";
    result.value = point?.result ?? "";
    material.input.removeAttribute("aria-invalid");
    material_said.hidden = true;
    draw();
  }

  return {
    element,
    update(next) {
      state = next;
      const form = next.point_form;
      element.hidden = form === null;
      if (form === null) {
        close?.();
        shown = null;
        return;
      }
      const point = next.points.find(({ id }) => id === form.id);
      if (form !== shown) {
        shown = form;
        fill(point);
      }
      name.placeholder = form.id === null ? "if you like" : "";
      setText(place, point?.place_text ?? "");
      place_row.hidden = form.id === null;
      setText(keep, form.id === null ? "Add the point" : "Keep");
      const message = next.point_trouble?.at === "form" ? next.point_trouble.message : "";
      setText(trouble, message);
      trouble.hidden = message === "";
    },
  };
}
