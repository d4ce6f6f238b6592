// The part of an answer that is a list of things found rather than a number: materials, cover, dates.

import { setAttribute } from "../../dom.js";
import { coveredParts } from "./covered.js";
import { datesParts } from "./dates.js";
import { materialsParts } from "./materials.js";

/** @typedef {import("../../types.js").Answer} Answer */

/** @param {HTMLElement} root @param {import("../../controller.js").Send} send
 * @returns {{update: (state: import("../../state.js").State, answer: Answer, whole: (text: string) => string) => void}} */
export function createFound(root, send) {
  let drawn = "";

  return {
    update({ place }, answer, whole) {
      if (answer.id !== drawn) {
        drawn = answer.id;
        root.replaceChildren(...partsOf(answer, whole, send));
      }
      root.hidden = root.children.length === 0;
      root.querySelectorAll(".found-place").forEach((button, index) => setAttribute(button, "aria-current", String(place?.answer === answer.id && place.index === index)));
    },
  };
}

/** @param {Answer} answer @param {(text: string) => string} whole @param {import("../../controller.js").Send} send */
function partsOf(answer, whole, send) {
  const { materials, covered, dates } = answer;
  return [
    ...(materials ? materialsParts(materials, answer.id, whole, send) : []),
    ...(covered ? coveredParts(covered, answer.table, whole) : []),
    ...(dates ? datesParts(dates, whole) : []),
  ];
}
