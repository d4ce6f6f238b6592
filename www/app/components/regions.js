// The regions, folded below the sheet's heading: how to make one, the list, and what can be made of several. Names are changed in place.

import { el, reconcile, setAttribute, setText } from "../dom.js";
import { chosenOf, combineParts, combined } from "../region-combine.js";
import { makersText } from "../words.js";
import { openListbox } from "./listbox.js";
import { createRegionSpectra } from "./region-spectra.js";
import { createWording } from "./wording.js";

/** @typedef {import("../state.js").State} State */
/** @typedef {import("../deriving.js").Values} Values */
/** @typedef {import("../types.js").RegionSummary} RegionSummary */
/** @typedef {import("../drawing.js").Tool} Tool */

const ROLES = [
  { value: "passage", text: "passage", detail: "painted, to be asked about" },
  { value: "off the object", text: "off the object", detail: "air, the stage" },
  { value: "bare support", text: "bare support", detail: "canvas, paper, wood" },
  { value: "ground", text: "ground", detail: "prepared, not painted" },
  { value: "reference", text: "reference", detail: "to compare with" },
];

/** @param {HTMLDetailsElement} root @param {import("../controller.js").Send} send
 * @returns {{update: (state: State) => void}} */
export function createRegions(root, send) {
  /** @type {State|null} */
  let state = null;
  /** @type {(() => void)|null} */
  let close = null;
  /** The region whose name was asked for last. @type {string|null} */
  let asked_name = null;
  /** @type {Values} */
  let values = {};

  const count = el("span", { class: "part-text" });
  const word = (/** @type {string} */ text, /** @type {() => void} */ run, label = text) =>
    el("button", { class: "word-button", text, attrs: { type: "button", "aria-label": label }, on: { click: run } });
  const draws = (/** @type {Tool} */ tool, /** @type {string} */ text) => word(text, () => send({ type: "draw_region", tool }), `Draw ${text}`);
  const file = el("input", { class: "file-input", attrs: { type: "file", accept: "image/png", tabindex: -1, "aria-hidden": "true" }, on: { change: () => {
    const [chosen] = file.files ?? [];
    if (chosen) send({ type: "mask_from_file", file: chosen });
    file.value = "";
  } } });
  const of_field = createRegionSpectra(null, send);
  const outlines = el("p", { class: "regions-outlines" }, ["Outlines are hidden. ", word("Show them", () => send({ type: "show_outlines", on: true }))]);
  const trouble = el("p", { class: "region-trouble", attrs: { role: "alert", hidden: true } });
  const list = el("ul", { class: "regions-list", attrs: { "aria-label": "Regions" } });
  const said = el("span", { class: "making-said", attrs: { role: "status" } });
  const make = el("button", { class: "button", text: "Make it", attrs: { type: "submit" } });
  const sentence = el("div", { class: "sentence making-sentence" });
  const combine = el("details", { class: "regions-combine", on: { toggle: () => propose() } }, [
    el("summary", { text: "Combine, grow or shrink" }),
    el("form", { class: "making", attrs: { novalidate: true }, on: { submit: (event) => {
      event.preventDefault();
      if (state?.proposal?.place === "list") send({ type: "keep_proposal" });
      else propose();
    } } }, [sentence, el("div", { class: "making-go" }, [make, said])]),
  ]);
  const body = el("div", { class: "regions" }, [
    el("p", { class: "regions-words" }, ["Draw ", draws("rectangle", "rectangle"), ", ", draws("polygon", "polygon"), ", ", draws("freehand", "freehand")]),
    el("p", { class: "regions-words" }, [word("By the photo’s colour", () => send({ type: "pick_colours" }))]),
    el("p", { class: "regions-words" }, [word("Open a mask from a file", () => file.click()), file]),
    el("p", { class: "regions-words" }, [of_field.add]),
    of_field.element, trouble, outlines, list, combine,
  ]);
  root.append(el("summary", { class: "part-head", on: { click: (event) => {
    event.preventDefault();
    send({ type: "open_regions", open: !root.open });
  } } }, [el("span", { class: "part-title", text: "Regions" }), count]), body);
  const wording = createWording(sentence, (setting, value) => {
    values = { ...values, [setting]: value };
    propose();
  });

  // ---- one region ----

  /** @param {RegionSummary} region */
  function row({ id }) {
    const now = () => state?.regions.find((one) => one.id === id);
    /** The region as it was when its name was typed, or its element. @type {{for: RegionSummary|null, pure: RegionSummary|null}} */
    const typed = { for: null, pure: null };
    const name = el("input", { class: "region-name", attrs: { type: "text", autocomplete: "off", spellcheck: "false", maxlength: 120 }, on: {
      change: () => {
        typed.for = now() ?? null;
        if (name.value.trim() !== now()?.name || name.hasAttribute("aria-invalid")) send({ type: "name_region", id, text: name.value });
      },
      keydown: (/** @type {KeyboardEvent} */ event) => {
        if (event.key === "Escape") {
          name.value = now()?.name ?? "";
          // What was refused is taken back with its message.
          if (name.hasAttribute("aria-invalid")) send({ type: "name_region", id, text: name.value });
        }
        if (event.key !== "Escape" && event.key !== "Enter") return;
        event.preventDefault();
        event.stopPropagation();
        name.blur();
        // From where it was drawn.
        if (asked_name === id) /** @type {HTMLElement|null} */ (document.querySelector(".pane-active .view-canvas") ?? document.querySelector(".view-canvas"))?.focus();
      },
    } });
    const role = el("button", { class: "word-button", attrs: { type: "button", "aria-haspopup": "listbox", "aria-expanded": "false" }, on: {
      click: () => {
        if (close) return close();
        close = openListbox(role, body, { label: "What the region is", chosen: now()?.role ?? null, choices: ROLES, choose: (value) => send({ type: "set_role", id, role: /** @type {import("../types.js").RegionRole} */ (value) }), closed: () => (close = null) });
      },
      keydown: (/** @type {KeyboardEvent} */ event) => {
        if (event.key !== "ArrowDown" && event.key !== "ArrowUp") return;
        event.preventDefault();
        if (!close) role.click();
      },
    } });
    const spectra = createRegionSpectra(id, send);
    const pure = el("input", { class: "sentence-field region-pure", attrs: { type: "text", autocomplete: "off", spellcheck: "false", maxlength: 12 }, on: {
      change: () => {
        if (pure.value.trim() !== (now()?.pure ?? "") || pure.hasAttribute("aria-invalid")) {
          typed.pure = now() ?? null;
          send({ type: "set_pure", id, text: pure.value });
        }
      },
      keydown: (/** @type {KeyboardEvent} */ event) => {
        if (event.key === "Escape") {
          pure.value = now()?.pure ?? "";
          if (pure.hasAttribute("aria-invalid")) send({ type: "set_pure", id, text: pure.value });
        }
        if (event.key !== "Escape" && event.key !== "Enter") return;
        event.preventDefault();
        event.stopPropagation();
        pure.blur();
      },
    } });
    const taken = el("span", { class: "region-taken", attrs: { hidden: true } }, [" · taken as pure in ", pure]);
    const area = el("span", { class: "region-area" });
    const text = el("span", { class: "region-text" });
    const makers = el("span", { class: "region-makers" });
    const more = el("button", { class: "word-button region-more", attrs: { type: "button" }, on: { click: () => send({ type: "unfold_region", id: state?.unfolded === id ? null : id }) } });
    const shape = word("reshape", () => send({ type: "edit_region", id }));
    const seen = word("", () => send({ type: "show_region", id, on: state?.unseen.includes(id) === true }));
    const acts = el("p", { class: "region-acts" }, [shape, seen, word("save mask", () => send({ type: "save_mask", id })), spectra.add, word("remove", () => remove(id))]);
    const failed = el("p", { class: "region-trouble", attrs: { role: "alert", hidden: true } });
    const light = (/** @type {boolean} */ on) => send({ type: "light_region", id: on ? id : null });
    const item = el("li", { class: "region", on: {
      pointerenter: () => light(true), pointerleave: () => light(item.contains(document.activeElement)),
      focusin: () => light(true), focusout: (/** @type {FocusEvent} */ event) => {
        if (!item.contains(/** @type {Node|null} */ (event.relatedTarget)) && !item.matches(":hover")) light(false);
      },
    } }, [
      el("div", { class: "region-head" }, [name, area]),
      el("p", { class: "region-line" }, [role, taken, " · ", text, makers, " ", more]),
      acts, spectra.element, failed,
    ]);
    return Object.assign(item, { parts: { name, role, taken, pure, spectra, area, text, makers, more, shape, seen, acts, failed, typed } });
  }

  /** The focus stays in the list. @param {string} id */
  function remove(id) {
    const at = state?.regions.findIndex((one) => one.id === id) ?? -1;
    const next = state?.regions[at + 1] ?? state?.regions[at - 1];
    send({ type: "remove_region", id });
    const there = next ? rowOf(next.id)?.parts.more : /** @type {HTMLElement|null} */ (root.querySelector(".regions-words button"));
    there?.focus();
  }

  /** @param {string} id */
  function rowOf(id) {
    return /** @type {ReturnType<typeof row>|undefined} */ ([...list.children].find((one) => /** @type {HTMLElement} */ (one).dataset.key === id));
  }

  /** @param {ReturnType<typeof row>} item @param {RegionSummary} region @param {State} state */
  function fill(item, region, state) {
    const { name, role, taken, pure, spectra, area, text, makers, more, shape, seen, acts, failed, typed } = item.parts;
    const { id } = region;
    const message = typeof state.region_trouble?.at === "object" && state.region_trouble.at.region === id ? state.region_trouble.message : "";
    // What is being typed, or was refused, is not written over: the region is another one as soon as the name is taken.
    if (typed.for !== region && document.activeElement !== name) {
      typed.for = null;
      name.value = region.name;
    }
    setAttribute(name, "aria-label", `Name of ${region.name}`);
    setAttribute(name, "aria-invalid", message === "" || typed.pure === region ? false : "true");
    taken.hidden = region.role !== "reference";
    const pure_failed = message !== "" && typed.pure === region;
    if (typed.pure !== region && document.activeElement !== pure) {
      typed.pure = null;
      pure.value = region.pure ?? "";
    }
    setAttribute(pure, "aria-label", `Element that ${region.name} is taken as pure in, for example Pb`);
    setAttribute(pure, "aria-invalid", pure_failed ? "true" : false);
    const hidden = state.unseen.includes(id);
    setText(area, region.area_text);
    setText(role, region.role);
    setAttribute(role, "aria-label", `What ${region.name} is: ${region.role}`);
    setText(text, `${region.text}${hidden ? " · hidden" : ""}`);
    const made_from = makersText(region, state.maps);
    setText(makers, made_from === "" ? "" : ` · ${made_from}`);
    const open = state.unfolded === id;
    setText(more, open ? "less" : "more");
    setAttribute(more, "aria-expanded", String(open));
    setAttribute(more, "aria-label", `${open ? "Less" : "More"} about ${region.name}`);
    acts.hidden = !open;
    shape.hidden = !region.rectangle && !region.polygon && !region.colour?.at.length;
    setText(seen, hidden ? "show" : "hide");
    for (const act of acts.querySelectorAll("button")) setAttribute(act, "aria-label", `${act.textContent} ${region.name}`);
    spectra.update(state, region.name);
    setText(failed, message);
    failed.hidden = message === "";
    item.classList.toggle("region-lit", state.lit === id);
  }

  // ---- of several ----

  /** What the sentence says is seen in the views before it is made. */
  function propose() {
    if (state === null) return;
    drawCombine(state);
    const settings = combine.open && root.open && state.regions.length > 0 ? combined(state.regions, values) : null;
    if (settings !== null && !("message" in settings)) return send({ type: "propose_region", settings, place: "list" });
    if (state.proposal?.place === "list") send({ type: "drop_proposal" });
  }

  /** @param {State} state */
  function drawCombine({ regions, proposal }) {
    combine.hidden = regions.length === 0;
    if (combine.hidden || !combine.open) return;
    const settings = combined(regions, values);
    wording.draw(["Make a region of "], combineParts(regions, values), chosenOf(regions, values), []);
    const shown = proposal?.place === "list" ? proposal : null;
    setText(said, "message" in settings ? settings.message : shown === null ? "" : shown.message === "" ? sizeText(shown.preview) : shown.message);
    said.classList.toggle("making-wrong", "message" in settings || (shown !== null && shown.message !== ""));
    make.disabled = "message" in settings || (shown !== null && (!shown.preview?.pixels || shown.message !== ""));
  }

  /** How large it would be; of nothing, why. @param {RegionSummary|null} preview */
  function sizeText(preview) {
    if (preview === null) return "";
    return preview.pixels === 0 ? preview.text : preview.area_text;
  }

  /** @param {State} next */
  function askName({ unnamed, regions }) {
    if (unnamed === null || !regions.some(({ id }) => id === unnamed)) return void (asked_name = null);
    if (asked_name === unnamed) return;
    asked_name = unnamed;
    combine.open = false;
    // Alone in the window the picture keeps the focus: the list is behind it.
    if (document.fullscreenElement !== null || document.querySelector(".view-alone") !== null) return;
    const name = rowOf(unnamed)?.parts.name;
    name?.focus();
    name?.select();
  }

  return {
    update(next) {
      const before = state;
      state = next;
      const keys = /** @type {const} */ (["regions", "regions_open", "outlines", "unseen", "lit", "unfolded", "unnamed", "proposal", "region_trouble", "spectra", "spectrum_adding", "spectrum_shown", "spectrum_trouble"]);
      if (before !== null && keys.every((key) => before[key] === next[key])) return;
      const opens = next.regions_open && before?.regions_open === false;
      root.open = next.regions_open;
      if (opens) root.scrollIntoView({ block: "nearest" });
      setText(count, next.regions.length === 0 ? "" : String(next.regions.length));
      reconcile(list, next.regions, ({ id }) => id, row, (item, region) => fill(item, region, next));
      list.hidden = next.regions.length === 0;
      outlines.hidden = next.outlines || next.regions.length === 0;
      of_field.update(next, "");
      const message = next.region_trouble?.at === "list" ? next.region_trouble.message : "";
      setText(trouble, message);
      trouble.hidden = message === "";
      drawCombine(next);
      askName(next);
    },
  };
}
