// Files that can be read in several ways: the question, and for each way what it makes of the file and its first values. Nothing decides
// but the user.

import { el, reconcile, setText } from "../dom.js";
import { groupedAsks } from "../asked.js";

/** @typedef {import("../state.js").State} State */
/** @typedef {import("../asked.js").AskGroup} AskGroup */

/** File names said in full before "and n more". */
const NAMES = 3;

/** @param {HTMLElement} root @param {import("../controller.js").Send} send
 * @returns {{update: (state: State) => void}} */
export function createAsks(root, send) {
  const list = el("ul", { class: "asks-list" });
  root.append(list);
  /** @type {import("../types.js").AskToRead[]|null} */
  let drawn = null;

  /** @param {AskGroup} group */
  function make({ asks, ways }) {
    const sha256s = () => asks.map(({ sha256 }) => sha256);
    return el("li", { class: "ask-file" }, [
      el("p", { class: "ask-file-question", attrs: { role: "status" } }, [el("strong", { class: "ask-file-names" }), el("span")]),
      el("ul", { class: "ask-file-ways" }, ways.map(({ key, text, sample }) => el("li", { class: "ask-file-way" }, [
        el("button", { class: "button ask-file-take", text, attrs: { type: "button" }, on: { click: () => send({ type: "read_as", sha256s: sha256s(), way: key }) } }),
        ...(sample === "" ? [] : [el("pre", { class: "ask-file-sample", text: sample, attrs: { tabindex: 0, "aria-label": `First values: ${text}` } })]),
      ]))),
      el("p", { class: "ask-file-foot" }, [
        el("button", { class: "quiet-button", text: asks.length === 1 ? "Leave it out" : `Leave all ${asks.length} out`, attrs: { type: "button" }, on: { click: () => send({ type: "leave_out", sha256s: sha256s() }) } }),
        ...(asks.length === 1 ? [] : [el("span", { class: "ask-file-note", text: `One choice for all ${asks.length} files; the values shown are those of the first.` })]),
      ]),
    ]);
  }

  return {
    update({ asks, phase }) {
      root.hidden = asks.length === 0 || phase === "broken";
      if (asks === drawn) return;
      drawn = asks;
      const key = (/** @type {AskGroup} */ group) => JSON.stringify([group.key, group.asks.map(({ sha256 }) => sha256)]);
      reconcile(list, groupedAsks(asks), key, make, (item, { asks, question }) => {
        const [names, words] = /** @type {HTMLElement[]} */ ([...(item.firstElementChild?.children ?? [])]);
        const files = asks.map(({ file }) => file);
        const more = files.length - NAMES;
        if (names) setText(names, files.slice(0, NAMES).join(", ") + (more > 0 ? ` and ${more} more` : ""));
        if (names) names.title = more > 0 ? files.join("\n") : "";
        if (words) setText(words, question);
      });
    },
  };
}
