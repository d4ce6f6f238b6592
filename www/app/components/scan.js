// The scan, folded below the sheet's heading: how the maps lie, the step, and how the scan was made. Entered once, kept on change.

import { el, setAttribute, setText } from "../dom.js";
import { laidText } from "../laying.js";
import { FIELDS, NOTES, fieldText, stepFieldText } from "../scan-fields.js";
import { openListbox } from "./listbox.js";

/** @typedef {import("../state.js").State} State */
/** @typedef {import("../scan-fields.js").Field} Field */
/** @typedef {import("../sheet-state.js").ScanField} ScanField */
/** @typedef {{key: ScanField, show: (text: string) => void, said: HTMLElement, input: HTMLElement}} Row */

const NOT_STATED = "not stated";

/** @param {HTMLDetailsElement} root @param {import("../controller.js").Send} send
 * @returns {{update: (state: State) => void}} */
export function createScan(root, send) {
  const title = el("span", { class: "part-title", text: "The scan" });
  const text = el("span", { class: "part-text" });
  const scan_text = el("span", { class: "part-text part-more" });
  const body = el("div", { class: "scan" });
  root.append(el("summary", { class: "part-head" }, [title, text, scan_text]), body);

  const turn = (/** @type {string} */ words, /** @type {string} */ label, /** @type {"left"|"right"|"mirror"} */ how) =>
    el("button", { class: "word-button", text: words, attrs: { type: "button", "aria-label": label }, on: { click: () => send({ type: "lay", how }) } });
  const lying = el("span", { class: "scan-lying" });
  const lying_said = said("lying");
  const lying_row = el("div", { class: "scan-row scan-row-wide", attrs: { role: "group", "aria-label": "How the maps lie" } }, [
    el("span", { class: "scan-label", text: "Turn" }),
    el("span", { class: "scan-turns" }, [turn("left", "Turn all maps a quarter to the left", "left"), turn("right", "Turn all maps a quarter to the right", "right"), turn("mirror", "Mirror all maps left to right", "mirror")]),
    lying, lying_said,
  ]);

  function said(/** @type {string} */ key) {
    return el("p", { class: "scan-said", attrs: { id: `scan-said-${key}`, role: "alert", hidden: true } });
  }

  /** No example stands in an empty field: it would be taken for what was stated.
   * @param {ScanField} key @param {string} label @param {string} unit @param {(text: string) => void} set @param {string} [note]
   * @returns {{row: HTMLElement, part: Row}} */
  function typed(key, label, unit, set, note = "") {
    let stands = "";
    const input = el("input", { class: "field scan-field", attrs: { id: `scan-${key}`, type: "text", autocomplete: "off", spellcheck: "false", maxlength: 200, "aria-describedby": `scan-said-${key} scan-note-${key}` },
      on: {
        change: () => {
          if (input.value.trim() !== stands || input.hasAttribute("aria-invalid")) set(input.value);
        },
        keydown: (/** @type {KeyboardEvent} */ event) => {
          if (event.key === "Escape") input.value = stands;
        },
      } });
    const trouble = said(key);
    const row = el("div", { class: unit === "" ? "scan-row scan-row-bare" : "scan-row" }, [
      el("label", { class: "scan-label", text: label, attrs: { for: `scan-${key}` } }), input, el("span", { class: "scan-unit", text: unit }),
      el("p", { class: "scan-note", text: note, attrs: { id: `scan-note-${key}`, hidden: note === "" } }), trouble,
    ]);
    return { row, part: { key, input, said: trouble, show: (now) => {
      if (now === stands && input.value === now) return;
      // What is being typed is not written over.
      if (document.activeElement !== input || input.value === stands) input.value = now;
      stands = now;
    } } };
  }

  /** @param {Field} field */
  function chosen({ key, label, choices = [] }) {
    let stands = "";
    /** @type {(() => void)|null} */
    let close = null;
    const unfold = () => {
      if (close) return close();
      close = openListbox(button, body, {
        label, chosen: stands, choices: [{ value: "", text: NOT_STATED, detail: "" }, ...choices.map((value) => ({ value, text: value, detail: "" }))],
        choose: (value) => {
          if (value !== stands) send({ type: "set_scan", field: key, text: value });
        },
        closed: () => (close = null),
      });
    };
    const button = el("button", { class: "word-button", attrs: { type: "button", id: `scan-${key}`, "aria-haspopup": "listbox", "aria-expanded": "false" }, on: { click: unfold, keydown: (/** @type {KeyboardEvent} */ event) => {
      if (event.key !== "ArrowDown" && event.key !== "ArrowUp") return;
      event.preventDefault();
      unfold();
    } } });
    const trouble = said(key);
    const row = el("div", { class: "scan-row scan-row-bare" }, [el("span", { class: "scan-label", text: label }), button, trouble]);
    return { row, part: /** @type {Row} */ ({ key, input: button, said: trouble, show: (now) => {
      stands = now;
      setText(button, now === "" ? NOT_STATED : now);
      setAttribute(button, "aria-label", `${label}: ${now === "" ? NOT_STATED : now}`);
    } }) };
  }

  const edges = el("button", { class: "word-button scan-edges", text: "mark them", attrs: { type: "button", "aria-label": "Mark the object’s edges" }, on: { click: () => {
    // On a photo that lies on the maps edges are seen best.
    send({ type: "open_aligning", photo: photos.find(({ alignment }) => alignment?.trouble === "")?.id ?? null, edges: true });
  } } });
  const edges_text = el("p", { class: "scan-note" });
  const edges_row = el("div", { class: "scan-row scan-row-wide" }, [el("span", { class: "scan-label", text: "Object’s edges" }), edges, edges_text]);
  /** @type {import("../types.js").PhotoSummary[]} */
  let photos = [];

  const step = typed("step", "Step", "mm", (text) => send({ type: "set_scan_step", text }));
  const fields = FIELDS.map((field) => field.choices ? chosen(field)
    : typed(field.key, field.label, field.unit, (text) => send({ type: "set_scan", field: field.key, text }), NOTES[field.key] ?? ""));
  body.append(lying_row, edges_row, step.row, ...fields.map(({ row }) => row));
  /** @type {Row[]} */
  const rows = [{ key: "lying", input: lying_row, said: lying_said, show: () => {} }, step.part, ...fields.map(({ part }) => part)];

  return {
    update({ grid, scan, scan_trouble, object, photos: now }) {
      photos = now;
      setText(edges, object === null ? "mark them" : "change them");
      setText(edges_text, object?.text ?? "");
      edges_text.hidden = object === null;
      setText(text, grid?.text ?? "");
      setText(scan_text, scan?.text ?? "");
      scan_text.hidden = !scan?.text;
      setText(lying, grid === null ? "" : laidText(grid));
      lying.hidden = lying.textContent === "";
      for (const { key, input, said, show } of rows) {
        const message = scan_trouble?.field === key ? scan_trouble.message : "";
        setText(said, message);
        said.hidden = message === "";
        setAttribute(input, "aria-invalid", message === "" ? false : "true");
        // What was refused stays where it was typed, to be mended.
        if (message === "" && key !== "lying") show(key === "step" ? stepFieldText(grid) : fieldText(scan, key));
      }
    },
  };
}
