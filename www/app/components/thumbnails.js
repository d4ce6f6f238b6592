// Small pictures, drawn one after the other and only those in sight, so that a large stack is quick and the large picture never waits for
// more than one of them.

import { thumbSize } from "../thumb-size.js";

/** @typedef {import("../types.js").MapSummary} MapSummary */
/** @typedef {import("../types.js").PhotoSummary} PhotoSummary */
/** @typedef {import("../types.js").PictureSettings} PictureSettings */
/** @typedef {import("../types.js").Picture} Picture */
/** @typedef {{picture: (settings: PictureSettings) => Promise<Picture>}} Services */
/** @typedef {(canvas: HTMLCanvasElement, settings: {map: string}|{photo: string}, size: MapSummary|PhotoSummary, aspect: number) => void} Draw */

/** Drawn a little before they come into sight. */
const AHEAD = "600px 0px";

/** @param {Services} services @param {HTMLElement} scroller in which the pictures scroll
 * @param {{width: number, height: number}} place of a picture, in pixels of the page
 * @returns {Draw} */
export function createThumbnails(services, scroller, place) {
  /** What each canvas shall show, and what it shows or is about to.
   * @type {WeakMap<HTMLCanvasElement, {settings: PictureSettings, wanted: string, drawn: string}>} */
  const tasks = new WeakMap();
  /** @type {WeakSet<Element>} */
  const in_sight = new WeakSet();
  /** @type {Set<HTMLCanvasElement>} */
  const waiting = new Set();
  let busy = false;

  const seeing = new IntersectionObserver((entries) => {
    for (const { target, isIntersecting } of entries) {
      if (isIntersecting) in_sight.add(target);
      else in_sight.delete(target);
      consider(/** @type {HTMLCanvasElement} */ (target));
    }
  }, { root: scroller, rootMargin: AHEAD });

  function consider(/** @type {HTMLCanvasElement} */ canvas) {
    const task = tasks.get(canvas);
    if (task === undefined) return;
    if (!in_sight.has(canvas) || task.drawn === task.wanted) return void waiting.delete(canvas);
    waiting.add(canvas);
    if (!busy) void work();
  }

  async function work() {
    busy = true;
    for (const canvas of waiting) {
      waiting.delete(canvas);
      const task = tasks.get(canvas);
      if (task === undefined || !canvas.isConnected) continue;
      const { settings, wanted } = task;
      try {
        const { width, height, rgba } = await services.picture(settings);
        if (task.wanted !== wanted) continue; // changed meanwhile, and waiting again
        task.drawn = wanted;
        canvas.width = width;
        canvas.height = height;
        canvas.getContext("2d")?.putImageData(new ImageData(new Uint8ClampedArray(rgba), width, height), 0, 0);
        canvas.dataset.state = "drawn";
      } catch {
        // The small picture says that it is missing; why, the large one says when it is asked for.
        task.drawn = wanted;
        canvas.dataset.state = "failed";
      }
    }
    busy = false;
  }

  return (canvas, subject, size, aspect) => {
    const screen = { width: Math.round(place.width * devicePixelRatio), height: Math.round(place.height * devicePixelRatio) };
    const out = thumbSize(size, aspect, screen);
    const wanted = JSON.stringify([subject, size, out]);
    const task = tasks.get(canvas);
    if (task?.wanted === wanted) return;
    const settings = { ...subject, view: { x: 0, y: 0, width: size.width, height: size.height, ...out } };
    if (task === undefined) {
      tasks.set(canvas, { settings, wanted, drawn: "" });
      // The place has its proportion before the picture is there.
      canvas.width = out.out_width;
      canvas.height = out.out_height;
      seeing.observe(canvas);
    } else {
      task.settings = settings;
      task.wanted = wanted;
      consider(canvas);
    }
  };
}
