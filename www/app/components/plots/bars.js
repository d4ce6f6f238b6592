// Shares as bars, each beside what it would be otherwise: "above the critical level", beside what background alone would give.

import { el } from "../../dom.js";

/** @typedef {import("../../types.js").BarsPlot} BarsPlot */

/** @param {BarsPlot} plot
 * @returns {import("./plot.js").Drawn} */
export function createBars({ label, note, rows }) {
  const length = (/** @type {string} */ kind, /** @type {number} */ share) => {
    const bar = el("span", { class: kind });
    bar.style.width = `${Math.min(1, Math.max(0, share)) * 100}%`;
    return bar;
  };
  const body = el("div", { class: "bars", attrs: { role: "img", "aria-label": [label, note].filter(Boolean).join(". ") } }, rows.flatMap((row) => [
    el("span", { class: "bars-label", text: row.label }),
    el("span", { class: "bars-track" }, [length("bars-bar", row.share), length("bars-beside", row.beside)]),
    el("span", { class: "bars-text", text: row.text }),
    el("span", { class: "bars-beside-text", text: row.beside_text }),
  ]));
  return {
    element: el("figure", { class: "plot" }, [
      ...(label === "" ? [] : [el("figcaption", { class: "plot-label", text: label })]),
      body,
      el("p", { class: "bars-key", attrs: { "aria-hidden": "true" } }, [
        el("span", { class: "plot-entry" }, [el("span", { class: "bars-key-found" }), "found"]),
        el("span", { class: "plot-entry" }, [el("span", { class: "bars-key-beside" }), "what background alone would give"]),
      ]),
    ]),
  };
}
