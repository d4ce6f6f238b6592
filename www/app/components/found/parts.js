// What the answers on materials, cover and dates are built of: headed parts, reasons with what they rest on, lists that fold.

import { el } from "../../dom.js";
import { basisText } from "../../materials.js";

/** @typedef {import("../../types.js").Reason} Reason */

/** A part with its heading; nothing where there is nothing in it.
 * @param {string} title @param {Node[]} content
 * @returns {HTMLElement[]} */
export function part(title, content) {
  return content.length === 0 ? [] : [el("section", { class: "found-part" }, [el("h3", { class: "found-title", text: title }), ...content])];
}

/** A list, or nothing. @param {string} name a class @param {Node[]} items @param {"ul"|"ol"} [tag]
 * @returns {HTMLElement[]} */
export function list(name, items, tag = "ul") {
  // The style takes the marks away, and with them what some screen readers go by.
  return items.length === 0 ? [] : [el(tag, { class: name, attrs: { role: "list" } }, items)];
}

/** Folded away behind a line that says what it is. @param {string} text @param {Node[]} content
 * @returns {HTMLElement[]} */
export function fold(text, content) {
  return content.length === 0 ? [] : [el("details", { class: "found-fold" }, [el("summary", {}, [el("span", { text })]), ...content])];
}

/** A name and what stands behind it. @param {string} name @param {string} verdict empty where it is said already @param {(text: string) => string} whole */
function named(name, verdict, whole) {
  return [el("strong", { class: "found-name", text: name }), ...(verdict === "" ? [] : [" ", el("span", { class: "found-verdict", text: whole(verdict) })])];
}

/** The same as a line of its own. @param {string} name @param {string} verdict @param {(text: string) => string} whole */
export function head(name, verdict, whole) {
  return el("p", { class: "found-head" }, named(name, verdict, whole));
}

/** The same as a line that unfolds to what is to be said of it. @param {string} name @param {string} verdict @param {Node[]} content @param {(text: string) => string} whole
 * @returns {HTMLElement} */
export function unfolding(name, verdict, content, whole) {
  if (content.length === 0) return head(name, verdict, whole);
  return el("details", { class: "found-entry" }, [el("summary", { class: "found-head" }, named(name, verdict, whole)), el("div", { class: "found-body" }, content)]);
}

/** A sentence, and quietly what it rests on. @param {{text: string, basis: string, source: string}} reason @param {(text: string) => string} whole
 * @returns {Node[]} */
export function reasoned(reason, whole) {
  const basis = basisText(reason);
  return [whole(reason.text), ...(basis === "" ? [] : [" ", el("span", { class: "found-basis", text: `(${basis})` })])].map((one) => (typeof one === "string" ? document.createTextNode(one) : one));
}

/** @param {Reason[]} reasons @param {(text: string) => string} whole
 * @returns {HTMLElement[]} */
export function reasons(reasons, whole) {
  return list("found-reasons", reasons.map((reason) => el("li", {}, reasoned(reason, whole))));
}
