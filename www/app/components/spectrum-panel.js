// Below the picture: the spectrum that is seen, and the elements whose lines are marked in it.

import { el, setAttribute, setText } from "../dom.js";
import { createSpectrum } from "./plots/spectrum.js";

/** @typedef {import("../state.js").State} State */
/** @typedef {import("../types.js").SpectrumPlot} SpectrumPlot */

/** @param {HTMLElement} root @param {import("../controller.js").Send} send @param {() => void} left the focus was in it when it went away
 * @returns {{update: (state: State) => void, is_open: () => boolean}} */
export function createSpectrumPanel(root, send, left) {
  /** @type {State["spectrum_shown"]} */
  let shown = null;
  /** @type {SpectrumPlot|null} */
  let drawn = null;
  /** @type {import("./plots/plot.js").Drawn|null} */
  let plot = null;

  const title = el("strong", { class: "spectrum-title" });
  const elements = el("input", { class: "field spectrum-elements", attrs: { id: "spectrum-elements", type: "text", autocomplete: "off", spellcheck: "false", maxlength: 120, "aria-describedby": "spectrum-said" }, on: {
    change: () => send({ type: "mark_elements", text: elements.value }),
  } });
  const form = el("form", { class: "spectrum-marks", attrs: { novalidate: true }, on: { submit: (event) => {
    event.preventDefault();
    send({ type: "mark_elements", text: elements.value });
  } } }, [el("label", { text: "Lines of", attrs: { for: "spectrum-elements" } }), elements, el("span", { class: "spectrum-example", text: "symbols, for example Pb As" })]);
  const close = el("button", { class: "quiet-button", text: "Close", attrs: { type: "button", "aria-label": "Close the spectrum" }, on: { click: () => send({ type: "show_spectrum", id: null }) } });
  const said = el("p", { class: "region-trouble", attrs: { id: "spectrum-said", role: "alert", hidden: true } });
  const field = el("div");
  root.append(el("div", { class: "spectrum", attrs: { role: "group", "aria-label": "Spectrum" }, on: { keydown: (/** @type {KeyboardEvent} */ event) => {
    if (event.key !== "Escape") return;
    event.preventDefault();
    event.stopPropagation();
    close.click();
  } } }, [el("div", { class: "spectrum-head" }, [title, form, close]), said, field]));
  matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => plot?.redraw?.());

  return {
    update(state) {
      const before = shown;
      shown = state.spectrum_shown;
      if (shown === before && shown === null) return;
      const had_focus = root.contains(document.activeElement);
      root.hidden = shown === null;
      if (shown === null) {
        plot = drawn = null;
        field.replaceChildren();
        if (had_focus) left();
        return;
      }
      const summary = state.spectra.find(({ id }) => id === shown?.id);
      setText(title, shown.plot?.label ?? summary?.name ?? "");
      if (document.activeElement !== elements) elements.value = state.spectrum_elements;
      setText(said, shown.message);
      said.hidden = shown.message === "";
      setAttribute(elements, "aria-invalid", shown.message === "" ? false : "true");
      if (shown.plot !== drawn) {
        drawn = shown.plot;
        plot = drawn === null ? null : createSpectrum(drawn);
        field.replaceChildren(...(plot === null ? [] : [plot.element]));
      }
      if (before?.id !== shown.id) {
        root.scrollIntoView({ block: "nearest" });
        elements.focus();
      }
    },
    is_open: () => shown !== null,
  };
}
