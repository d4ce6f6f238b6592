// One of the two pictures in which matching points are set: the photo in its own pixels, or the maps. By mouse, pen, touch or keys.

import { toCanvas, toMap } from "../../camera.js";
import { across, chosen, chosenNext, edgeChosen, edgePlaced, endOf, isFull, left, moved, placed, proposedPlace, removed, waiting } from "../../aligning-state.js";
import { el, setAttribute } from "../../dom.js";
import { createLink } from "../../link.js";
import { createPane } from "../pane.js";
import { paintMarks } from "./marks.js";

/** @typedef {import("../../aligning-state.js").Aligning} Aligning */
/** @typedef {import("../../aligning-state.js").Side} Side */
/** @typedef {import("../../plane.js").Place} Place */
/** @typedef {import("../../types.js").ObjectText} ObjectText */
/** What the sides share. `edit`: what is set is this by now; `cursor`: where keys or the pointer are on a side; `over`: the other side has the focus
 * from here on; `close`: the place is left.
 * @typedef {{aligning: () => Aligning|null, object: () => ObjectText|null, edit: (next: Aligning) => void, cursor: (side: Side) => Place|null,
 *   go: (side: Side, at: Place, by_keys: boolean) => void, by_keys: () => boolean, active: () => Side, activate: (side: Side) => void,
 *   over: (side: Side) => void, redraw: () => void, leave: () => void}} Desk */
/** @typedef {{side: Side, pane: import("../pane.js").Pane, element: HTMLElement, shift: (by: Place) => void}} AlignSide */

const MARGIN = 8;
/** How far off the hand may be, in pixels of the page. */
const REACH = 10;
const REACH_OF_A_FINGER = 20;
/** A press that moves no farther sets a point. */
const STILL = 4;
/** The cursor goes about so far with an arrow, in pixels of the page. */
const STRIDE = 8;

/** A step of the cursor: 1, 2, 5, 10 ... pixels of the picture. @param {number} scale canvas pixels for one */
export function strideOf(scale) {
  const wanted = Math.max(1, (STRIDE * devicePixelRatio) / scale);
  const ten = 10 ** Math.floor(Math.log10(wanted));
  return [1, 2, 5, 10].map((step) => step * ten).find((step) => step >= wanted - 1e-9) ?? wanted;
}

/** @param {Side} side @param {number} number of the pane @param {(settings: import("../../types.js").PictureSettings) => Promise<import("../../types.js").Picture>} picture @param {Desk} desk
 * @returns {AlignSide} */
export function createAlignSide(side, number, picture, desk) {
  const link = createLink(() => MARGIN * devicePixelRatio);
  const pane = createPane(number, link, picture, {
    activate: () => desk.activate(side),
    over(pen, camera) {
      const aligning = desk.aligning();
      if (aligning === null) return;
      const is_active = desk.active() === side;
      const cursor = desk.by_keys() && is_active && (aligning.chosen === null || waiting(aligning) >= 0) && aligning.edges?.chosen == null ? here() : null;
      paintMarks(pen, camera, { aligning, side, object: desk.object(), cursor });
    },
    pictured: () => {},
    moved: () => {
      pane.want();
      desk.redraw();
    },
    pointed: () => pane.paint(),
    read: () => {},
    left: () => {},
  });
  const { canvas, stage } = pane;
  setAttribute(canvas, "aria-describedby", "aligning-said");
  const element = el("div", { class: "aligning-side-pane" }, [pane.element]);

  /** Where the keys are here; at first in the middle. @returns {Place} */
  function here() {
    const { x, y } = pane.camera();
    return desk.cursor(side) ?? inside([Math.round(x), Math.round(y)]);
  }

  /** @param {Place} at
   * @returns {Place} */
  function inside([x, y]) {
    const { width = 1, height = 1 } = pane.target() ?? {};
    return [Math.min(width, Math.max(0, x)), Math.min(height, Math.max(0, y))];
  }

  /** A place that is set here, of a point or of the object's edges. @param {Aligning} aligning @param {Place} at
   * @returns {Aligning} */
  function set(aligning, at) {
    if (aligning.edges === null) return placed(aligning, side, at);
    const on_grid = side === "maps" ? at : across(aligning, "photo", at);
    return on_grid === null ? aligning : edgePlaced(aligning, on_grid, side === "photo");
  }

  /** What can be taken hold of here. @param {Aligning} aligning
   * @returns {(Place|null)[]} */
  function handles(aligning) {
    if (aligning.edges !== null) return aligning.edges.places.map((at) => (side === "maps" ? at : across(aligning, "maps", at)));
    return aligning.points.map((point) => point[endOf(side)]);
  }

  /** @param {Aligning} aligning @param {number|null} index */
  const choose = (aligning, index) => (aligning.edges === null ? chosen(aligning, index) : edgeChosen(aligning, index));
  /** @param {Aligning} aligning @param {number} index @param {Place} at */
  const move = (aligning, index, at) => (aligning.edges === null ? moved(aligning, index, side, at) : set(edgeChosen(aligning, index), at));
  const held = (/** @type {Aligning} */ aligning) => (aligning.edges === null ? aligning.chosen : aligning.edges.chosen);

  /** What is chosen, or the cursor, goes by so many pixels of this picture. @param {Place} by */
  function shift([dx, dy]) {
    const aligning = desk.aligning();
    if (aligning === null || pane.target() === null) return;
    const index = held(aligning);
    const at = index === null ? null : handles(aligning)[index] ?? null;
    if (index !== null && at !== null) {
      const to = inside(fine([at[0] + dx, at[1] + dy]));
      desk.edit(move(aligning, index, to));
      pane.reveal(...to);
    } else {
      const [x, y] = here();
      const to = inside(fine([x + dx, y + dy]));
      desk.go(side, to, true);
      pane.reveal(...to);
    }
  }

  // ---- the hand ----

  /** @param {PointerEvent} event
   * @returns {Place} */
  function under(event) {
    const box = canvas.getBoundingClientRect();
    return toMap(pane.camera(), (event.clientX - box.left) * devicePixelRatio, (event.clientY - box.top) * devicePixelRatio, canvas);
  }

  /** @param {Aligning} aligning @param {PointerEvent} event */
  function nearest(aligning, event) {
    const box = canvas.getBoundingClientRect();
    const [x, y] = [(event.clientX - box.left) * devicePixelRatio, (event.clientY - box.top) * devicePixelRatio];
    const far = handles(aligning).map((at) => {
      if (at === null) return Infinity;
      const [ax, ay] = toCanvas(pane.camera(), ...at, canvas);
      return Math.hypot(ax - x, ay - y);
    });
    const most = (event.pointerType === "touch" ? REACH_OF_A_FINGER : REACH) * devicePixelRatio;
    const least = Math.min(...far);
    return least <= most ? far.indexOf(least) : -1;
  }

  /** @type {{pointer: number, index: number, off: Place, x: number, y: number, still: boolean}|null} */
  let press = null;
  stage.addEventListener("pointerdown", (event) => {
    const aligning = desk.aligning();
    if (aligning === null || pane.target() === null || event.button !== 0 || !event.isPrimary) return;
    const index = nearest(aligning, event);
    const at = handles(aligning)[index] ?? null;
    const [x, y] = under(event);
    press = { pointer: event.pointerId, index, off: at === null ? [0, 0] : [at[0] - x, at[1] - y], x: event.clientX, y: event.clientY, still: true };
    if (at === null) return;
    // What takes hold of a point does not move the picture.
    desk.activate(side);
    canvas.setPointerCapture(event.pointerId);
    canvas.focus({ preventScroll: true, focusVisible: false });
    event.preventDefault();
    event.stopPropagation();
    desk.edit(choose(aligning, index));
  }, true);
  stage.addEventListener("pointermove", (event) => {
    const aligning = desk.aligning();
    if (aligning === null || pane.target() === null || !event.isPrimary) return;
    if (press === null) {
      canvas.classList.toggle("view-grips", nearest(aligning, event) >= 0);
      if (event.buttons === 0) desk.go(side, inside(under(event)), false);
      return;
    }
    if (Math.hypot(event.clientX - press.x, event.clientY - press.y) > STILL) press.still = false;
    if (press.index < 0 || press.still) return;
    event.stopPropagation();
    const [x, y] = under(event);
    desk.edit(move(aligning, press.index, inside(fine([x + press.off[0], y + press.off[1]]))));
  }, true);
  const up = (/** @type {PointerEvent} */ event) => {
    const aligning = desk.aligning();
    if (press === null || press.pointer !== event.pointerId) return;
    const { index, still } = press;
    press = null;
    if (aligning === null || !still || event.type === "pointercancel" || index >= 0) return;
    const at = under(event);
    const target = pane.target();
    if (target === null || at[0] < 0 || at[1] < 0 || at[0] > target.width || at[1] > target.height) return;
    desk.go(side, fine(at), false);
    desk.edit(set(aligning, fine(at)));
  };
  stage.addEventListener("pointerup", up, true);
  stage.addEventListener("pointercancel", up, true);

  // ---- the keys ----

  function enter() {
    const aligning = desk.aligning();
    if (aligning === null) return;
    const point = aligning.chosen === null ? undefined : aligning.points[aligning.chosen];
    const sets = aligning.edges === null ? point === undefined || !isFull(point) : aligning.edges.places.length < 3;
    // Nothing is set where no cross could be seen before.
    if (sets && !desk.by_keys()) return desk.go(side, here(), true);
    if (aligning.edges !== null) return desk.edit(aligning.edges.places.length < 3 ? set(aligning, here()) : edgeChosen(aligning, aligning.edges.chosen === null ? 0 : null));
    if (point !== undefined && isFull(point)) {
      const at = point[endOf(side)];
      if (at !== null) desk.go(side, at, true);
      return desk.edit(chosen(aligning, null));
    }
    const next = placed(aligning, side, here());
    desk.edit(next);
    // The other place is what comes next, and the focus waits for it there.
    if (waiting(next) < 0) return;
    const proposed = proposedPlace(next);
    const there = side === "photo" ? "maps" : "photo";
    if (proposed !== null) desk.go(there, [fine1(proposed[0]), fine1(proposed[1])], true);
    desk.over(there);
  }

  stage.addEventListener("keydown", (event) => {
    const aligning = desk.aligning();
    if (aligning === null || pane.target() === null || event.ctrlKey || event.metaKey || event.altKey) return;
    const arrow = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] }[event.key];
    const index = held(aligning);
    const is_held = index !== null && (handles(aligning)[index] ?? null) !== null;
    if (arrow) {
      const step = is_held ? (event.shiftKey ? 0.1 : 1) : event.shiftKey ? 1 : strideOf(pane.camera().scale);
      const [dx = 0, dy = 0] = arrow;
      shift([dx * step, dy * step]);
    } else if (event.key === "Enter" || event.key === " ") enter();
    else if (event.key === "]" || event.key === "n") desk.edit(next(aligning, 1));
    else if (event.key === "[" || event.key === "p") desk.edit(next(aligning, -1));
    else if (event.key === "Delete" || event.key === "Backspace") desk.edit(aligning.edges === null ? removed(aligning, aligning.chosen) : aligning);
    else if (event.key === "Escape") {
      if (aligning.edges !== null && aligning.edges.chosen !== null) desk.edit(edgeChosen(aligning, null));
      else if (aligning.edges !== null) desk.edit({ ...aligning, edges: null });
      else if (aligning.chosen !== null || waiting(aligning) >= 0) desk.edit(left(aligning));
      else desk.leave();
    } else return;
    event.preventDefault();
    event.stopPropagation();
  }, true);

  /** The next point, or mark of the edges, with both its places in sight. @param {Aligning} aligning @param {1|-1} step
   * @returns {Aligning} */
  function next(aligning, step) {
    if (aligning.edges === null) return chosenNext(aligning, step);
    const { length } = aligning.edges.places;
    return length === 0 ? aligning : edgeChosen(aligning, ((aligning.edges.chosen ?? (step === 1 ? -1 : length)) + step + length) % length);
  }

  return { side, pane, element, shift };
}

/** Places are kept to a hundredth of a pixel: finer than anybody can set them. @param {Place} at
 * @returns {Place} */
function fine([x, y]) {
  return [fine1(x), fine1(y)];
}

const fine1 = (/** @type {number} */ v) => Math.round(v * 100) / 100;
