// One quiet line at the top: that the page is a copy, and what was left out of the study.

import { el, setText } from "../dom.js";

/** @param {HTMLElement} root the line at the top @param {boolean} is_copy whether this page was handed over with a study in it
 * @returns {{show: (left_out: string[]) => void}} words come first, then sentences */
export function createCopyNote(root, is_copy) {
  const head = el("summary", { class: "copy-note-head" });
  const list = el("ul", { class: "copy-note-list" });
  const whole = el("p", { class: "copy-note", text: "A copy" });
  const part = el("details", { class: "copy-note" }, [head, list]);
  whole.hidden = part.hidden = true;
  root.firstElementChild?.after(whole, part);
  return {
    show(left_out) {
      const sentences = left_out.filter((text) => text.endsWith("."));
      const words = left_out.filter((text) => !text.endsWith("."));
      whole.hidden = !is_copy || left_out.length > 0;
      part.hidden = left_out.length === 0;
      setText(head, `A copy without ${listed(words)}`);
      list.replaceChildren(...sentences.map((text) => el("li", { text })));
      // Without sentences there is nothing to open.
      part.classList.toggle("copy-note-short", sentences.length === 0);
    },
  };
}

/** @param {string[]} words */
function listed(words) {
  if (words.length < 2) return words[0] ?? "some of it";
  return `${words.slice(0, -1).join(", ")} and ${words.at(-1)}`;
}
