// Keeping, in place: the word that keeps, then what was kept with its title and note to be written at once.

import { el, setText } from "../../dom.js";

/** @typedef {import("../../state.js").State} State */
/** @typedef {import("../../findings-state.js").KeptAt} KeptAt */
/** @typedef {import("../../findings-control.js").Seen} Seen */

/** @param {KeptAt} at @param {import("../../controller.js").Send} send @param {() => Seen} seen @param {() => void} left where the focus goes when all is written
 * @returns {{element: HTMLFormElement, keep: () => void, is_open: () => boolean, update: (state: State) => void}} */
export function createKeeping(at, send, seen, left) {
  /** The finding whose title and note are in the fields. @type {string|null} */
  let drawn = null;
  const title = el("input", { class: "field keeping-title", attrs: { id: `kept-title-${at}`, type: "text", maxlength: 200, autocomplete: "off" } });
  const note = el("textarea", { class: "field keeping-note", attrs: { id: `kept-note-${at}`, rows: 2, maxlength: 4000 } });
  const said = el("p", { class: "keeping-said", attrs: { role: "status" } });
  const fields = el("div", { class: "keeping-fields" }, [
    el("label", { text: "Title", attrs: { for: title.id } }), title, el("label", { text: "Note", attrs: { for: note.id } }), note,
    el("p", { class: "keeping-go" }, [
      el("button", { class: at === "view" ? "surround-button" : "button", text: "Done", attrs: { type: "submit" } }),
      el("span", { class: "keeping-help", text: "Enter is Done. Escape leaves the title as it was proposed." }),
    ]),
  ]);
  const element = el("form", { class: `keeping keeping-${at}`, attrs: { novalidate: true, hidden: true, "aria-label": "What was kept" }, on: {
    submit: (event) => {
      event.preventDefault();
      write();
    },
    keydown: (/** @type {KeyboardEvent} */ event) => {
      if (event.key === "Enter" && event.target === note && (event.ctrlKey || event.metaKey)) {
        event.preventDefault();
        write();
      }
      if (event.key !== "Escape") return;
      event.preventDefault();
      event.stopPropagation();
      send({ type: "leave_kept" });
    },
  } }, [said, fields]);

  function write() {
    send({ type: "write_kept", title: title.value, note: note.value });
  }

  return {
    element,
    keep: () => send({ type: "keep", at, seen: seen() }),
    is_open: () => !element.hidden,
    update({ kept, keeping, keep_trouble, findings }) {
      const finding = kept?.at === at ? findings.find(({ id }) => id === kept.id) : undefined;
      const message = keep_trouble?.at === at ? keep_trouble.message : "";
      const had_focus = element.contains(document.activeElement);
      element.hidden = finding === undefined && message === "" && keeping !== at;
      setText(said, keeping === at ? "Keeping it." : finding !== undefined ? `Kept as finding ${finding.place}.` : message);
      said.classList.toggle("keeping-trouble", message !== "");
      fields.hidden = finding === undefined;
      if (finding === undefined) {
        drawn = null;
        if (had_focus && keeping !== at) left();
        return;
      }
      if (drawn === finding.id) return;
      drawn = finding.id;
      title.value = finding.title;
      note.value = finding.note;
      title.focus();
      title.select();
      element.scrollIntoView({ block: "nearest" });
    },
  };
}
