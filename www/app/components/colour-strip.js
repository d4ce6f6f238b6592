// Below the picture, while a region is made of a photo's colours: what is picked, how alike, what is left out, and the words that end it.

import { el, reconcile, setAttribute, setText } from "../dom.js";
import { ALIKE, MOST_SPECK, laidPhotos, speckOf, unpicked } from "../picking.js";

/** @typedef {import("../state.js").State} State */
/** @typedef {import("../picking.js").Picking} Picking */
/** @typedef {import("../picking.js").Kind} Kind */
/** @typedef {{kind: Kind, index: number, colour: string}} Swatch */

const HAND = "Press on the picture where the paint is seen; with Alt, or after “leave out this colour”, on what does not belong to it.";
const KEYS = "Keys: arrows move the mark, with Shift by 10; Enter picks, with Alt leaves out; Backspace takes back.";
const ELSEWHERE = "Colours are picked on the maps: show a map, the overlay, an answer, or the photo laid on the maps.";

/** @param {HTMLElement} root @param {import("../controller.js").Send} send
 * @param {() => boolean} can_pick whether the picture in view lies as the maps do @param {() => void} left the focus was in it when it went away
 * @returns {{update: (state: State) => void, is_open: () => boolean, words: () => string}} `words`: what is to be done */
export function createColourStrip(root, send, can_pick, left) {
  /** @type {State|null} */
  let state = null;
  const change = (/** @type {Partial<Picking>} */ part) => {
    if (state !== null && state.picking !== null) send({ type: "pick", picking: { ...state.picking, ...part } });
  };
  const button = (/** @type {string} */ text, /** @type {() => void} */ run) => el("button", { class: "surround-button", text, attrs: { type: "button" }, on: { click: run } });
  const choice = (/** @type {string} */ text, /** @type {() => void} */ run) => el("button", { class: "save-choice", text, attrs: { type: "button" }, on: { click: run } });

  const title = el("span", { class: "strip-title", text: "By the photo’s colour" });
  const area = el("span", { class: "strip-area" });
  const said = el("p", { class: "colour-said", attrs: { role: "status" } });
  const help = el("span", { attrs: { hidden: true } });
  const shown = el("span");
  const keys = el("span", { class: "strip-keys" });
  const hand = el("p", { class: "colour-said" }, [help, shown, " ", keys]);
  const caution = el("p", { class: "colour-caution" });
  const swatches = el("ul", { class: "colour-swatches", attrs: { "aria-label": "Picked colours" } });
  const photos = el("span", { class: "save-choices", attrs: { role: "group", "aria-label": "Photo" } });
  const out = choice("leave out this colour", () => change({ leaves_out: !state?.picking?.leaves_out }));
  const alike = el("input", { class: "colour-alike", attrs: { type: "range", min: ALIKE.least, max: ALIKE.most, step: ALIKE.step }, on: { input: () => change({ alike: Number(alike.value) }) } });
  const alike_label = el("label", { class: "colour-field" }, ["how alike", alike]);
  const patch = { one: choice("this patch", () => change({ connected: true })), every: choice("every patch", () => change({ connected: false })) };
  const patches = el("span", { class: "save-choices", attrs: { role: "group", "aria-label": "Which patches" } }, [patch.one, "or", patch.every]);
  const speck = el("input", { class: "field colour-speck", attrs: { type: "text", inputmode: "numeric", maxlength: String(MOST_SPECK).length, autocomplete: "off" }, on: { change: () => {
    const value = speckOf(speck.value);
    setAttribute(speck, "aria-invalid", value === null ? "true" : false);
    if (value !== null) change({ smallest_px: value });
  } } });
  const speck_label = el("label", { class: "colour-field" }, ["without specks below", speck, "px"]);
  const rim = choice("leave the border out", () => change({ rim: !state?.picking?.rim }));
  const keep = button("Add region", () => send({ type: "keep_proposal" }));
  const cancel = button("Cancel", () => send({ type: "pick", picking: null }));
  const trouble = el("p", { class: "strip-trouble", attrs: { role: "alert", hidden: true } });
  const settings = el("div", { class: "colour-settings" }, [patches, speck_label, rim, out]);
  root.append(el("div", { class: "strip colour-strip", attrs: { role: "group", "aria-label": "Region by the photo’s colour" }, on: { keydown: (/** @type {KeyboardEvent} */ event) => {
    if (event.key !== "Escape") return;
    event.preventDefault();
    event.stopPropagation();
    cancel.click();
  } } }, [
    el("div", { class: "colour-head" }, [el("p", {}, [title, area]), el("div", { class: "strip-acts" }, [keep, cancel])]),
    said, hand, el("div", { class: "colour-settings" }, [photos, swatches, alike_label]), settings, caution, trouble,
  ]));

  /** @param {Swatch} swatch */
  function swatchOf({ kind, index }) {
    const colour = el("span", { class: "colour-swatch" });
    const remove = el("button", { class: "word-button", text: "remove", attrs: { type: "button" }, on: { click: () => {
      if (state === null || state.picking === null) return;
      // The focus stays in the strip.
      alike.focus();
      send({ type: "pick", picking: unpicked(state.picking, kind, index) });
    } } });
    return Object.assign(el("li", {}, [colour, kind === "except" ? "left out " : "", remove]), { parts: { colour, remove } });
  }

  /** @param {State} now @param {Picking} picking */
  function draw(now, picking) {
    const { proposal, region_trouble, regions } = now;
    const preview = proposal?.place === "colour" ? proposal.preview : null;
    const edited = regions.find(({ id }) => id === picking.edits);
    setText(title, edited?.name ?? "By the photo’s colour");
    setText(area, preview?.area_text ?? "");
    setText(said, preview?.text ?? "");
    setText(help, can_pick() ? HAND : ELSEWHERE);
    setText(keys, can_pick() ? KEYS : "");
    // The picture needs the room as soon as something is picked.
    setText(shown, can_pick() && picking.at.length > 0 ? "" : help.textContent ?? "");
    setText(caution, preview?.colour?.caution ?? "");
    const laid = laidPhotos(now.photos);
    photos.hidden = laid.length < 2;
    reconcile(photos, laid, ({ id }) => id, ({ id }) => choice("", () => change({ photo: id })), (one, { id, name }) => {
      setText(one, name);
      setAttribute(one, "aria-pressed", String(id === picking.photo));
    });
    /** @type {Swatch[]} */
    const all = [
      ...picking.at.map((_, index) => ({ kind: /** @type {Kind} */ ("at"), index, colour: preview?.colour?.colours[index] ?? "" })),
      ...picking.except.map((_, index) => ({ kind: /** @type {Kind} */ ("except"), index, colour: preview?.colour?.except_colours[index] ?? "" })),
    ];
    reconcile(swatches, all, ({ kind, index }) => `${kind}${index}`, swatchOf, (item, { kind, index, colour }) => {
      item.parts.colour.style.backgroundColor = colour;
      setAttribute(item.parts.remove, "aria-label", `remove ${kind === "at" ? "colour" : "left out colour"} ${index + 1}`);
    });
    swatches.hidden = all.length === 0;
    if (document.activeElement !== alike || Number(alike.value) !== picking.alike) alike.value = String(picking.alike);
    if (document.activeElement !== speck && !speck.hasAttribute("aria-invalid")) speck.value = String(picking.smallest_px);
    setAttribute(patch.one, "aria-pressed", String(picking.connected));
    setAttribute(patch.every, "aria-pressed", String(!picking.connected));
    setAttribute(rim, "aria-pressed", String(picking.rim));
    setAttribute(out, "aria-pressed", String(picking.leaves_out));
    out.disabled = picking.at.length === 0;
    setText(keep, picking.edits === null ? "Add region" : "Done");
    keep.disabled = !preview?.pixels || proposal?.message !== "";
    const message = region_trouble?.at === "drawing" ? region_trouble.message : proposal?.place === "colour" ? proposal.message : "";
    setText(trouble, message);
    trouble.hidden = message === "";
  }

  return {
    update(next) {
      state = next;
      const had_focus = root.contains(document.activeElement);
      root.hidden = next.picking === null;
      if (next.picking !== null) return draw(next, next.picking);
      speck.removeAttribute("aria-invalid");
      if (had_focus) left();
    },
    is_open: () => state !== null && state.picking !== null,
    words: () => `${title.textContent}. ${help.textContent} ${keys.textContent}`,
  };
}
