// The matching points as a list: number, how far off, the farthest one named as such.

import { chosen, doubted, isFull, isLaying, judged, removed, worst } from "../../aligning-state.js";
import { sidesOf } from "../../aligning-words.js";
import { el, reconcile, setAttribute, setText } from "../../dom.js";

/** @typedef {import("../../aligning-state.js").Aligning} Aligning */

/** @param {HTMLElement} root @param {(next: Aligning) => void} edit
 * @returns {{update: (aligning: Aligning|null) => void}} */
export function createPoints(root, edit) {
  /** @type {Aligning|null} */
  let now = null;
  const title = el("h3", { class: "aligning-heading", text: "Points" });
  const list = el("ol", { class: "aligning-points" });
  const clear = el("button", { class: "word-button", text: "Take the alignment away", attrs: { type: "button" }, on: { click: () => {
    if (now !== null) edit({ ...now, points: [], chosen: null, rule: "suits", transform: null, found: null, unsent: true });
  } } });
  root.append(title, list, clear);

  return {
    update(aligning) {
      now = aligning;
      root.hidden = aligning === null || !isLaying(aligning);
      if (aligning === null) return;
      const { points } = aligning;
      setText(title, points.length === 0 ? "No points yet" : aligning.rule === "found" ? "Points that check it" : "Points");
      clear.hidden = points.length === 0 && aligning.alignment === null;
      const said = judged(aligning);
      const farthest = worst(aligning);
      const doubtful = doubted(aligning);
      reconcile(list, points.map((_, index) => index), String, (index) =>
        el("li", { class: "aligning-point" }, [
          el("button", { class: "word-button aligning-number", attrs: { type: "button" }, on: { click: () => {
            if (now !== null) edit(chosen(now, index));
          } } }),
          el("span", { class: "aligning-off" }),
          el("button", { class: "word-button aligning-remove", text: "remove", attrs: { type: "button" }, on: { click: () => {
            if (now !== null) edit(removed(now, index));
          } } }),
        ]),
      (item, index) => {
        const [number, off, remove] = /** @type {[HTMLElement, HTMLElement, HTMLElement]} */ (/** @type {unknown} */ ([...item.children]));
        const point = points[index];
        setText(number, `Point ${index + 1}`);
        setAttribute(number, "aria-pressed", String(index === aligning.chosen));
        setAttribute(remove, "aria-label", `Remove point ${index + 1}`);
        const waits = point === undefined || isFull(point) ? "" : `waits for its place ${sidesOf(aligning)[point.from === null ? "photo" : "maps"]}`;
        const text = waits || (said[index]?.text ?? "");
        const word = index === doubtful ? " (contradicted by the others)" : index === farthest ? " (the farthest off)" : "";
        setText(off, `${text}${word}`);
        item.classList.toggle("aligning-point-chosen", index === aligning.chosen);
      });
    },
  };
}
