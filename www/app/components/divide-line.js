// The line that divides maps from photo: over the picture, moved by hand or by keys.

import { el, setAttribute } from "../dom.js";
import { mixText, stepped } from "../under-state.js";

/** @typedef {import("../state.js").State} State */
/** @typedef {import("./pane.js").Pane} Pane */

/** @param {Pane} pane @param {import("../controller.js").Send} send
 * @returns {{update: (state: State) => void}} */
export function createDivideLine(pane, send) {
  /** @type {import("../under-state.js").Under|null} */
  let under = null;
  const line = el("div", { class: "divide-line", attrs: { role: "slider", tabindex: 0, "aria-label": "Line between maps and photo", "aria-valuemin": 0, "aria-valuemax": 100, hidden: true } }, [
    el("span", { class: "divide-grip" }),
  ]);
  pane.stage.append(line);

  function move(/** @type {number} */ at) {
    if (under?.divide) send({ type: "photo_under", under: { ...under, divide: { ...under.divide, at } } });
  }

  line.addEventListener("pointerdown", (event) => {
    if (event.button !== 0) return;
    line.setPointerCapture(event.pointerId);
    line.focus();
    event.preventDefault();
  });
  line.addEventListener("pointermove", (event) => {
    if (!line.hasPointerCapture(event.pointerId) || !under?.divide) return;
    const { left, top, width, height } = pane.stage.getBoundingClientRect();
    const at = under.divide.along === "x" ? (event.clientX - left) / width : (event.clientY - top) / height;
    move(Math.min(1, Math.max(0, at)));
  });
  line.addEventListener("keydown", (event) => {
    if (!under?.divide || event.ctrlKey || event.metaKey || event.altKey) return;
    const at = stepped(under.divide.at, event.key, event.shiftKey);
    if (at === null) return;
    event.preventDefault();
    event.stopPropagation();
    move(at);
  });

  return {
    update({ photo_under }) {
      const settings = pane.target()?.settings;
      const had_focus = document.activeElement === line;
      under = photo_under;
      line.hidden = pane.element.hidden || settings === undefined || !("divide" in settings) || settings.divide === undefined;
      if (line.hidden && had_focus) pane.canvas.focus();
      const divide = under?.divide;
      if (line.hidden || !divide) return;
      line.dataset.along = divide.along;
      line.style.setProperty("--at", `${divide.at * 100}%`);
      setAttribute(line, "aria-orientation", divide.along === "x" ? "horizontal" : "vertical");
      setAttribute(line, "aria-valuenow", Math.round(divide.at * 100));
      setAttribute(line, "aria-valuetext", `${mixText(divide.at)} from ${divide.along === "x" ? "the left" : "above"}`);
    },
  };
}
