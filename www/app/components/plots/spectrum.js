// A spectrum, counts on a logarithmic axis, with marks where lines of chosen elements lie. Labels stand above the field, in rows
// where they would cover each other; of many lines in one place the weakest have none. A line that is not excited is dashed.

import { el } from "../../dom.js";
import { labelRows } from "../../spectra-state.js";
import { createFrame, crisp, stroke } from "./frame.js";

/** @typedef {import("../../types.js").SpectrumPlot} SpectrumPlot */

const ROW_PX = 17;
/** Marks of so many elements differ in colour; of more they repeat. */
const COLOURS = 3;

/** @param {SpectrumPlot} plot
 * @returns {import("./plot.js").Drawn} */
export function createSpectrum(plot) {
  const elements = [...new Set(plot.marks.map(({ element }) => element))];
  const colourOf = (/** @type {string} */ element) => `plot-${(elements.indexOf(element) % COLOURS) + 2}`;
  const labels = el("div", { class: "spectrum-labels", attrs: { "aria-hidden": "true" } });
  const texts = plot.marks.map(({ label, element, is_excited, text }) => {
    const one = el("span", { class: is_excited ? "spectrum-label" : "spectrum-label spectrum-label-quiet", text: label });
    one.title = text;
    one.style.color = `var(--${colourOf(element)})`;
    return one;
  });
  labels.append(...texts);

  const frame = createFrame({ ...plot, label: "" }, ({ pen, width, height, colour }) => {
    for (const text of texts) text.hidden = false;
    const rows = labelRows(plot.marks.map(({ at, share }, index) => ({ at: at * width, width: texts[index]?.offsetWidth ?? 0, weight: share })), width);
    const deep = rows.reduce((most, place) => Math.max(most, (place?.row ?? -1) + 1), 0);
    labels.style.height = `${deep * ROW_PX}px`;
    texts.forEach((text, index) => {
      const place = rows[index] ?? null;
      text.hidden = place === null;
      text.style.left = `${place?.left ?? 0}px`;
      text.style.top = `${(deep - 1 - (place?.row ?? 0)) * ROW_PX}px`;
    });
    for (const { at, element, is_excited, share } of plot.marks) {
      // Weak lines stand back.
      pen.globalAlpha = 0.4 + 0.6 * Math.min(1, Math.max(0, share ?? 1));
      stroke(pen, colour(colourOf(element)), 1, [[crisp(at * width), 0], [crisp(at * width), height]], is_excited ? [] : [3, 3]);
    }
    pen.globalAlpha = 1;
    stroke(pen, colour("plot-1"), 1.25, plot.points.map(([x, y]) => [x * width, (1 - y) * height]));
  }, "plot-spectrum");
  frame.element.querySelector(".plot-y-title")?.after(labels);
  frame.element.append(el("p", { class: "plot-note", text: plot.note }));
  // What marks say, for those who do not see them.
  if (plot.marks.length > 0) frame.element.append(el("ul", { class: "visually-hidden", attrs: { "aria-label": "Lines" } }, plot.marks.map(({ text }) => el("li", { text }))));
  return { element: frame.element, redraw: frame.redraw };
}
