// The spectra of a region, or of the whole field, within the list of regions: adding one from a file, seeing it, taking it away.

import { el, reconcile, setAttribute, setText } from "../dom.js";
import { energiesOf, spectraOf } from "../spectra-state.js";

/** @typedef {import("../state.js").State} State */
/** @typedef {import("../types.js").SpectrumHow} SpectrumHow */
/** @typedef {import("../types.js").SpectrumSummary} SpectrumSummary */

/** @type {{how: SpectrumHow, text: string}[]} */
const HOWS = [{ how: "sum", text: "sum of all its pixels" }, { how: "maximum pixel", text: "maximum pixel" }];

/** @param {string|null} region by id; null for the whole field @param {import("../controller.js").Send} send
 * @returns {{add: HTMLElement, element: HTMLElement, update: (state: State, name: string) => void}} `add` is the word that opens a file */
export function createRegionSpectra(region, send) {
  const key = region ?? "field";
  const file = el("input", { class: "file-input", attrs: { type: "file", tabindex: -1, "aria-hidden": "true" }, on: { change: () => {
    const [chosen] = file.files ?? [];
    if (chosen) send({ type: "spectrum_file", region, file: chosen });
    file.value = "";
  } } });
  const add_word = el("button", { class: "word-button", text: region === null ? "Open a spectrum of the whole field" : "spectrum …", attrs: { type: "button" }, on: { click: () => file.click() } });
  const add = el("span", {}, [add_word, file]);
  const name = el("strong");
  const hows = el("span", { class: "spectrum-hows" });
  let message = "";
  const energy = (/** @type {string} */ id, /** @type {string} */ text) => {
    const input = el("input", { class: "field spectrum-energy", attrs: { id: `spectrum-${id}-${key}`, type: "text", autocomplete: "off", maxlength: 20 } });
    return { input, line: el("p", { class: "spectrum-energies" }, [el("label", { class: "scan-label", text, attrs: { for: `spectrum-${id}-${key}` } }), input, el("span", { class: "scan-unit", text: "keV" })]) };
  };
  const first = energy("first", "First channel at");
  const step = energy("step", "Each channel is");
  const energies = el("div", {}, [el("p", { class: "scan-note", text: "The file does not say the energies of its channels." }), first.line, step.line]);
  const keep = el("button", { class: "button", text: "Add the spectrum", attrs: { type: "submit" } });
  const said = el("p", { class: "region-trouble", attrs: { role: "alert", hidden: true } });
  const form = el("form", { class: "spectrum-form", attrs: { novalidate: true, hidden: true }, on: {
    submit: (event) => {
      event.preventDefault();
      const typed = energies.hidden ? null : energiesOf(first.input.value, step.input.value);
      message = typed !== null && "message" in typed ? typed.message : "";
      tell();
      if (typed === null || !("message" in typed)) send({ type: "keep_spectrum", energies: typed });
    },
    keydown: (/** @type {KeyboardEvent} */ event) => {
      if (event.key !== "Escape") return;
      event.preventDefault();
      event.stopPropagation();
      send({ type: "drop_spectrum" });
    },
  } }, [el("p", {}, [name, " is the ", hows]), energies, said, el("div", { class: "making-go" }, [keep, el("button", { class: "quiet-button", text: "Cancel", attrs: { type: "button" }, on: { click: () => send({ type: "drop_spectrum" }) } })])]);
  const list = el("ul", { class: "spectra-list" });
  const trouble = el("p", { class: "region-trouble", attrs: { role: "alert", hidden: true } });
  const element = el("div", { class: "spectra" }, [form, list, trouble]);
  let from_core = "";

  function tell() {
    const text = message === "" ? from_core : message;
    setText(said, text);
    said.hidden = text === "";
  }

  /** @param {SpectrumSummary} spectrum */
  function row({ id }) {
    const text = el("span");
    const show = el("button", { class: "word-button", attrs: { type: "button" }, on: { click: () => send({ type: "show_spectrum", id }) } });
    const remove = el("button", { class: "word-button", text: "remove", attrs: { type: "button" }, on: { click: () => {
      add_word.focus();
      send({ type: "remove_spectrum", id });
    } } });
    return Object.assign(el("li", { class: "spectra-one" }, [text, " ", show, " ", remove]), { parts: { text, show, remove } });
  }

  return {
    add, element,
    update(state, region_name) {
      const adding = state.spectrum_adding?.region === region ? state.spectrum_adding : null;
      const had_focus = form.contains(document.activeElement);
      const opens = adding !== null && form.hidden;
      form.hidden = adding === null;
      if (region !== null) setAttribute(add_word, "aria-label", `Open a spectrum of ${region_name}`);
      if (adding !== null) {
        const asked = energies.hidden && adding.asks;
        setText(name, adding.file.name);
        reconcile(hows, HOWS, ({ how }) => how, ({ how, text }) => el("button", { class: "word-button point-said", text, attrs: { type: "button" }, on: { click: () => send({ type: "spectrum_how", how }) } }),
          (button, { how }) => setAttribute(button, "aria-pressed", String(adding.how === how)));
        energies.hidden = !adding.asks;
        keep.disabled = adding.busy;
        from_core = adding.message;
        if (adding.busy || opens) message = "";
        tell();
        if (opens) keep.focus();
        else if (asked) first.input.focus();
      } else {
        energies.hidden = true;
        if (had_focus) add_word.focus();
      }
      const own = spectraOf(state.spectra, region, state.regions);
      reconcile(list, own, ({ id }) => id, row, ({ parts }, spectrum) => {
        const is_shown = state.spectrum_shown?.id === spectrum.id;
        setText(parts.text, spectrum.text);
        setText(parts.show, is_shown ? "shown" : "show");
        setAttribute(parts.show, "aria-label", `Show ${spectrum.name}`);
        setAttribute(parts.show, "aria-pressed", String(is_shown));
        setAttribute(parts.remove, "aria-label", `remove ${spectrum.name}`);
      });
      list.hidden = own.length === 0;
      const failed = state.spectrum_trouble !== null && state.spectrum_trouble.region === region ? state.spectrum_trouble.message : "";
      setText(trouble, failed);
      trouble.hidden = failed === "";
    },
  };
}
