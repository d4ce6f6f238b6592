// What stands at the place under the pointer: every map's value, those in the view in bold. Where nothing is pointed at, the help.

import { el, reconcile, setText } from "../dom.js";

/** @typedef {import("../types.js").ReadOut} ReadOut */
/** @typedef {import("../types.js").MapSummary} MapSummary */

const KEYS = "By keyboard: arrows move, +\u00a0and\u00a0−\u00a0zoom, 0\u00a0fits";
const HELP = `Point at the picture to read every map there. ${KEYS}, Shift with an arrow reads single pixels.`;
const HELP_UNREADABLE = `Drag to move, turn the wheel to zoom. ${KEYS}.`;
const HELP_TOUCH = "Touch the picture to read every map there. One finger moves it, two zoom.";
const HELP_TOUCH_UNREADABLE = "One finger moves the picture, two zoom.";

/** @param {HTMLElement} root
 * @returns {{show: (read_out: ReadOut|null) => void, update: (maps: MapSummary[], in_view: Set<string>, readable: boolean) => void}} */
export function createReadOut(root) {
  const place = el("p", { class: "view-place" });
  const values = el("ul", { class: "view-values" });
  const said = el("div", { class: "view-said" }, [place, values]);
  const help_keys = el("span", { class: "view-help-keys" });
  const help_touch = el("span", { class: "view-help-touch" });
  const help = el("p", { class: "view-help", attrs: { id: "view-help" } }, [help_keys, help_touch]);
  // As high as a read-out of all maps, so that the picture does not jump when the pointer comes and goes.
  const room = el("ul", { class: "view-values view-room", attrs: { "aria-hidden": "true" } });
  root.append(said, help, room);
  let bold = new Set(/** @type {string[]} */ ([]));

  function embolden() {
    for (const item of /** @type {HTMLElement[]} */ ([...values.children])) item.classList.toggle("view-value-shown", bold.has(item.dataset.key ?? ""));
  }

  function show(/** @type {ReadOut|null} */ read_out) {
    const empty = read_out === null || (read_out.text === "" && read_out.values.length === 0);
    said.hidden = empty;
    help.hidden = !empty;
    if (read_out === null || empty) return;
    setText(place, read_out.text);
    reconcile(values, read_out.values, ({ map }) => map, () => el("li", { class: "view-value" }, [el("span", { class: "view-value-label" }), el("span")]),
      (item, { label, text }) => {
        setText(/** @type {Node} */ (item.children[0]), label);
        setText(/** @type {Node} */ (item.children[1]), text);
      });
    embolden();
  }

  show(null);
  return {
    show,
    update(maps, in_view, readable) {
      setText(help_keys, readable ? HELP : HELP_UNREADABLE);
      setText(help_touch, readable ? HELP_TOUCH : HELP_TOUCH_UNREADABLE);
      bold = in_view;
      embolden();
      reconcile(room, maps, ({ id }) => id, () => el("li"), (item, { label }) => setText(item, label));
    },
  };
}
