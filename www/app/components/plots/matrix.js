// All pairs of maps: a square of numbers, shaded from ochre through grey to teal. Arrows go through it, Enter or a press asks the pair.

import { el, setAttribute, setText } from "../../dom.js";
import { cellsByPlace, stepIn } from "../../plotting.js";

/** @typedef {import("../../types.js").MatrixPlot} MatrixPlot */

/** @param {string} kind @param {string} text */
function entry(kind, text) {
  return el("span", { class: "plot-entry" }, [el("span", { class: kind }), text]);
}

/** @param {MatrixPlot} plot @param {import("../../controller.js").Send} send
 * @returns {import("./plot.js").Drawn} */
export function createMatrix(plot, send) {
  const { maps, label, note } = plot;
  const cells = cellsByPlace(plot);
  /** The cell that the keyboard is at. */
  let at = { row: maps.length > 1 ? 1 : 0, column: 0 };
  const detail = el("p", { class: "matrix-detail" });
  const start = "Point at a number to read it; press it to ask about that pair.";

  const buttons = maps.map((_, row) => maps.map((__, column) => make(row, column)));
  const table = el("table", { class: "matrix", attrs: { role: "grid", "aria-label": [label, note].filter(Boolean).join(". ") } }, [
    el("thead", {}, [el("tr", {}, [el("td"), ...maps.map(({ label }) => el("th", { attrs: { scope: "col" } }, [el("span", { text: label })]))])]),
    el("tbody", {}, maps.map(({ label }, row) => el("tr", {}, [el("th", { text: label, attrs: { scope: "row" } }), .../** @type {HTMLElement[]} */ (buttons[row])]))),
  ]);
  table.style.setProperty("--size", String(maps.length));
  const element = el("figure", { class: "plot" }, [
    ...(label === "" ? [] : [el("figcaption", { class: "plot-label", text: label })]),
    el("div", { class: "matrix-frame" }, [table]), detail,
    el("p", { class: "matrix-key" }, [
      entry("matrix-key-low", "one where the other is not"), entry("matrix-key-high", "in the same places"),
      el("span", {}, [el("strong", { text: "Bold" }), " rise and fall together"]), entry("matrix-key-none", "cannot be judged"),
    ]),
  ]);
  setText(detail, start);

  /** @param {number} row @param {number} column */
  function make(row, column) {
    const cell = cells.get(`${row} ${column}`);
    const [down, across] = [maps[row]?.label ?? "", maps[column]?.label ?? ""];
    if (row === column || cell === undefined) {
      return el("td", { class: "matrix-none", attrs: { role: "gridcell", "aria-label": row === column ? `${down} itself` : `${down} and ${across}: not compared`, tabindex: -1 },
        on: { focus: () => tell(row, column), keydown: (event) => pressed(event) } });
    }
    const made = el("td", { class: "matrix-cell", text: cell.text, attrs: { role: "gridcell", tabindex: row === at.row && column === at.column ? 0 : -1,
      "aria-label": `${down} and ${across}: ${[cell.text, cell.verdict].filter(Boolean).join(", ")}` }, on: {
      click: () => ask(row, column),
      focus: () => tell(row, column),
      pointerenter: () => tell(row, column),
      pointerleave: () => setText(detail, element.contains(document.activeElement) ? textOf(at.row, at.column) : start),
      keydown: (event) => pressed(event),
    } });
    made.dataset.verdict = cell.verdict;
    // A share of the colour for its end; which end, the sign says.
    if (cell.shade !== null) {
      made.dataset.side = cell.shade < 0 ? "low" : "high";
      made.style.setProperty("--shade", `${Math.round(Math.min(1, Math.abs(cell.shade)) * 100)}%`);
    }
    return made;
  }

  /** @param {number} row @param {number} column */
  function textOf(row, column) {
    const cell = cells.get(`${row} ${column}`);
    if (row === column || cell === undefined) return row === column ? maps[row]?.label ?? "" : "These two were not compared.";
    return cell.detail || `${maps[row]?.label} and ${maps[column]?.label}: ${cell.text}, ${cell.verdict}`;
  }

  function tell(/** @type {number} */ row, /** @type {number} */ column) {
    setText(detail, textOf(row, column));
    table.querySelectorAll(".matrix-at").forEach((one) => one.classList.remove("matrix-at"));
    table.tHead?.rows[0]?.cells[column + 1]?.classList.add("matrix-at");
    table.tBodies[0]?.rows[row]?.cells[0]?.classList.add("matrix-at");
  }

  function ask(/** @type {number} */ row, /** @type {number} */ column) {
    const cell = cells.get(`${row} ${column}`);
    const [a, b] = [maps[cell?.a ?? -1], maps[cell?.b ?? -1]];
    if (row !== column && a !== undefined && b !== undefined) send({ type: "ask_pair", a: a.id, b: b.id });
  }

  function pressed(/** @type {KeyboardEvent} */ event) {
    if (event.key === "Enter" || event.key === " ") {
      event.preventDefault();
      ask(at.row, at.column);
      // The matrix makes way for the pair's answer; the focus goes on to the pair.
      const [word] = /** @type {NodeListOf<HTMLElement>} */ (document.querySelectorAll(".sentence-setting[data-setting='a']"));
      return word?.focus();
    }
    const next = stepIn(at, event.key, event.ctrlKey || event.metaKey, maps.length);
    if (next === null) return;
    event.preventDefault();
    const [from, to] = [buttons[at.row]?.[at.column], buttons[next.row]?.[next.column]];
    if (from) setAttribute(from, "tabindex", -1);
    at = next;
    if (!to) return;
    setAttribute(to, "tabindex", 0);
    to.focus();
  }

  for (const [row, line] of buttons.entries()) {
    for (const [column, cell] of line.entries()) cell.addEventListener("focus", () => (at = { row, column }));
  }
  return { element };
}
