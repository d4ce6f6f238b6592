// Which points lie over the pictures, and where their labels stand: places that an answer proposes to measure at, and places where another
// technique measured. Pure.

import { placesByAim } from "./materials.js";
import { answerOf } from "./state.js";

/** @typedef {import("./state.js").State} State */
/** A place in pixels of the grid; `chosen`: the one that the list shows; `id`: of an analysis point.
 * @typedef {{at: [number, number], label: string, is_proposed: boolean, chosen: boolean, id?: string}} PointMark */
/** A point on the canvas with the room that its mark and its label take. @typedef {{x: number, y: number, half: number, width: number, height: number}} Labelled */

/** The points that are seen: with the outlines all analysis points, and the proposed ones that decide the same as the one that is shown, or as the
 * first; without the outlines the one that is shown alone.
 * @param {State} state
 * @returns {PointMark[]} the chosen one last, so that it lies on top */
export function marksOf(state) {
  const answer = answerOf(state);
  const chosen = state.place !== null && state.place.answer === answer?.id ? state.place.index : -1;
  const aims = placesByAim(answer?.materials?.measure_next ?? []);
  const aim = aims.find(({ places }) => places.some(({ index }) => index === chosen)) ?? aims[0];
  const proposed = (aim?.places ?? []).map(({ index, place: { at } }) => ({ at, label: String(index + 1), is_proposed: true, chosen: index === chosen }));
  const measured = state.points.map(({ at, name, id }) => ({ at, label: name, is_proposed: false, chosen: id === state.point_lit, id }));
  return [...measured, ...proposed].filter((mark) => state.outlines || mark.chosen).toSorted((a, b) => Number(a.chosen) - Number(b.chosen));
}

/** Where each label stands beside its mark, so that it covers no mark and no other label; null where there is no such place.
 * @param {Labelled[]} all the last ones choose first @param {{width: number, height: number}} canvas
 * @returns {({x: number, y: number}|null)[]} left end and baseline */
export function labelPlaces(all, canvas) {
  const taken = all.map(({ x, y, half }) => ({ left: x - half, right: x + half, top: y - half, bottom: y + half }));
  /** @type {({x: number, y: number}|null)[]} */
  const places = all.map(() => null);
  for (const [index, { x, y, half, width, height }] of [...all.entries()].reverse()) {
    const gap = half + 3;
    const low = y + height * 0.36;
    const corners = [[x + gap, low], [x - gap - width, low], [x - width / 2, y - gap], [x - width / 2, y + gap + height * 0.72]];
    for (const [left = 0, base = 0] of corners) {
      const box = { left, right: left + width, top: base - height * 0.78, bottom: base + height * 0.22 };
      const is_in = box.left >= 0 && box.top >= 0 && box.right <= canvas.width && box.bottom <= canvas.height;
      if (!is_in || taken.some((one) => one.left < box.right && box.left < one.right && one.top < box.bottom && box.top < one.bottom)) continue;
      taken.push(box);
      places[index] = { x: left, y: base };
      break;
    }
  }
  return places;
}

/** The analysis point that lies under the hand, the nearest one; null where there is none.
 * @param {PointMark[]} marks @param {[number, number]} at @param {[number, number]} reach how far off the hand may be, across and down
 * @returns {string|null} */
export function pointUnder(marks, at, reach) {
  const off = (/** @type {PointMark} */ { at: [x, y] }) => ((x - at[0]) / reach[0]) ** 2 + ((y - at[1]) / reach[1]) ** 2;
  const near = marks.filter((mark) => mark.id !== undefined && off(mark) <= 1).sort((a, b) => off(a) - off(b));
  return near[0]?.id ?? null;
}
