// What a passage could be painted with: elements by state, candidates with their reasons, what stays open and where to measure next.

import { el } from "../../dom.js";
import { besideName, elementsByState, elementsExplained, groupsAlike, placesByAim, remarksOf, setText, settledBy, sortedMaterials, verdictBeside, verdictOf } from "../../materials.js";
import { fold, list, part, reasoned, reasons, unfolding } from "./parts.js";

/** @typedef {import("../../types.js").MaterialsFound} MaterialsFound */
/** @typedef {import("../../types.js").MaterialFound} MaterialFound */
/** @typedef {(text: string) => string} Whole */

/** Candidates in sight, those that are not told from each other counted as one. */
const CANDIDATES = 10;

/** @param {MaterialsFound} found @param {string} answer its id @param {Whole} whole @param {import("../../controller.js").Send} send
 * @returns {HTMLElement[]} */
export function materialsParts(found, answer, whole, send) {
  const { open, folds } = sortedMaterials(found.materials);
  const folded = (/** @type {MaterialFound} */ material) => el("li", {}, [candidate(material, verdictBeside(material), found.hazards, whole)]);
  return [
    ...part("Elements", [...elements(found, whole)]),
    ...part("What it could be", [
      ...candidates(open, found.hazards, whole),
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

/** @param {MaterialFound[]} open @param {string[]} hazards @param {Whole} whole */
function candidates(open, hazards, whole) {
  const groups = groupsAlike(open);
  const more = groups.slice(CANDIDATES);
  const drawn = (/** @type {MaterialFound[][]} */ some) => list("found-list", some.map((group) => alike(group, hazards, whole)));
  return [...drawn(groups.slice(0, CANDIDATES)), ...fold(`${more.flat().length} more`, drawn(more))];
}

/** Materials that are not told from each other, or one alone. @param {MaterialFound[]} group @param {string[]} hazards @param {Whole} whole */
function alike(group, hazards, whole) {
  const [first] = group;
  if (first === undefined || group.length === 1) return el("li", {}, first === undefined ? [] : [candidate(first, verdictOf(first), hazards, whole)]);
  const names = group.map(({ name }) => name);
  // What holds of all of them is said once.
  const shared = group.every((one) => verdictBeside(one) === "") ? `${first.verdict}, not distinguishable from each other` : "not distinguishable from each other";
  return el("li", {}, [unfolding(names.join(", "), shared, list("found-alike", group.map((one) => el("li", {}, [candidate(one, verdictBeside(one), hazards, whole, names)]))), whole)]);
}

/** A name with its verdict, which unfolds to its reasons.
 * @param {MaterialFound} material @param {string} verdict what is not said above it @param {string[]} hazards @param {Whole} whole @param {string[]} [said] */
function candidate(material, verdict, hazards, whole, said = []) {
  return unfolding(material.name, besideName(material, verdict), [
    ...remarksOf(material, hazards, said).map((text) => el("p", { class: "found-remark", text: whole(text) })),
    ...reasons(material.reasons, whole),
  ], whole);
}

/** @param {MaterialFound[]} open @param {Whole} whole */
function settling(open, whole) {
  return list("found-alike", settledBy(open).map(({ technique, rows }) => el("li", {}, [
    unfolding(technique, forWhich(rows.flatMap(({ names }) => names)),
      list("found-lines", rows.map(({ names, settling }) => el("li", {}, [el("span", { text: `${names.join(", ")}: ` }), ...reasoned(settling, whole)]))), whole),
  ])));
}

/** @param {string[]} names */
function forWhich(names) {
  return names.length > 2 ? `for ${names.length} candidates` : `for ${names.join(" and ")}`;
}

/** Numbered as they are on the picture; each shows where it is. @param {MaterialsFound} found @param {string} answer @param {Whole} whole @param {import("../../controller.js").Send} send */
function places({ measure_next }, answer, whole, send) {
  const groups = placesByAim(measure_next);
  const drawn = (/** @type {typeof groups[number]["places"]} */ places) => list("found-places", places.map(({ index, place }) => el("li", {}, [
    el("button", { class: "word-button found-place", attrs: { type: "button", "aria-current": "false", title: "Show it in the view" }, on: { click: () => send({ type: "show_place", answer, index }) } }, [
      el("span", { class: "found-number", text: String(index + 1) }), " ", el("span", { text: whole(place.place_text) }),
    ]),
    ...(place.reason === "" ? [] : [el("p", { text: whole(place.reason) })]),
  ])));
  // The first aim lies open.
  return groups.map(({ text, places }, at) => el("details", { class: "found-aim", attrs: { open: at === 0 } }, [
    el("summary", { class: "found-decides", text: whole(text || "To measure") }), ...drawn(places),
  ]));
}
