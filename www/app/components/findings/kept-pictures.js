// Pictures as they were kept: PNGs, drawn on canvases. Small ones are asked for one after the other, as their findings come into sight.

import { el } from "../../dom.js";

/** @typedef {{finding_picture: (id: string) => Promise<Blob|null>}} Services */

/** More small pictures than this are not kept in memory. */
const MOST = 200;

/** @param {Blob} png @param {number} [width] @returns {Promise<ImageBitmap>} */
export async function bitmapOf(png, width) {
  return createImageBitmap(png, width === undefined ? {} : { resizeWidth: width, resizeQuality: "high" });
}

/** @param {Services} services @param {HTMLElement} root that scrolls
 * @returns {(canvas: HTMLCanvasElement, finding: {id: string, picture: {width: number, height: number, png: string}|null}) => void} */
export function createKeptPictures(services, root) {
  /** By what they show. @type {Map<string, ImageBitmap|null>} */
  const held = new Map();
  /** @type {WeakMap<Element, {id: string, png: string, width: number, height: number}>} */
  const wanted = new WeakMap();
  let working = Promise.resolve();
  const sight = new IntersectionObserver((entries) => {
    for (const { isIntersecting, target } of entries) if (isIntersecting) want(/** @type {HTMLCanvasElement} */ (target));
  }, { root, rootMargin: "200px" });

  function paint(/** @type {HTMLCanvasElement} */ canvas, /** @type {ImageBitmap} */ bitmap) {
    canvas.width = bitmap.width;
    canvas.height = bitmap.height;
    canvas.getContext("2d")?.drawImage(bitmap, 0, 0);
  }

  function want(/** @type {HTMLCanvasElement} */ canvas) {
    const now = wanted.get(canvas);
    if (now === undefined || canvas.dataset.drawn === now.png) return;
    working = working.then(async () => {
      if (wanted.get(canvas)?.png !== now.png) return;
      const known = held.get(now.png);
      const bitmap = known !== undefined ? known : await load(now.id);
      if (held.size >= MOST) held.delete(/** @type {string} */ (held.keys().next().value));
      held.set(now.png, bitmap);
      canvas.hidden = bitmap === null;
      if (bitmap === null) return;
      canvas.dataset.drawn = now.png;
      paint(canvas, bitmap);
    }).catch(() => {
      // A picture that cannot be shown small is none here; opening its finding says why.
      canvas.hidden = true;
    });
  }

  /** @param {string} id */
  async function load(id) {
    const png = await services.finding_picture(id);
    return png === null ? null : bitmapOf(png, Math.round(SMALL * devicePixelRatio));
  }

  return (canvas, { id, picture }) => {
    canvas.hidden = picture === null;
    if (picture === null) return;
    canvas.style.aspectRatio = `${picture.width} / ${picture.height}`;
    if (wanted.get(canvas)?.png === picture.png) return;
    wanted.set(canvas, { id, ...picture });
    sight.unobserve(canvas);
    sight.observe(canvas);
  };
}

/** How wide a small one stands in the list. */
const SMALL = 116;

/** The picture that covers the views, as large as there is room.
 * @returns {{element: HTMLElement, update: (png: Blob|null, label: string) => void}} */
export function createKeptPicture() {
  const canvas = el("canvas", { class: "kept-canvas", attrs: { role: "img" } });
  const message = el("p", { class: "kept-message", attrs: { role: "status" } });
  const element = el("div", { class: "kept-stage" }, [canvas, message]);
  /** @type {Blob|null} */
  let drawn = null;
  return {
    element,
    update(png, label) {
      canvas.setAttribute("aria-label", label);
      if (png === drawn) return;
      drawn = png;
      canvas.hidden = true;
      message.textContent = "";
      if (png === null) return;
      bitmapOf(png).then((bitmap) => {
        if (drawn !== png) return;
        canvas.width = bitmap.width;
        canvas.height = bitmap.height;
        canvas.getContext("2d")?.drawImage(bitmap, 0, 0);
        canvas.hidden = false;
        canvas.dataset.shown = "kept";
      }, () => {
        if (drawn === png) message.textContent = "The kept picture cannot be read.";
      });
    },
  };
}
