// The sheet: every map as a small picture with its line, its largest value, its light and its marks; what is no element line and what was
// made here after them; photos last. Above them the scan, and what can be made of maps.

import { el, reconcile, setAttribute, setText } from "../dom.js";
import { capital, scanWord } from "../scan-words.js";
import { MANY_MAPS, commonKind, sheetOf } from "../sheet-list.js";
import { mapsInView } from "../state.js";
import { createMaking } from "./making.js";
import { createPoints } from "./points.js";
import { createRegions } from "./regions.js";
import { createScan } from "./scan.js";
import { makeItem, neighbour, partOf, updateItem } from "./sheet-item.js";
import { createThumbnails } from "./thumbnails.js";

/** @typedef {import("../state.js").State} State */
/** @typedef {import("../types.js").PhotoSummary} PhotoSummary */

/** The place of a small picture in pixels of the page. */
const PLACE = { width: 150, height: 180 };

/** @param {HTMLElement} root @param {import("../controller.js").Send} send @param {import("./thumbnails.js").Services} services
 * @returns {{update: (state: State) => void}} */
export function createSheet(root, send, services) {
  /** @type {State|null} */
  let last = null;
  let filter = "";
  let changed = false;
  /** Maps whose detectors are unfolded. @type {Set<string>} */
  const open = new Set();

  const list = (/** @type {string} */ name = "") => el("ul", { class: `sheet-list ${name}`.trim() });
  const [elements, auxiliary, made, photos] = [list(), list(), list("sheet-made"), list()];
  const scans = el("div", { class: "sheet-scans" });
  const heading = (/** @type {string} */ text) => el("h2", { class: "sheet-title", text });
  const [auxiliary_title, made_title, photos_title] = [heading("Other maps"), heading("Made here"), heading("Photos")];
  const maps_title = heading("Maps");
  const naming = el("button", { class: "quiet-button sheet-naming", text: "Name the maps", attrs: { type: "button" }, on: { click: () => send({ type: "open_naming" }) } });
  const maps_head = el("div", { class: "sheet-head" }, [maps_title, naming]);
  const scan_root = el("details", { class: "sheet-part" });
  const making_root = el("details", { class: "sheet-part" });
  const regions_root = el("details", { class: "sheet-part" });
  const points_root = el("details", { class: "sheet-part" });
  const field = el("input", { class: "field sheet-filter", attrs: { type: "search", "aria-label": "Find maps, for example fe or scatter", placeholder: "Find maps: fe, scatter …", autocomplete: "off", spellcheck: "false", maxlength: 40 },
    on: { input: () => redraw(() => (filter = field.value)) } });
  const none = el("p", { class: "sheet-none", attrs: { role: "status" } });
  const hint = el("p", { class: "sheet-hint", attrs: { role: "status" } });
  root.append(maps_head, scan_root, making_root, regions_root, points_root, field, none, hint, elements, auxiliary_title, auxiliary, scans, made_title, made, photos_title, photos);
  root.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.metaKey || event.altKey || event.shiftKey) return;
    const next = neighbour(root, event.key);
    if (next === null) return;
    event.preventDefault();
    next.focus();
  });
  const draw = createThumbnails(services, root, PLACE);
  const scan = createScan(scan_root, send);
  const making = createMaking(making_root, send);
  const regions = createRegions(regions_root, send);
  const points = createPoints(points_root, send);
  const parts = { send, draw, fold: (/** @type {string} */ id) => redraw(() => (open.has(id) ? open.delete(id) : open.add(id))) };

  function redraw(/** @type {() => void} */ change) {
    change();
    changed = true;
    if (last !== null) update(last);
  }

  /** @param {{field: number}} scan */
  function makeScan({ field }) {
    return el("div", { class: "sheet-scan" }, [
      el("div", { class: "sheet-head" }, [heading(""), el("button", { class: "word-button sheet-align", text: "Align", attrs: { type: "button" }, on: { click: () => send({ type: "open_aligning", photo: null, scan: field }) } })]),
      el("p", { class: "sheet-photo" }), list(),
    ]);
  }

  /** Whether anything that the sheet shows is another. @param {State} state */
  function isOther(state) {
    const keys = /** @type {const} */ (["maps", "photos", "grid", "lights", "hint", "doing", "act_trouble", "map_trouble", "fields", "views", "active", "mode", "map", "photo", "shown", "answer", "layout"]);
    return last === null || changed || keys.some((key) => last?.[key] !== state[key]);
  }

  /** @param {State} state */
  function update(state) {
    root.hidden = state.maps.length + state.photos.length === 0 || state.naming !== null;
    scan.update(state);
    making.update(state);
    regions.update(state);
    points.update(state);
    if (!isOther(state)) return;
    last = state;
    changed = false;
    const has_maps = state.maps.length > 0;
    const common = commonKind(state.maps);
    maps_head.hidden = scan_root.hidden = making_root.hidden = regions_root.hidden = points_root.hidden = !has_maps;
    setText(maps_title, common.text === "" ? "Maps" : `Maps, ${common.is_of_all ? "" : "mostly "}${common.text}`);
    // What was typed stays in sight as long as it leaves maps out.
    field.hidden = !has_maps || (state.maps.length < MANY_MAPS && filter === "");
    const sheet = sheetOf(state.maps, filter, open);
    const found = sheet.elements.length + sheet.auxiliary.length + sheet.scans.length + sheet.made.length;
    setText(none, has_maps && found === 0 ? "No map is found by this." : "");
    none.hidden = none.textContent === "";
    setText(hint, state.hint);
    hint.hidden = state.hint === "";
    const shown = new Set(mapsInView(state));
    const fill = (/** @type {HTMLElement} */ list, /** @type {import("../sheet-list.js").Place[]} */ places, /** @type {State} */ state) =>
      reconcile(list, places, ({ map }) => map.id, (place) => makeItem(place, parts), (item, place) => updateItem(item, place, state, { shown, common: common.text, draw }));
    /** @type {[HTMLElement, HTMLElement|null, import("../sheet-list.js").Place[]][]} */
    const lists = [[elements, null, sheet.elements], [auxiliary, auxiliary_title, sheet.auxiliary], [made, made_title, sheet.made]];
    for (const [list, title, places] of lists) {
      list.hidden = places.length === 0;
      if (title !== null) title.hidden = list.hidden;
      fill(list, places, state);
    }
    reconcile(scans, sheet.scans, ({ field }) => String(field), makeScan, (part, { field, places }) => {
      const scan = state.fields.find((one) => one.field === field);
      const label = scan?.label ?? scanWord(field);
      setText(partOf(part, ".sheet-title"), capital(label));
      const align = /** @type {HTMLButtonElement} */ (partOf(part, ".sheet-align"));
      align.dataset.scan = String(field);
      align.disabled = scan === undefined;
      setAttribute(align, "aria-label", `Align the ${label}`);
      const said = scan?.alignment ? scan.alignment.trouble || scan.alignment.text : "";
      setText(partOf(part, ".sheet-photo"), said);
      partOf(part, ".sheet-photo").hidden = said === "";
      fill(/** @type {HTMLUListElement} */ (partOf(part, ".sheet-list")), places, state);
    });
    photos_title.hidden = photos.hidden = state.photos.length === 0;
    setText(photos_title, state.photos.length === 1 ? "Photo" : "Photos");
    reconcile(photos, state.photos, ({ id }) => id, (/** @type {PhotoSummary} */ { id }) =>
      el("li", { class: "sheet-item" }, [
        el("button", { class: "sheet-picture", attrs: { type: "button" }, on: { click: () => send({ type: "choose_photo", id }) } }, [el("canvas", { class: "sheet-canvas" })]),
        el("p", { class: "sheet-file" }), el("p", { class: "sheet-photo" }),
        el("button", { class: "word-button sheet-align", text: "Align", attrs: { type: "button" }, on: { click: () => send({ type: "open_aligning", photo: id }) } }),
      ]),
    (item, photo) => {
      const on = state.mode === "photo" && state.photo === photo.id;
      const picture = partOf(item, ".sheet-picture");
      setAttribute(picture, "aria-label", `Show the photo ${photo.name}`);
      setAttribute(picture, "aria-pressed", String(on));
      item.classList.toggle("sheet-item-shown", on);
      setText(partOf(item, ".sheet-file"), photo.name);
      setText(partOf(item, ".sheet-photo"), photo.text ?? "");
      const align = partOf(item, ".sheet-align");
      align.hidden = !has_maps;
      align.dataset.photo = photo.id;
      setAttribute(align, "aria-label", `Align ${photo.name}`);
      draw(/** @type {HTMLCanvasElement} */ (partOf(item, ".sheet-canvas")), { photo: photo.id }, photo, 1);
    });
  }
  return { update };
}
