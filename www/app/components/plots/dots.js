// Values with both their intervals on one axis: the thick line is counting alone, the thin one has the systematic part as well.

import { el } from "../../dom.js";
import { endOf, ticksThatFit } from "../../plotting.js";

/** @typedef {import("../../types.js").DotsPlot} DotsPlot */

const LETTER_PX = 7;
const AIR_PX = 10;

/** @param {DotsPlot} plot
 * @returns {import("./plot.js").Drawn} */
export function createDots({ label, note, rows, x }) {
  const per_cent = (/** @type {number} */ share) => `${Math.min(1, Math.max(0, share)) * 100}%`;
  /** @param {string} kind @param {number|null} low @param {number|null} high */
  function span(kind, low, high) {
    if (low === null || high === null) return [];
    const line = el("span", { class: kind });
    line.style.left = per_cent(low);
    line.style.width = `${Math.max(0, Math.min(1, high) - Math.max(0, low)) * 100}%`;
    return [line];
  }
  const point = (/** @type {number|null} */ at) => {
    if (at === null) return [];
    const dot = el("span", { class: "dots-dot" });
    dot.style.left = per_cent(at);
    return [dot];
  };
  const rule = () => x.ticks.map(({ at }) => {
    const line = el("span", { class: "dots-rule" });
    line.style.left = per_cent(at);
    return line;
  });
  const ticks = el("span", { class: "dots-ticks" });
  const body = el("div", { class: "dots", attrs: { role: "img", "aria-label": [label, note].filter(Boolean).join(". ") } }, [
    ...rows.flatMap((row) => [
      el("span", { class: "dots-label", text: row.label }),
      el("span", { class: "dots-track" }, [...rule(), ...span("dots-all", row.low_all, row.high_all), ...span("dots-counting", row.low, row.high), ...point(row.at)]),
      el("span", { class: "dots-text", text: row.text }),
    ]),
    ticks,
  ]);
  new ResizeObserver(() => {
    const fitting = ticksThatFit(x.ticks, ticks.clientWidth, (text) => text.length * LETTER_PX + AIR_PX);
    ticks.replaceChildren(...fitting.map(({ at, text }) => {
      const tick = el("span", { class: "plot-tick", text });
      tick.style.left = per_cent(at);
      const end = endOf(at);
      if (end !== undefined) tick.dataset.end = end;
      return tick;
    }));
  }).observe(ticks);
  return {
    element: el("figure", { class: "plot" }, [
      ...(label === "" ? [] : [el("figcaption", { class: "plot-label", text: label })]),
      body,
      el("p", { class: "plot-title dots-title", text: x.label }),
      ...(note === "" ? [] : [el("p", { class: "plot-note", text: note })]),
    ]),
  };
}
