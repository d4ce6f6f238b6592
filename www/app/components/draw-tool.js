// The word "Draw" above the picture, and what it opens.

import { el, setAttribute } from "../dom.js";
import { openListbox } from "./listbox.js";

/** @typedef {import("../state.js").State} State */

const CHOICES = [
  { value: "rectangle", text: "Draw a rectangle", detail: "from corner to corner" }, { value: "polygon", text: "Draw a polygon", detail: "point by point" },
  { value: "freehand", text: "Draw freehand", detail: "along an edge" }, { value: "colour", text: "By the photo’s colour", detail: "picked on the picture" }, { value: "list", text: "List of regions", detail: "left of the picture" },
  { value: "point", text: "Add an analysis point", detail: "where another technique measured" },
];

/** @param {HTMLElement} root positioned; the list opens in it @param {import("../controller.js").Send} send @param {() => State|null} state
 * @returns {{element: HTMLButtonElement, open: () => void, toggle_outlines: () => void}} */
export function createDrawTool(root, send, state) {
  const element = el("button", { class: "view-tool", text: "Draw", attrs: { type: "button" }, on: { click: open } });
  element.title = "Draw a region";
  setAttribute(element, "aria-haspopup", "listbox");
  setAttribute(element, "aria-expanded", "false");
  /** @type {(() => void)|null} */
  let close = null;

  function toggleOutlines() {
    send({ type: "show_outlines", on: state()?.outlines !== true });
  }

  function open() {
    if (close) return close();
    const now = state();
    const outlines = { value: "outlines", text: now?.outlines ? "Hide the outlines" : "Show the outlines", detail: "" };
    close = openListbox(element, root, {
      label: "Regions", chosen: null, choices: now?.regions.length ? [...CHOICES, outlines] : CHOICES, closed: () => (close = null),
      choose: (value) => {
        if (value === "outlines") return toggleOutlines();
        if (value === "list") return send({ type: "open_regions", open: true });
        if (value === "colour") return send({ type: "pick_colours" });
        if (value === "point") return send({ type: "add_point" });
        send({ type: "draw_region", tool: /** @type {import("../drawing.js").Tool} */ (value) });
      },
    });
  }

  return { element, open, toggle_outlines: toggleOutlines };
}
