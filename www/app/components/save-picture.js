// Saving the picture, in place: title, width and resolution as words that can be set; then the file, or the reason why there is none.

import { el, setAttribute, setText } from "../dom.js";
import { asProblem } from "../protocol.js";
import { download } from "../download.js";
import { fileNameOf, pixelsAcross, sizeOf } from "../picture-file.js";

/** @typedef {import("../types.js").PictureSettings} PictureSettings */
/** @typedef {import("../types.js").PictureFile} PictureFile */
/** @typedef {import("../picture-file.js").SizeUnit} SizeUnit */
/** What would be saved now: the picture's settings without a window, the part of it that is in sight (null: all of it), and its name.
 * @typedef {{settings: PictureSettings, part: {x: number, y: number, width: number, height: number}|null, name: string}} Subject */

const RESOLUTIONS = [170, 300];
const START_WIDTH = { mm: "120", px: "1600" };

/** @param {HTMLElement} root @param {() => Subject|null} subject @param {(file: PictureFile) => Promise<Blob>} save @param {() => void} closed
 * @returns {{open: () => void, close: () => void, is_open: () => boolean, update: () => void}} */
export function createSavePicture(root, subject, save, closed) {
  /** @type {SizeUnit} */
  let unit = "mm";
  let dpi = 300;
  let whole = true;
  let busy = false;
  /** The title is the user's own and follows the picture no longer. */
  let own_title = false;
  /** What the form was last drawn for, so that what it says stays until something else would be saved. */
  let drawn = "";
  /** What was typed in each unit. */
  const widths = { ...START_WIDTH };

  const title = el("input", { class: "surround-field save-title", attrs: { id: "save-title", type: "text", maxlength: 200, autocomplete: "off" }, on: { input: () => (own_title = title.value !== "") } });
  const width = el("input", { class: "surround-field save-width", attrs: { id: "save-width", type: "text", inputmode: "decimal", maxlength: 8, autocomplete: "off", "aria-describedby": "save-said" }, on: { input: () => {
    widths[unit] = width.value;
    tellSize();
  } } });
  const group = (/** @type {string} */ label, /** @type {HTMLElement[]} */ choices) =>
    el("span", { class: "save-choices", attrs: { role: "group", "aria-label": label } }, choices.flatMap((one, index) => (index === 0 ? [one] : ["or", one])));
  const choice = (/** @type {string} */ text, /** @type {() => void} */ run) => el("button", { class: "save-choice", text, attrs: { type: "button" }, on: { click: () => {
    run();
    draw();
  } } });
  const unit_buttons = { mm: choice("mm", () => (unit = "mm")), px: choice("pixels", () => (unit = "px")) };
  const dpi_buttons = RESOLUTIONS.map((one) => choice(String(one), () => (dpi = one)));
  const part_buttons = [choice("the whole", () => (whole = true)), choice("what is in sight", () => (whole = false))];
  const resolution = el("span", { class: "save-piece" }, ["at ", group("Resolution", dpi_buttons), " dots per inch"]);
  const parts = el("span", { class: "save-piece" }, ["of ", group("Which part", part_buttons)]);
  const said = el("p", { class: "save-said", attrs: { id: "save-said", role: "status" } });
  const go = el("button", { class: "surround-button", text: "Save", attrs: { type: "submit" } });
  const form = el("form", { class: "save", attrs: { novalidate: true, hidden: true, "aria-label": "Save picture" }, on: {
    submit: (event) => {
      event.preventDefault();
      void run();
    },
    keydown: (/** @type {KeyboardEvent} */ event) => {
      if (event.key !== "Escape") return;
      event.stopPropagation();
      close();
    },
  } }, [
    el("span", { class: "save-piece save-piece-title" }, [el("label", { text: "PNG with key, scale bar and caption, titled", attrs: { for: "save-title" } }), title]),
    el("span", { class: "save-piece" }, [el("label", { text: "width", attrs: { for: "save-width" } }), width, group("Unit of the width", [unit_buttons.mm, unit_buttons.px])]),
    resolution, parts,
    el("span", { class: "save-piece" }, [go, el("button", { class: "surround-button", text: "Close", attrs: { type: "button" }, on: { click: close } })]),
    said,
  ]);
  root.append(form);

  function draw() {
    const now = subject();
    title.placeholder = now?.name ?? "";
    if (!own_title) title.value = now?.name ?? "";
    if (width.value !== widths[unit]) width.value = widths[unit];
    for (const [name, button] of Object.entries(unit_buttons)) setAttribute(button, "aria-pressed", String(name === unit));
    dpi_buttons.forEach((button, index) => setAttribute(button, "aria-pressed", String(RESOLUTIONS[index] === dpi)));
    resolution.hidden = unit !== "mm";
    parts.hidden = now === null || now.part === null;
    part_buttons.forEach((button, index) => setAttribute(button, "aria-pressed", String((index === 0) === whole)));
    go.disabled = busy || now === null;
    if (!busy) tellSize();
  }

  function tellSize() {
    const size = sizeOf(unit, width.value, dpi);
    setAttribute(width, "aria-invalid", typeof size === "string" ? "true" : false);
    tell(typeof size === "string" ? size : subject() === null ? "There is no picture to save." : unit === "mm" ? `${pixelsAcross(size)} pixels wide.` : "");
  }

  function tell(/** @type {string} */ text) {
    setText(said, text);
    said.hidden = text === "";
  }

  async function run() {
    const now = subject();
    const size = sizeOf(unit, width.value, dpi);
    if (now === null || busy || typeof size === "string") return tellSize();
    busy = true;
    go.disabled = true;
    const name = title.value.trim() === "" ? now.name : title.value.trim();
    const settings = /** @type {PictureSettings} */ (whole || now.part === null ? now.settings : { ...now.settings, view: now.part });
    tell("The picture is being drawn.");
    try {
      const file = await save({ settings, ...size, title: name });
      download(file, fileNameOf(name));
      tell(`Saved as “${fileNameOf(name)}”.`);
    } catch (thrown) {
      tell(`It was not saved. ${asProblem(thrown).message}`);
    } finally {
      busy = false;
      go.disabled = false;
    }
  }

  function close() {
    if (form.hidden) return;
    form.hidden = true;
    closed();
  }

  return {
    open() {
      form.hidden = false;
      drawn = JSON.stringify(subject());
      draw();
      title.focus();
      title.select();
    },
    close,
    is_open: () => !form.hidden,
    update() {
      if (form.hidden || busy) return;
      const now = JSON.stringify(subject());
      if (now === drawn) return;
      drawn = now;
      draw();
    },
  };
}
