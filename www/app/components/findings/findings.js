// The findings, as a numbered list: text first, what has changed since, and words for what can be done. Above it the object, below it what is
// handed over.

import { el, reconcile, setAttribute, setText } from "../../dom.js";
import { columnOf } from "../../findings-state.js";
import { unbroken } from "../../words.js";
import { createAbout } from "./about.js";
import { createHandOver } from "./hand-over.js";
import { createKeptPictures } from "./kept-pictures.js";
import { createRenew } from "./renew.js";

/** @typedef {import("../../state.js").State} State */
/** @typedef {import("../../types.js").Finding} Finding */

/** @param {HTMLElement} root @param {import("../../controller.js").Send} send @param {import("./kept-pictures.js").Services} services
 * @returns {{update: (state: State) => void}} */
export function createFindings(root, send, services) {
  /** @type {State|null} */
  let state = null;
  const about_root = el("details", { class: "about" });
  const none = el("p", { class: "findings-none", text: "Nothing is kept yet. “Keep as a finding” beside an answer, or “Keep this view” above the picture, puts it here with its picture, its numbers and all of its settings." });
  const list = el("ol", { class: "findings-list", attrs: { "aria-label": "Findings" } });
  const hand_root = el("section", { class: "hand", attrs: { "aria-label": "Hand over" } });
  root.append(about_root, none, list, hand_root);
  const about = createAbout(about_root, send);
  const hand_over = createHandOver(hand_root, send);
  const picture = createKeptPictures(services, root);

  /** @param {Finding} finding */
  function make({ id }) {
    const word = (/** @type {string} */ text, /** @type {() => void} */ run) => el("button", { class: "word-button finding-act", text, attrs: { type: "button" }, on: { click: run } });
    const number = el("span", { class: "finding-number", attrs: { "aria-hidden": "true" } });
    const title = el("button", { class: "finding-title", attrs: { type: "button" }, on: { click: () => send({ type: "open_finding", id }) } });
    const canvas = el("canvas", { class: "finding-picture", attrs: { "aria-hidden": "true" }, on: { click: () => send({ type: "open_finding", id }) } });
    const verdict = el("p", { class: "finding-verdict" });
    const sentence = el("p", { class: "finding-sentence" });
    const note = el("p", { class: "finding-note" });
    const renew = createRenew(send);
    const acts = el("p", { class: "finding-acts" });
    const [open, edit, up, down, remove] = [
      word("Open", () => send({ type: "open_finding", id })), word("Edit", () => send({ type: "edit_finding", id })),
      word("Move up", () => send({ type: "move_finding", id, by: -1 })), word("Move down", () => send({ type: "move_finding", id, by: 1 })), word("Remove", () => take(id)),
    ];
    acts.append(open, edit, up, down, remove);
    const edit_title = el("input", { class: "field keeping-title", attrs: { id: `finding-title-${id}`, type: "text", maxlength: 200, autocomplete: "off" } });
    const edit_note = el("textarea", { class: "field keeping-note", attrs: { id: `finding-note-${id}`, rows: 3, maxlength: 4000 } });
    const write = () => send({ type: "write_finding", id, title: edit_title.value, note: edit_note.value });
    const form = el("form", { class: "keeping finding-edit", attrs: { novalidate: true }, on: { submit: (event) => {
      event.preventDefault();
      write();
    } } }, [el("div", { class: "keeping-fields" }, [
      el("label", { text: "Title", attrs: { for: edit_title.id } }), edit_title, el("label", { text: "Note", attrs: { for: edit_note.id } }), edit_note,
      el("p", { class: "keeping-go" }, [el("button", { class: "button", text: "Done", attrs: { type: "submit" } }),
        el("button", { class: "quiet-button", text: "Leave it as it was", attrs: { type: "button" }, on: { click: () => send({ type: "edit_finding", id: null }) } })]),
    ])]);
    form.hidden = true;
    const trouble = el("p", { class: "finding-trouble", attrs: { role: "alert", hidden: true } });
    const item = el("li", { class: "finding", on: { keydown: (/** @type {KeyboardEvent} */ event) => {
      const by = { ArrowUp: /** @type {const} */ (-1), ArrowDown: /** @type {const} */ (1) }[event.key];
      if (event.altKey && by !== undefined && form.hidden) send({ type: "move_finding", id, by });
      else if (event.key === "Escape" && !form.hidden) send({ type: "edit_finding", id: null });
      else if (event.key === "Enter" && event.target === edit_note && (event.ctrlKey || event.metaKey)) write();
      else return;
      event.preventDefault();
      event.stopPropagation();
    } } }, [el("p", { class: "finding-head" }, [number, title]), canvas, verdict, sentence, note, renew.element, form, trouble, acts]);
    return Object.assign(item, { parts: { number, title, canvas, verdict, sentence, note, renew, acts, open, edit, up, down, remove, edit_title, edit_note, form, trouble } });
  }

  /** @param {string} id */
  function itemOf(id) {
    return /** @type {ReturnType<typeof make>|undefined} */ ([...list.children].find((one) => /** @type {HTMLElement} */ (one).dataset.key === id));
  }

  /** The focus stays in the list; what was taken away comes back with undo. @param {string} id */
  function take(id) {
    const at = state?.findings.findIndex((one) => one.id === id) ?? -1;
    const next = state?.findings[at + 1] ?? state?.findings[at - 1];
    send({ type: "remove_finding", id });
    if (next !== undefined) itemOf(next.id)?.parts.title.focus();
  }

  /** @param {ReturnType<typeof make>} item @param {Finding} finding @param {State} now @param {State|null} before */
  function fill(item, finding, now, before) {
    const { parts } = item;
    const whole = (/** @type {string} */ text) => unbroken(text, now.maps);
    const named = `finding ${finding.place}`;
    const edits = now.editing === finding.id;
    setText(parts.number, String(finding.place));
    setText(parts.title, whole(finding.title));
    setAttribute(parts.title, "aria-label", `${finding.place}. ${finding.title}: open`);
    item.classList.toggle("finding-open", now.opened?.id === finding.id);
    if (now.opened?.id === finding.id) setAttribute(item, "aria-current", "true");
    else item.removeAttribute("aria-current");
    for (const [node, text] of /** @type {[HTMLElement, string][]} */ ([[parts.verdict, finding.verdict_text], [parts.sentence, finding.sentence], [parts.note, finding.note]])) {
      setText(node, whole(text));
      node.hidden = text === "" || text === finding.title;
    }
    if (edits) parts.note.hidden = true;
    picture(parts.canvas, finding);
    parts.renew.update(now, finding, parts.title);
    for (const [button, text] of /** @type {[HTMLElement, string][]} */ ([[parts.open, "Open"], [parts.edit, "Edit"], [parts.up, "Move up"], [parts.down, "Move down"], [parts.remove, "Remove"]])) setAttribute(button, "aria-label", `${text}: ${named}`);
    parts.up.disabled = finding.place === 1;
    parts.down.disabled = finding.place === now.findings.length;
    parts.acts.hidden = edits;
    if (edits && parts.form.hidden) {
      parts.form.hidden = false;
      setAttribute(parts.form, "aria-label", `Title and note of ${named}`);
      parts.edit_title.value = finding.title;
      parts.edit_note.value = finding.note;
      parts.edit_title.focus();
      parts.edit_title.select();
    } else if (!edits && !parts.form.hidden) {
      const had_focus = parts.form.contains(document.activeElement);
      parts.form.hidden = true;
      if (had_focus) parts.edit.focus();
    }
    const message = now.finding_trouble?.id === finding.id ? now.finding_trouble.message : finding.trouble;
    setText(parts.trouble, message);
    parts.trouble.hidden = message === "";
    if (before !== null && now.moved !== before.moved && now.moved?.id === finding.id) moved = item;
  }
  /** @type {ReturnType<typeof make>|null} */
  let moved = null;

  return {
    update(next) {
      const before = state;
      state = next;
      const is_empty = next.maps.length + next.photos.length + next.findings.length === 0;
      root.hidden = is_empty || columnOf(next) !== "findings";
      about.update(next);
      hand_over.update(next);
      const keys = /** @type {const} */ (["findings", "maps", "opened", "editing", "finding_trouble", "renewing", "moved", "column"]);
      if (before !== null && keys.every((key) => before[key] === next[key])) return;
      none.hidden = next.findings.length > 0;
      list.hidden = next.findings.length === 0;
      const focused = list.contains(document.activeElement) ? /** @type {HTMLElement} */ (document.activeElement) : null;
      moved = null;
      reconcile(list, next.findings, ({ id }) => id, make, (item, finding) => fill(item, finding, next, before));
      // An element that is moved loses the focus.
      if (focused !== null && document.activeElement !== focused && focused.isConnected) focused.focus();
      if (moved !== null) {
        const { parts } = /** @type {ReturnType<typeof make>} */ (moved);
        if (!(/** @type {HTMLElement} */ (moved)).contains(document.activeElement) || document.activeElement instanceof HTMLButtonElement && document.activeElement.disabled) parts.title.focus();
        /** @type {HTMLElement} */ (moved).scrollIntoView({ block: "nearest" });
      }
    },
  };
}
