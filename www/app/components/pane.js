// One view: a picture on a canvas that is moved, enlarged and read. Several of them share a link, so that they move and point together.

import { el, setAttribute, setText } from "../dom.js";
import { inCells, pan, reveal, toCanvas, toMap, windowOf, zoom } from "../camera.js";
import { newestOnly } from "../newest.js";
import { createPace } from "../pace.js";
import { asProblem } from "../protocol.js";
import { followPointer } from "./pointer.js";

/** @typedef {import("../state.js").Target} Target */
/** @typedef {import("../camera.js").Camera} Camera */
/** @typedef {import("../link.js").Link} Link */
/** @typedef {import("../types.js").Picture} Picture */
/** @typedef {import("../types.js").PictureSettings} PictureSettings */
/** @typedef {import("../types.js").ViewWindow} ViewWindow */
/** @typedef {{target: Target, view: ViewWindow, share: number}} Wanted */
/** @typedef {{colour: string, text: string}} CaptionPart */

/** What a pane tells the view. `pictured`: its picture has changed; `moved`: all panes have to be drawn again; `read`: the values at a
 * place are wanted, aloud if the keyboard went there; `left`: nothing is pointed at any more.
 * `over`: what lies over the picture is to be painted.
 * @typedef {{activate: () => void, over: (pen: CanvasRenderingContext2D, camera: Camera, target: Target) => void, pictured: () => void, moved: () => void, pointed: () => void,
 *   read: (x: number, y: number, aloud: boolean) => void, left: () => void}} Hooks */

/** @typedef {{element: HTMLElement, stage: HTMLElement, canvas: HTMLCanvasElement, camera: () => Camera, reveal: (x: number, y: number) => void, update: (next: Target|{message: string}, caption: CaptionPart[], active: boolean) => void,
 *   want: () => void, paint: () => void, picture: () => {picture: Picture, settled: boolean}|null, target: () => Target|null, window: () => ViewWindow|null,
 *   zoom_by: (factor: number) => void, refit: () => void, drop_cursor: () => void}} Pane */

const ZOOM_STEP = 1.25;
/** A picture that can only be moved at this share of its size takes so long that already the first one is asked for small. */
const AT_ONCE = 1 / 4;
/** After this rest a picture that was drawn small for speed is drawn in full. */
const REST_MS = 120;

/** @param {number} number from 0 @param {Link} link @param {(settings: PictureSettings) => Promise<Picture>} draw @param {Hooks} hooks
 * @returns {Pane} */
export function createPane(number, link, draw, hooks) {
  const canvas = el("canvas", { class: "view-canvas", attrs: { tabindex: 0, role: "application", "aria-describedby": "view-help" }, on: { focus: hooks.activate, pointerdown: hooks.activate } });
  const message = el("p", { class: "view-message", attrs: { role: "status" } });
  const stage = el("div", { class: "view-stage" }, [canvas, message]);
  const caption = el("p", { class: "pane-caption" });
  const element = el("div", { class: "pane" }, [caption, stage]);
  const pen = /** @type {CanvasRenderingContext2D} */ (canvas.getContext("2d"));
  const pace = createPace();

  /** @type {Target|null} */
  let target = null;
  /** @type {{bitmap: HTMLCanvasElement, picture: Picture, wanted: Wanted}|null} */
  let shown = null;
  /** The last picture could not be drawn. */
  let failed = false;
  let last_change = -Infinity;
  /** @type {ReturnType<typeof setTimeout>|undefined} */
  let resting;

  const camera = () => link.camera(/** @type {Target} */ (target), canvas);

  // ---- the picture ----

  const pictures = newestOnly(
    async (/** @type {Wanted} */ { target: { settings, cell }, view, share }) => {
      const begin = performance.now();
      const picture = await draw({ ...settings, view: inCells(view, cell) });
      pace.took(performance.now() - begin, share);
      return picture;
    },
    (picture, wanted) => {
      if (target?.plane !== wanted.target.plane) return;
      const bitmap = el("canvas");
      bitmap.width = picture.width;
      bitmap.height = picture.height;
      bitmap.getContext("2d")?.putImageData(new ImageData(new Uint8ClampedArray(picture.rgba), picture.width, picture.height), 0, 0);
      failed = false;
      shown = { bitmap, picture, wanted };
      say("");
      setAttribute(canvas, "aria-label", picture.caption);
      canvas.dataset.shown = wanted.target.fingerprint;
      hooks.pictured();
      paint();
    },
    (thrown) => {
      failed = true;
      shown = null;
      hooks.pictured();
      say(asProblem(thrown).message);
      paint();
    },
  );

  function say(/** @type {string} */ text) {
    setText(message, text);
    message.hidden = text === "";
  }

  /** The picture of what is to be seen now; smaller while things change faster than it could be drawn. */
  function want() {
    if (target === null || element.hidden || canvas.width < 2 || canvas.height < 2) return;
    paint();
    const now = performance.now();
    const moving = now - last_change < REST_MS;
    last_change = now;
    const share = pace.share();
    ask(moving || share <= AT_ONCE ? share : 1);
  }

  function ask(/** @type {number} */ share) {
    if (target === null) return;
    clearTimeout(resting);
    if (share < 1) resting = setTimeout(() => ask(1), REST_MS);
    const view = windowOf(camera(), canvas, share);
    if (shown && shown.wanted.target.fingerprint === target.fingerprint && JSON.stringify(shown.wanted.view) === JSON.stringify(view)) return;
    pictures.ask({ target, view, share });
  }

  /** The last picture at once, moved to where it now belongs; the core's own picture of this window replaces it. */
  function paint() {
    pen.clearRect(0, 0, canvas.width, canvas.height);
    if (target === null) return;
    const now = camera();
    if (shown && shown.wanted.target.plane === target.plane) {
      const { view } = shown.wanted;
      const [x, y] = toCanvas(now, view.x, view.y, canvas);
      const [right, bottom] = toCanvas(now, view.x + view.width, view.y + view.height, canvas);
      pen.imageSmoothingEnabled = false;
      // A hair's breadth off the pixel grid would blur or double single columns.
      const [left, top] = [Math.round(x), Math.round(y)];
      pen.drawImage(shown.bitmap, left, top, Math.round(right) - left, Math.round(bottom) - top);
    }
    hooks.over(pen, now, target);
    const { pointed, cursor } = link;
    if (cursor?.plane === target.plane) drawCursor(now, cursor);
    if (pointed?.plane === target.plane && link.pointed_in !== number) drawCross(now, pointed);
  }

  /** Light on dark, so that it is seen on any ground. @param {() => void} draw_it */
  function twice(draw_it) {
    for (const [style, width] of /** @type {const} */ ([["#000", 4], ["#fff", 2]])) {
      pen.strokeStyle = style;
      pen.lineWidth = width * devicePixelRatio;
      draw_it();
    }
  }

  /** A box around the pixel that the keyboard reads. @param {Camera} now @param {{x: number, y: number}} at */
  function drawCursor(now, at) {
    const [x, y] = toCanvas(now, at.x + 0.5, at.y + 0.5, canvas);
    const half = (/** @type {number} */ scale) => Math.max(scale / 2 + 2, 7 * devicePixelRatio);
    const [across, down] = [half(now.scale), half(now.scale * now.aspect)];
    twice(() => pen.strokeRect(x - across, y - down, 2 * across, 2 * down));
  }

  /** Where another view is pointed at; open in the middle, so that the pixel stays to be seen. @param {Camera} now @param {{x: number, y: number}} at */
  function drawCross(now, at) {
    const [x, y] = toCanvas(now, at.x, at.y, canvas);
    const [from, to] = [5 * devicePixelRatio, 16 * devicePixelRatio];
    twice(() => {
      pen.beginPath();
      for (const [dx, dy] of /** @type {const} */ ([[1, 0], [-1, 0], [0, 1], [0, -1]])) {
        pen.moveTo(x + dx * from, y + dy * from);
        pen.lineTo(x + dx * to, y + dy * to);
      }
      pen.stroke();
    });
  }

  // ---- moving ----

  function move(/** @type {Camera} */ next) {
    if (target === null) return;
    link.look(target.plane, next);
    hooks.moved();
  }
  function zoomBy(/** @type {number} */ factor, at_x = canvas.width / 2, at_y = canvas.height / 2) {
    if (target !== null) move(zoom(camera(), factor, at_x, at_y, target, canvas));
  }
  function panBy(/** @type {number} */ dx, /** @type {number} */ dy) {
    if (target !== null) move(pan(camera(), dx, dy, target));
  }
  function refit() {
    if (target === null) return;
    link.refit(target.plane);
    hooks.moved();
  }

  // ---- reading ----

  function readAt(/** @type {number} */ at_x, /** @type {number} */ at_y) {
    if (target === null) return;
    const [x, y] = toMap(camera(), at_x, at_y, canvas);
    if (x < 0 || y < 0 || x >= target.width || y >= target.height) return leave();
    link.pointed = { plane: target.plane, x, y };
    link.pointed_in = number;
    hooks.pointed();
    if (target.readable) hooks.read(x, y, false);
    else hooks.left();
  }

  function leave() {
    link.pointed = null;
    hooks.pointed();
    hooks.left();
  }

  function stepCursor(/** @type {number} */ dx, /** @type {number} */ dy) {
    if (target === null || !target.readable) return;
    const { width, height, plane } = target;
    const inside = (/** @type {number} */ at, /** @type {number} */ length) => Math.min(length - 1, Math.max(0, Math.floor(at)));
    const had = link.cursor?.plane === plane ? link.cursor : null;
    const cursor = had === null ? { plane, x: inside(camera().x, width), y: inside(camera().y, height) } : { plane, x: inside(had.x + dx, width), y: inside(had.y + dy, height) };
    link.cursor = cursor;
    show(cursor.x + 0.5, cursor.y + 0.5);
    hooks.read(cursor.x + 0.5, cursor.y + 0.5, true);
  }

  /** @param {number} x in pixels of the plane @param {number} y */
  function show(x, y) {
    if (target === null) return;
    const before = camera();
    const next = reveal(before, x, y, target, canvas);
    if (next !== before) link.look(target.plane, next);
    hooks.moved();
  }

  function dropCursor() {
    link.cursor = null;
    hooks.pointed();
    hooks.left();
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
    else if (event.key === "Escape" && link.cursor !== null) dropCursor();
    else return;
    event.preventDefault();
    event.stopPropagation();
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

  function update(/** @type {Target|{message: string}} */ next, /** @type {CaptionPart[]} */ parts, /** @type {boolean} */ active) {
    element.classList.toggle("pane-active", active);
    showCaption(parts);
    if ("message" in next) {
      target = null;
      shown = null;
      pictures.forget();
      clearTimeout(resting);
      delete canvas.dataset.shown;
      setAttribute(canvas, "aria-label", next.message);
      say(next.message);
      hooks.pictured();
      paint();
      return;
    }
    // What could not be drawn may be there by now: an answer that was asked again after the maps were turned.
    if (!failed && target?.fingerprint === next.fingerprint && target.plane === next.plane) return;
    failed = false;
    if (target?.plane !== next.plane) {
      shown = null;
      hooks.pictured();
    }
    target = next;
    say("");
    want();
  }

  function showCaption(/** @type {CaptionPart[]} */ parts) {
    const said = JSON.stringify(parts);
    if (caption.dataset.said === said) return;
    caption.dataset.said = said;
    caption.replaceChildren(...parts.map(({ colour, text }) => {
      const dot = el("span", { class: "pane-dot" });
      dot.style.backgroundColor = colour;
      return el("span", { class: "pane-part" }, colour === "" ? [text] : [dot, text]);
    }));
  }

  return {
    element, stage, canvas, camera, reveal: show, update, want, paint, refit,
    picture: () => (shown === null ? null : { picture: shown.picture, settled: shown.wanted.share === 1 }),
    target: () => target,
    window: () => (target === null ? null : windowOf(camera(), canvas)),
    zoom_by: zoomBy,
    drop_cursor: dropCursor,
  };
}
