// A map on the sheet.

import { el, reconcile, setAttribute, setText } from "../dom.js";
import { labelInScan } from "../scan-words.js";
import { marksOf, sumOf } from "../sheet-list.js";

/** @typedef {import("../state.js").State} State */
/** @typedef {import("../sheet-list.js").Place} Place */
/** @typedef {import("../controller.js").Send} Send */
/** @typedef {import("./thumbnails.js").Draw} Draw */

/** @param {HTMLElement} item @param {string} name
 * @returns {HTMLElement} */
export function partOf(item, name) {
  return /** @type {HTMLElement} */ (item.querySelector(name));
}

/** The act that sums the maps of all detectors of a line. @param {Place} place
 * @returns {import("../noticed.js").Act} */
function summing({ of }) {
  const ids = of.map(({ id }) => id);
  return { key: `sum ${ids.join(" ")}`, label: "Sum them", of: [], calls: [{ call: "derive", args: [{ how: "sum", of: ids }] }] };
}

/** @param {Place} place @param {{send: Send, fold: (id: string) => void}} parts
 * @returns {HTMLLIElement} */
export function makeItem({ map }, { send, fold }) {
  const id = map.id;
  const quiet = (/** @type {string} */ name, /** @type {string} */ text, /** @type {() => void} */ run) =>
    el("button", { class: `quiet-button ${name}`, text, attrs: { type: "button" }, on: { click: run } });
  const item = el("li", { class: "sheet-item" }, [
    el("button", { class: "sheet-picture", attrs: { type: "button" }, on: { click: () => send({ type: "choose_map", id }) } }, [el("canvas", { class: "sheet-canvas" })]),
    el("div", { class: "sheet-line" }, [
      el("button", { class: "sheet-light", attrs: { type: "button" }, on: { click: () => send({ type: "toggle_light", id }) } }, [el("span", { class: "sheet-dot" })]),
      el("span", { class: "sheet-label" }),
      el("span", { class: "sheet-largest" }),
    ]),
    el("div", { class: "sheet-below" }, [
      el("p", { class: "sheet-marks" }, [el("span", { class: "sheet-quiet" }), el("span", { class: "sheet-caution" })]),
      el("p", { class: "sheet-group", attrs: { hidden: true } }, [
        el("span", { class: "sheet-detectors" }),
        quiet("sheet-fold", "", () => fold(id)),
        quiet("sheet-sum", "Sum all", () => {
          if (acts.has(item)) send({ type: "act", act: /** @type {import("../noticed.js").Act} */ (acts.get(item)) });
        }),
        el("span", { class: "sheet-summed", text: "summed below" }),
      ]),
      el("p", { class: "sheet-making", attrs: { role: "status", hidden: true } }, [el("span", { text: "Summing" }), quiet("", "Cancel", () => send({ type: "cancel_act" }))]),
      el("div", { class: "sheet-derived", attrs: { hidden: true } }, [
        el("p", { class: "sheet-text" }),
        el("details", { class: "sheet-account" }, [el("summary", { text: "How it was made" }), el("ul")]),
        quiet("sheet-remove", "Remove", () => send({ type: "remove_map", id })),
      ]),
      el("p", { class: "sheet-trouble", attrs: { role: "alert", hidden: true } }),
    ]),
  ]);
  return item;
}

/** What the button of a group would do now. @type {WeakMap<HTMLElement, import("../noticed.js").Act>} */
const acts = new WeakMap();

/** @param {HTMLLIElement} item @param {Place} place @param {State} state @param {{shown: Set<string>, common: string, draw: Draw}} parts */
export function updateItem(item, place, state, { shown, common, draw }) {
  const { map, of, is_open } = place;
  const light = state.lights.find((one) => one?.map === map.id) ?? null;
  const picture = partOf(item, ".sheet-picture");
  setAttribute(picture, "aria-label", `Show ${map.label}`);
  setAttribute(picture, "aria-pressed", String((state.mode === "map" || state.mode === "overlap") && state.map === map.id));
  picture.title = map.file;
  item.classList.toggle("sheet-item-shown", shown.has(map.id));
  const button = partOf(item, ".sheet-light");
  setAttribute(button, "aria-label", `${map.label} as a light`);
  setAttribute(button, "aria-pressed", String(light !== null));
  partOf(item, ".sheet-dot").style.setProperty("--light", light?.colour ?? "transparent");
  const label = partOf(item, ".sheet-label");
  setText(label, map.derived ? map.label : labelInScan(map));
  label.title = map.label;
  setText(partOf(item, ".sheet-largest"), map.largest);
  const { quiet, caution } = marksOf(map, state.maps, common, is_open ? 1 : of.length);
  setText(partOf(item, ".sheet-quiet"), quiet.join(" · ") + (quiet.length > 0 && caution.length > 0 ? " · " : ""));
  setText(partOf(item, ".sheet-caution"), caution.join(" · "));
  partOf(item, ".sheet-marks").hidden = quiet.length + caution.length === 0;
  updateGroup(item, place, state, is_open);
  const derived = partOf(item, ".sheet-derived");
  derived.hidden = !map.derived;
  if (map.derived) {
    setText(partOf(item, ".sheet-text"), map.derived.text === map.label ? "" : map.derived.text);
    const account = map.derived.account ?? [];
    partOf(item, ".sheet-account").hidden = account.length === 0;
    reconcile(partOf(item, ".sheet-account ul"), account, (_, index) => String(index), () => el("li"), (line, text) => setText(line, text));
    setAttribute(partOf(item, ".sheet-remove"), "aria-label", `Remove ${map.label}`);
  }
  const act = acts.get(item);
  const failed = state.map_trouble?.map === map.id ? state.map_trouble.message : of.length > 1 && state.act_trouble?.key === act?.key ? state.act_trouble?.message ?? "" : "";
  const trouble = partOf(item, ".sheet-trouble");
  setText(trouble, failed);
  trouble.hidden = failed === "";
  draw(/** @type {HTMLCanvasElement} */ (partOf(item, ".sheet-canvas")), { map: map.id }, map, state.grid?.pixel_aspect ?? 1);
}

/** @param {HTMLLIElement} item @param {Place} place @param {State} state @param {boolean} is_open */
function updateGroup(item, place, state, is_open) {
  const group = partOf(item, ".sheet-group");
  const making = partOf(item, ".sheet-making");
  group.hidden = place.of.length < 2;
  making.hidden = true;
  if (group.hidden) return void acts.delete(item);
  const act = summing(place);
  acts.set(item, act);
  const busy = state.doing?.key === act.key;
  const { label } = place.map;
  setText(partOf(item, ".sheet-detectors"), is_open ? `${place.of.length} detectors` : `${place.map.detector == null ? "one" : place.map.detector} of ${place.of.length} detectors`);
  const fold = partOf(item, ".sheet-fold");
  setText(fold, is_open ? "Show one" : "Show all");
  setAttribute(fold, "aria-expanded", String(is_open));
  setAttribute(fold, "aria-label", is_open ? `Show one detector of ${label}` : `Show each detector of ${label}`);
  const sum = /** @type {HTMLButtonElement} */ (partOf(item, ".sheet-sum"));
  const summed = sumOf(place.of, state.maps) !== null;
  sum.hidden = summed || busy;
  sum.disabled = state.doing !== null;
  setAttribute(sum, "aria-label", `Sum the detectors of ${label}`);
  partOf(item, ".sheet-summed").hidden = !summed;
  making.hidden = !busy;
}

/** What an arrow leads to from the focused picture or light: the same in the item beside, above or below. Tab goes through all of them;
 * in a large stack the arrows are shorter. @param {HTMLElement} root @param {string} key
 * @returns {HTMLElement|null} */
export function neighbour(root, key) {
  const now = document.activeElement;
  const kind = now?.matches(".sheet-picture") ? ".sheet-picture" : now?.matches(".sheet-light") ? ".sheet-light" : null;
  if (kind === null || now === null) return null;
  const all = /** @type {HTMLElement[]} */ ([...root.querySelectorAll(kind)]).filter((one) => one.checkVisibility());
  const at = all.findIndex((one) => one === now);
  const across = (/** @type {Element} */ one) => one.getBoundingClientRect().left;
  const same_column = all.filter((one) => Math.abs(across(one) - across(now)) < 2);
  const row = same_column.findIndex((one) => one === now);
  /** @type {Record<string, HTMLElement|undefined>} */
  const to = { ArrowLeft: all[at - 1], ArrowRight: all[at + 1], ArrowUp: same_column[row - 1], ArrowDown: same_column[row + 1], Home: all[0], End: all.at(-1) };
  return to[key] ?? null;
}
