// What came of computing all findings again: which are the same, which are otherwise, and in which numbers.

import { el, reconcile, setText } from "../../dom.js";

/** @typedef {import("../../state.js").State} State */
/** @typedef {import("../../types.js").Reproduced} Reproduced */

/** @param {HTMLElement} root @param {import("../../controller.js").Send} send
 * @returns {{update: (state: State) => void}} */
export function createReproduced(root, send) {
  const said = el("p", { class: "reproduced-said", attrs: { role: "status" } });
  const list = el("ol", { class: "reproduced-list" });
  root.append(said, list);
  /** @type {Reproduced[]|null} */
  let drawn = null;
  return {
    update({ reproduced, findings }) {
      root.hidden = reproduced === null;
      if (reproduced === null || reproduced === drawn) return;
      drawn = reproduced;
      const same = reproduced.filter((one) => one.same).length;
      setText(said, same === 1 && reproduced.length === 1 ? "Identical." : same === reproduced.length ? `All ${same} identical.` : `${same} of ${reproduced.length} identical.`);
      reconcile(list, reproduced, ({ id }) => id, ({ id }) => el("li", { class: "reproduced-one" }, [
        el("button", { class: "word-button", attrs: { type: "button" }, on: { click: () => send({ type: "open_finding", id }) } }), el("p"), el("dl", { class: "reproduced-numbers" }),
      ]), (item, { id, title, same: is_same, text, differences }) => {
        const [name, words, numbers] = /** @type {[HTMLElement, HTMLElement, HTMLElement]} */ ([...item.children]);
        const place = findings.find((one) => one.id === id)?.place;
        setText(name, place === undefined ? title : `${place}. ${title}`);
        setText(words, text);
        item.dataset.same = String(is_same);
        numbers.hidden = differences.length === 0;
        reconcile(numbers, differences, (one, index) => `${index} ${one.name}`, () => el("div", {}, [el("dt"), el("dd")]), (row, { name: number, kept, now }) => {
          setText(/** @type {Node} */ (row.children[0]), number);
          setText(/** @type {Node} */ (row.children[1]), `${kept}, now ${now}`);
        });
      });
    },
  };
}
