// The large picture in its neutral surround: pan, zoom, read-out, and the pixel cursor of the keyboard.

import { el, reconcile, setAttribute, setText } from "../dom.js";
import { fit, pan, reveal, toCanvas, toMap, windowOf, zoom } from "../camera.js";
import { newestOnly } from "../newest.js";
import { asProblem } from "../protocol.js";
import { mapsInView, targetOf } from "../state.js";
import { createKey } from "./key.js";
import { createReadOut } from "./read-out.js";
import { createSubject } from "./subject.js";
import { followPointer } from "./pointer.js";

/** @typedef {import("../state.js").State} State */
/** @typedef {import("../state.js").Mode} Mode */
/** @typedef {import("../camera.js").Camera} Camera */
/** @typedef {import("../types.js").Picture} Picture */
/** @typedef {import("../types.js").PictureSettings} PictureSettings */
/** @typedef {import("../types.js").ViewWindow} ViewWindow */
/** @typedef {import("../types.js").ReadOut} ReadOut */
/** @typedef {Exclude<ReturnType<typeof targetOf>, {message: string}>} Target */
/** @typedef {{target: Target, view: ViewWindow}} Wanted */
/** @typedef {{picture: (settings: PictureSettings) => Promise<Picture>, read_out: (x: number, y: number) => Promise<ReadOut>}} Services */

/** @type {{mode: Mode, text: string}[]} */
const MODES = [{ mode: "map", text: "Map" }, { mode: "overlay", text: "Overlay" }, { mode: "answer", text: "Answer" }];
const MARGIN = 20;
const ZOOM_STEP = 1.25;

/** @param {HTMLElement} root @param {import("../controller.js").Send} send @param {Services} services
 * @returns {{update: (state: State) => void}} */
export function createView(root, send, services) {
  const modes = el("div", { class: "view-switch", attrs: { role: "group", "aria-label": "The view shows" } });
  const act = (/** @type {string} */ text, /** @type {string} */ label, /** @type {() => void} */ run) =>
    el("button", { class: "view-zoom-button", text, attrs: { type: "button", "aria-label": label, title: label }, on: { click: run } });
  const subject_root = el("div", { class: "subject" });
  const read = el("div", { class: "view-read" });
  const canvas = el("canvas", { class: "view-canvas", attrs: { tabindex: 0, role: "application", "aria-describedby": "view-help" } });
  const message = el("p", { class: "view-message", attrs: { role: "status" } });
  const stage = el("div", { class: "view-stage" }, [canvas, message]);
  const foot = el("div", { class: "view-foot" });
  const spoken = el("p", { class: "visually-hidden", attrs: { "aria-live": "polite" } });
  root.append(
    el("div", { class: "view-bar" }, [
      modes, subject_root,
      el("div", { class: "view-zoom", attrs: { role: "group", "aria-label": "Zoom" } }, [
        act("−", "Smaller", () => zoomBy(1 / ZOOM_STEP)), act("Fit", "Fit the whole picture", refit), act("+", "Larger", () => zoomBy(ZOOM_STEP)),
      ]),
    ]),
    read, stage, foot, spoken,
  );
  const key = createKey(foot, send);
  const subject = createSubject(subject_root, send);
  const read_out = createReadOut(read);
  const pen = /** @type {CanvasRenderingContext2D} */ (canvas.getContext("2d"));

  /** @type {Target|null} */
  let target = null;
  /** @type {{bitmap: HTMLCanvasElement, wanted: Wanted}|null} */
  let shown = null;
  /** One camera for each plane: maps and answers share theirs, a photo has its own. @type {Map<string, Camera>} */
  const cameras = new Map();
  /** @type {Set<string>} */
  let in_view = new Set();
  /** The pixel that the keyboard reads. @type {{x: number, y: number}|null} */
  let cursor = null;

  const camera = () => {
    const { plane } = /** @type {Target} */ (target);
    const had = cameras.get(plane);
    if (had && !had.fitted) return had;
    const now = fit(/** @type {Target} */ (target), canvas, MARGIN * devicePixelRatio);
    cameras.set(plane, now);
    return now;
  };

  // ---- the picture ----

  const pictures = newestOnly(
    (/** @type {Wanted} */ { target: { settings }, view }) => services.picture({ ...settings, view }),
    (picture, wanted) => {
      if (target?.plane !== wanted.target.plane) return;
      const bitmap = el("canvas");
      bitmap.width = picture.width;
      bitmap.height = picture.height;
      bitmap.getContext("2d")?.putImageData(new ImageData(new Uint8ClampedArray(picture.rgba), picture.width, picture.height), 0, 0);
      shown = { bitmap, wanted };
      say("");
      setAttribute(canvas, "aria-label", picture.caption);
      canvas.dataset.shown = wanted.target.fingerprint;
      key.show(picture);
      paint();
    },
    (thrown) => {
      shown = null;
      key.show(null);
      say(asProblem(thrown).message);
      paint();
    },
  );

  function say(/** @type {string} */ text) {
    setText(message, text);
    message.hidden = text === "";
  }

  function want() {
    if (target === null || canvas.width < 2 || canvas.height < 2) return;
    const view = windowOf(camera(), canvas);
    paint();
    if (shown && shown.wanted.target.fingerprint === target.fingerprint && JSON.stringify(shown.wanted.view) === JSON.stringify(view)) return;
    pictures.ask({ target, view });
  }

  /** The last picture at once, moved to where it now belongs; the core's own picture of this window replaces it. */
  function paint() {
    pen.clearRect(0, 0, canvas.width, canvas.height);
    if (target === null) return;
    const now = camera();
    if (shown && shown.wanted.target.plane === target.plane) {
      const { view } = shown.wanted;
      const [x, y] = toCanvas(now, view.x, view.y, canvas);
      const width = view.width * now.scale;
      pen.imageSmoothingEnabled = false;
      // A hair's breadth off the pixel grid would blur or double single columns.
      pen.drawImage(shown.bitmap, Math.round(x), Math.round(y), Math.round(width), Math.round((width * shown.bitmap.height) / shown.bitmap.width));
    }
    if (cursor !== null) drawCursor(now, cursor);
  }

  /** A box around the pixel, light and dark, so that it is seen on any ground. @param {Camera} now @param {{x: number, y: number}} at */
  function drawCursor(now, at) {
    const [x, y] = toCanvas(now, at.x + 0.5, at.y + 0.5, canvas);
    const half = Math.max(now.scale / 2 + 2, 7 * devicePixelRatio);
    for (const [style, width] of /** @type {const} */ ([["#000", 4], ["#fff", 2]])) {
      pen.strokeStyle = style;
      pen.lineWidth = width * devicePixelRatio;
      pen.strokeRect(x - half, y - half, 2 * half, 2 * half);
    }
  }

  // ---- moving ----

  function move(/** @type {Camera} */ next) {
    if (target === null) return;
    cameras.set(target.plane, next);
    want();
  }
  function zoomBy(/** @type {number} */ factor, at_x = canvas.width / 2, at_y = canvas.height / 2) {
    if (target !== null) move(zoom(camera(), factor, at_x, at_y, target, canvas));
  }
  function panBy(/** @type {number} */ dx, /** @type {number} */ dy) {
    if (target !== null) move(pan(camera(), dx, dy, target));
  }
  function refit() {
    if (target === null) return;
    cameras.delete(target.plane);
    want();
  }

  // ---- reading ----

  const reading = newestOnly(
    (/** @type {{x: number, y: number, aloud: boolean}} */ { x, y }) => services.read_out(x, y),
    (got, { aloud }) => {
      read_out.show(got);
      if (!aloud) return;
      const shown_values = got.values.filter(({ map }) => in_view.size === 0 || in_view.has(map));
      setText(spoken, [got.text, ...shown_values.map(({ label, text }) => `${label} ${text}`)].join(", "));
    },
    (thrown) => {
      read_out.show({ text: asProblem(thrown).message, values: [] });
    },
  );

  function readAt(/** @type {number} */ at_x, /** @type {number} */ at_y) {
    if (target === null || !target.readable) return read_out.show(null);
    const [x, y] = toMap(camera(), at_x, at_y, canvas);
    if (x < 0 || y < 0 || x >= target.width || y >= target.height) return leave();
    reading.ask({ x, y, aloud: false });
  }
  /** The pointer is gone: the keyboard's pixel is read again, if there is one. */
  function leave() {
    reading.forget();
    if (cursor === null || target === null || !target.readable) read_out.show(null);
    else reading.ask({ x: cursor.x + 0.5, y: cursor.y + 0.5, aloud: false });
  }

  function stepCursor(/** @type {number} */ dx, /** @type {number} */ dy) {
    if (target === null || !target.readable) return;
    const { width, height } = target;
    const inside = (/** @type {number} */ at, /** @type {number} */ length) => Math.min(length - 1, Math.max(0, Math.floor(at)));
    cursor = cursor === null ? { x: inside(camera().x, width), y: inside(camera().y, height) } : { x: inside(cursor.x + dx, width), y: inside(cursor.y + dy, height) };
    cameras.set(target.plane, reveal(camera(), cursor.x + 0.5, cursor.y + 0.5, target, canvas));
    want();
    reading.ask({ x: cursor.x + 0.5, y: cursor.y + 0.5, aloud: true });
  }

  function dropCursor() {
    cursor = null;
    setText(spoken, "");
    leave();
    paint();
  }

  canvas.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    const arrow = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] }[event.key];
    const tenth = Math.min(canvas.width, canvas.height) / 10;
    if (arrow) {
      const [dx = 0, dy = 0] = arrow;
      if (event.shiftKey) stepCursor(dx, dy);
      else panBy(-dx * tenth, -dy * tenth);
    } else if (event.key === "+" || event.key === "=") zoomBy(ZOOM_STEP);
    else if (event.key === "-" || event.key === "−") zoomBy(1 / ZOOM_STEP);
    else if (event.key === "0") refit();
    else if (event.key === "Escape" && cursor !== null) dropCursor();
    else return;
    event.preventDefault();
  });
  followPointer(canvas, { pan: panBy, zoom: zoomBy, at: readAt, leave });

  new ResizeObserver(() => {
    const width = Math.round(stage.clientWidth * devicePixelRatio);
    const height = Math.round(stage.clientHeight * devicePixelRatio);
    if (width === canvas.width && height === canvas.height) return;
    canvas.width = width;
    canvas.height = height;
    want();
  }).observe(stage);

  // ---- state ----

  return {
    update(state) {
      root.hidden = state.maps.length + state.photos.length === 0;
      const here = state.mode === "photo" ? [...MODES, { mode: /** @type {Mode} */ ("photo"), text: "Photo" }] : MODES;
      reconcile(modes, here, ({ mode }) => mode, ({ mode, text }) =>
        el("button", { class: "view-switch-button", text, attrs: { type: "button" }, on: { click: () => send({ type: "choose_mode", mode }) } }),
      (button, { mode }) => setAttribute(button, "aria-pressed", String(state.mode === mode)));
      in_view = new Set(mapsInView(state));
      key.update(state);
      subject.update(state);
      const next = targetOf(state);
      read_out.update(state.maps, in_view, "message" in next || next.readable);
      if ("message" in next) {
        target = null;
        shown = null;
        pictures.forget();
        key.show(null);
        delete canvas.dataset.shown;
        setAttribute(canvas, "aria-label", next.message);
        say(next.message);
        read_out.show(null);
        paint();
        return;
      }
      if (target?.fingerprint === next.fingerprint) return;
      if (target?.plane !== next.plane) {
        shown = null;
        cursor = null;
        read_out.show(null);
      }
      target = next;
      say("");
      want();
    },
  };
}
