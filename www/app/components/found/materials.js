// What a passage could be painted with: elements by state, candidates with their reasons, what stays open and where to measure next.

import { el } from "../../dom.js";
import { decidesText, elementsByState, elementsExplained, remarksOf, setText, settledBy, sortedMaterials, verdictBeside, verdictOf } from "../../materials.js";
import { fold, head, list, part, reasoned, reasons } from "./parts.js";

/** @typedef {import("../../types.js").MaterialsFound} MaterialsFound */
/** @typedef {import("../../types.js").MaterialFound} MaterialFound */
/** @typedef {(text: string) => string} Whole */

/** Reasons in sight; more of them fold. */
const REASONS = 2;
/** Candidates in sight. */
const CANDIDATES = 8;

/** @param {MaterialsFound} found @param {string} answer its id @param {Whole} whole @param {import("../../controller.js").Send} send
 * @returns {HTMLElement[]} */
export function materialsParts(found, answer, whole, send) {
  const { open, folds } = sortedMaterials(found.materials);
  const one = (/** @type {MaterialFound} */ material) => candidate(material, verdictOf(material), found.hazards, whole);
  const folded = (/** @type {MaterialFound} */ material) => candidate(material, verdictBeside(material), found.hazards, whole);
  return [
    ...part("Elements", [...elements(found, whole)]),
    ...part("What it could be", [
      ...list("found-list", open.slice(0, CANDIDATES).map(one)),
      ...fold(`${open.length - CANDIDATES} more`, list("found-list", open.slice(CANDIDATES).map(one))),
      ...folds.flatMap(({ text, materials }) => fold(text, list("found-list", materials.map(folded)))),
    ]),
    ...part("What explains everything seen", [
      ...(found.sets_text === "" ? [] : [el("p", { text: whole(found.sets_text) })]),
      ...list("found-sets", found.sets.map(({ names, text }) => el("li", { text: whole(setText(names, text)) }))),
    ]),
    ...part("Unexplained", list("found-lines", found.unexplained.map(({ element, text }) => el("li", { text: whole(text === "" ? element : text) })))),
    ...part("What goes with what", reasons(found.readings, whole)),
    ...part("What would settle it", settling(open, whole)),
    ...part("Where to measure next", places(found, answer, whole, send)),
  ];
}

/** @param {MaterialsFound} found @param {Whole} whole */
function elements({ elements }, whole) {
  const states = elementsByState(elements).map((group) => el("div", {}, [
    el("dt", { text: group.label }),
    el("dd", { text: group.elements.map(({ label, element }) => whole(label || element).replaceAll(" ", "\u00a0")).join(", ") }),
  ]));
  const told = elementsExplained(elements).map(({ text }) => el("li", { text: whole(text) }));
  return [...(states.length === 0 ? [] : [el("dl", { class: "found-states" }, states)]), ...fold("What the maps say of each", list("found-lines", told))];
}

/** @param {MaterialFound} material @param {string} verdict @param {string[]} hazards @param {Whole} whole */
function candidate(material, verdict, hazards, whole) {
  const remarks = remarksOf(material, hazards).map((text) => el("p", { class: "found-remark", text: whole(text) }));
  const more = material.reasons.slice(REASONS);
  return el("li", { class: "found-entry" }, [
    head(material.name, verdict, whole),
    ...remarks,
    ...reasons(material.reasons.slice(0, REASONS), whole),
    ...fold(more.length === 1 ? "1 more reason" : `${more.length} more reasons`, reasons(more, whole)),
  ]);
}

/** @param {MaterialFound[]} open @param {Whole} whole */
function settling(open, whole) {
  const techniques = settledBy(open);
  return techniques.length === 0 ? [] : [el("dl", { class: "found-settling" }, techniques.map(({ technique, rows }) => el("div", {}, [
    el("dt", { text: technique }),
    ...rows.map(({ names, settling }) => el("dd", {}, [el("span", { text: `${names.join(", ")}: ` }), ...reasoned(settling, whole)])),
  ])))];
}

/** Numbered as they are on the picture; each shows where it is. @param {MaterialsFound} found @param {string} answer @param {Whole} whole @param {import("../../controller.js").Send} send */
function places({ measure_next }, answer, whole, send) {
  return list("found-places", measure_next.map((place, index) => el("li", {}, [
    el("button", { class: "word-button found-place", attrs: { type: "button", "aria-current": "false", title: "Show it in the view" }, on: { click: () => send({ type: "show_place", answer, index }) } }, [
      el("span", { class: "found-number", text: String(index + 1) }), " ", el("span", { text: whole(place.place_text) }),
    ]),
    el("p", {}, [el("span", { class: "found-decides", text: whole(decidesText(place)) }), ...(place.reason === "" ? [] : [" ", whole(place.reason)])]),
  ])), "ol");
}
