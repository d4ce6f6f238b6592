// Above the answer of a finding that is open: which it is, whether it stands as it was kept, and what has changed since.

import { el, setText } from "../../dom.js";
import { findingOpen } from "../../findings-state.js";
import { unbroken } from "../../words.js";
import { createRenew } from "./renew.js";

/** @typedef {import("../../state.js").State} State */

/** @param {HTMLElement} root @param {import("../../controller.js").Send} send
 * @returns {{update: (state: State) => void}} */
export function createAsKept(root, send) {
  const name = el("p", { class: "as-kept-name", attrs: { role: "status", tabindex: -1 } });
  const back = el("button", { class: "word-button", text: "Back to the findings", attrs: { type: "button" }, on: { click: () => send({ type: "close_finding" }) } });
  const title = el("p", { class: "as-kept-title" });
  const note = el("p", { class: "finding-note" });
  const renew = createRenew(send);
  root.append(el("div", { class: "as-kept-line" }, [name, back]), title, note, renew.element);
  /** @type {string|null} */
  let shown = null;
  return {
    update(state) {
      const finding = findingOpen(state);
      const { opened } = state;
      root.hidden = finding === null || opened === null || opened.answer === null;
      if (finding === null || opened === null) {
        shown = null;
        return;
      }
      const is_new = shown !== finding.id;
      shown = finding.id;
      setText(name, opened.live ? `Finding ${finding.place}` : `Finding ${finding.place}, as kept`);
      setText(title, unbroken(finding.title, state.maps));
      setText(note, finding.note);
      note.hidden = finding.note === "";
      renew.update(state, finding, name, opened.otherwise ? ["Asked again now, it is answered otherwise. What stands here is as it was kept."] : []);
      // Whoever opened it reads on here.
      if (is_new && !root.hidden) {
        root.parentElement?.scrollTo?.({ top: 0 });
        name.focus({ preventScroll: true });
      }
    },
  };
}
