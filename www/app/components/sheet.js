// The sheet: every map as a small picture with its line, its largest value, its light and its marks. Photos below.

import { el, reconcile, setAttribute, setText } from "../dom.js";
import { mapsInView } from "../state.js";

/** @typedef {import("../state.js").State} State */
/** @typedef {import("../types.js").MapSummary} MapSummary */
/** @typedef {import("../types.js").PhotoSummary} PhotoSummary */
/** @typedef {import("../types.js").PictureSettings} PictureSettings */
/** @typedef {import("../types.js").Picture} Picture */
/** @typedef {{picture: (settings: PictureSettings) => Promise<Picture>}} Services */

/** Width of a small picture in CSS pixels; drawn for the screen's own pixels. */
const THUMB_WIDTH = 150;

/** @param {HTMLElement} root @param {import("../controller.js").Send} send @param {Services} services
 * @returns {{update: (state: State) => void}} */
export function createSheet(root, send, services) {
  const maps = el("ul", { class: "sheet-list" });
  const photos = el("ul", { class: "sheet-list" });
  const maps_title = el("h2", { class: "sheet-title", text: "Maps" });
  const photos_title = el("h2", { class: "sheet-title", text: "Photos" });
  const hint = el("p", { class: "sheet-hint", attrs: { role: "status" } });
  root.append(maps_title, hint, maps, photos_title, photos);
  root.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.metaKey || event.altKey || event.shiftKey) return;
    const next = neighbour(root, event.key);
    if (next === null) return;
    event.preventDefault();
    next.focus();
  });
  const draw = thumbnails(services);

  function makeMap(/** @type {MapSummary} */ map) {
    const id = map.id;
    return el("li", { class: "sheet-item" }, [
      el("button", { class: "sheet-picture", attrs: { type: "button" }, on: { click: () => send({ type: "choose_map", id }) } }, [el("canvas", { class: "sheet-canvas" })]),
      el("div", { class: "sheet-line" }, [
        el("button", { class: "sheet-light", attrs: { type: "button" }, on: { click: () => send({ type: "toggle_light", id }) } }, [el("span", { class: "sheet-dot" })]),
        el("span", { class: "sheet-label" }),
        el("span", { class: "sheet-largest" }),
      ]),
      el("p", { class: "sheet-marks" }),
    ]);
  }

  function part(/** @type {HTMLElement} */ item, /** @type {string} */ name) {
    return /** @type {HTMLElement} */ (item.querySelector(name));
  }

  /** @param {State} state */
  function update(state) {
    root.hidden = state.maps.length + state.photos.length === 0;
    const shown = new Set(mapsInView(state));
    maps_title.hidden = maps.hidden = state.maps.length === 0;
    setText(hint, state.hint);
    hint.hidden = state.hint === "";
    reconcile(maps, state.maps, ({ id }) => id, makeMap, (item, map) => {
      const light = state.lights.find((one) => one?.map === map.id) ?? null;
      const picture = part(item, ".sheet-picture");
      setAttribute(picture, "aria-label", `Show ${map.label}`);
      setAttribute(picture, "aria-pressed", String(state.mode === "map" && state.map === map.id));
      picture.title = map.file;
      item.classList.toggle("sheet-item-shown", shown.has(map.id));
      const button = part(item, ".sheet-light");
      setAttribute(button, "aria-label", `${map.label} as a light`);
      setAttribute(button, "aria-pressed", String(light !== null));
      part(item, ".sheet-dot").style.setProperty("--light", light?.colour ?? "transparent");
      setText(part(item, ".sheet-label"), map.label);
      setText(part(item, ".sheet-largest"), map.largest);
      const marks = part(item, ".sheet-marks");
      setText(marks, map.marks.join(" · "));
      marks.hidden = map.marks.length === 0;
      draw(/** @type {HTMLCanvasElement} */ (part(item, ".sheet-canvas")), { map: map.id }, map);
    });
    photos_title.hidden = photos.hidden = state.photos.length === 0;
    setText(photos_title, state.photos.length === 1 ? "Photo" : "Photos");
    reconcile(photos, state.photos, ({ id }) => id, (/** @type {PhotoSummary} */ { id }) =>
      el("li", { class: "sheet-item" }, [
        el("button", { class: "sheet-picture", attrs: { type: "button" }, on: { click: () => send({ type: "choose_photo", id }) } }, [el("canvas", { class: "sheet-canvas" })]),
        el("p", { class: "sheet-file" }),
      ]),
    (item, photo) => {
      const on = state.mode === "photo" && state.photo === photo.id;
      const picture = part(item, ".sheet-picture");
      setAttribute(picture, "aria-label", `Show the photo ${photo.file}`);
      setAttribute(picture, "aria-pressed", String(on));
      item.classList.toggle("sheet-item-shown", on);
      setText(part(item, ".sheet-file"), photo.file);
      draw(/** @type {HTMLCanvasElement} */ (part(item, ".sheet-canvas")), { photo: photo.id }, photo);
    });
  }
  return { update };
}

/** What an arrow leads to from the focused picture or light: the same in the item beside, above or below. Tab goes through all of them;
 * in a large stack the arrows are shorter. @param {HTMLElement} root @param {string} key
 * @returns {HTMLElement|null} */
function neighbour(root, key) {
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

/** Draws small pictures one after the other, so that the large picture never waits for more than one of them.
 * @param {Services} services */
function thumbnails(services) {
  /** @type {WeakMap<HTMLCanvasElement, string>} */
  const drawn = new WeakMap();
  /** @type {Map<HTMLCanvasElement, {settings: PictureSettings, wanted: string}>} */
  const waiting = new Map();
  let busy = false;

  async function work() {
    busy = true;
    for (const [canvas, { settings, wanted }] of waiting) {
      waiting.delete(canvas);
      try {
        const { width, height, rgba } = await services.picture(settings);
        if (drawn.get(canvas) !== wanted) continue; // changed meanwhile, and waiting again
        canvas.width = width;
        canvas.height = height;
        canvas.getContext("2d")?.putImageData(new ImageData(new Uint8ClampedArray(rgba), width, height), 0, 0);
        canvas.dataset.state = "drawn";
      } catch {
        // The small picture says that it is missing; why, the large one says when it is asked for.
        canvas.dataset.state = "failed";
      }
    }
    busy = false;
  }

  /** @param {HTMLCanvasElement} canvas @param {{map: string}|{photo: string}} settings @param {MapSummary|PhotoSummary} size */
  return (canvas, settings, size) => {
    const out_width = Math.round(Math.min(THUMB_WIDTH * devicePixelRatio, 2 * size.width));
    const wanted = JSON.stringify([settings, size, out_width]);
    if (drawn.get(canvas) === wanted) return;
    drawn.set(canvas, wanted);
    if (canvas.dataset.state !== "drawn") {
      canvas.width = size.width;
      canvas.height = size.height;
    }
    waiting.set(canvas, { settings: { ...settings, view: { x: 0, y: 0, width: size.width, height: size.height, out_width } }, wanted });
    if (!busy) void work();
  };
}
