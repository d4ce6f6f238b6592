// An answer's table: columns of figures that scroll inside themselves, and the same as a file.

import { el, setAttribute } from "../dom.js";

/** @typedef {import("../types.js").Answer} Answer */

/** @param {HTMLElement} root @param {(answer: string) => void} save
 * @returns {{update: (answer: Answer, whole: (text: string) => string) => void}} */
export function createTable(root, save) {
  const table = el("table", { class: "table" });
  const frame = el("div", { class: "table-frame" }, [table]);
  let answer_id = "";
  const button = el("button", { class: "quiet-button table-save", text: "Save as CSV", attrs: { type: "button" }, on: { click: () => save(answer_id) } });
  root.append(frame, button);
  let drawn = "";

  /** Only what does not fit can be scrolled, and only that is a stop for the keyboard. */
  function measure() {
    const scrolls = frame.scrollWidth > frame.clientWidth + 1 || frame.scrollHeight > frame.clientHeight + 1;
    setAttribute(frame, "tabindex", scrolls ? 0 : false);
    setAttribute(frame, "role", scrolls ? "region" : false);
    setAttribute(frame, "aria-label", scrolls ? "Table" : false);
  }
  new ResizeObserver(measure).observe(frame);

  return {
    update({ id, table: content, materials, covered, dates }, whole) {
      const { columns = [], rows = [] } = content ?? {};
      root.hidden = rows.length === 0;
      // What stands in lists above is not said twice; as a file it is a table.
      frame.hidden = Boolean(materials || covered || dates);
      answer_id = id;
      const now = JSON.stringify([columns, rows]);
      if (now === drawn) return;
      drawn = now;
      // A column of words is read from the left, one of numbers is held against its neighbours by its last digits.
      const is_words = columns.map((_, column) => rows.every(({ cells }) => (cells[column]?.value ?? null) === null));
      const align = (/** @type {number} */ column) => ({ class: is_words[column] ? "table-words" : "table-number" });
      table.replaceChildren(
        el("thead", {}, [el("tr", {}, [el("td"), ...columns.map((label, column) => el("th", { ...align(column), text: whole(label), attrs: { scope: "col" } }))])]),
        el("tbody", {}, rows.map(({ label, cells }) => el("tr", {}, [
          el("th", { text: whole(label), attrs: { scope: "row" } }),
          ...cells.map(({ text }, column) => el("td", { ...align(column), text: whole(text) })),
        ]))),
      );
      frame.scrollTo(0, 0);
      measure();
    },
  };
}
