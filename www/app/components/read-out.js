// What stands at the place under the pointer: the values of the maps in view in bold, then the others, and the same over the region that
// the place lies in. Of many maps the others are folded away. Where nothing is pointed at, the help.

import { el, reconcile, setAttribute, setText } from "../dom.js";
import { AT_A_GLANCE, foldedValues, placeText, regionValues } from "../reading.js";

/** @typedef {import("../types.js").ReadOut} ReadOut */
/** @typedef {import("../types.js").ReadValue} ReadValue */
/** @typedef {import("../types.js").MapSummary} MapSummary */

const HELP = "Point at the picture to read every map there. By keyboard: arrows move, +\u00a0and\u00a0−\u00a0zoom, ?\u00a0lists all keys.";
const HELP_UNREADABLE = "Drag to move, turn the wheel to zoom. By keyboard: arrows move, +\u00a0and\u00a0−\u00a0zoom, ?\u00a0lists all keys.";
const HELP_TOUCH = "Touch the picture to read every map there. One finger moves it, two zoom.";
const HELP_TOUCH_UNREADABLE = "One finger moves the picture, two zoom.";

/** @param {HTMLElement} root
 * @returns {{show: (read_out: ReadOut|null) => void, update: (maps: MapSummary[], in_view: string[], readable: boolean, with_region: boolean) => void}} */
export function createReadOut(root) {
  const place = el("p", { class: "view-place" });
  const values = el("ul", { class: "view-values" });
  const region_text = el("p");
  const region_values = el("ul", { class: "view-values" });
  const region = el("div", { class: "view-region" }, [region_text, region_values]);
  const said = el("div", { class: "view-said" }, [place, values, region]);
  const help_keys = el("span", { class: "view-help-keys" });
  const help_touch = el("span", { class: "view-help-touch" });
  const help = el("p", { class: "view-help", attrs: { id: "view-help" } }, [help_keys, help_touch]);
  // As high as a read-out of the maps at a place, so that the picture does not jump when the pointer comes and goes.
  const room = el("ul", { class: "view-values view-room", attrs: { "aria-hidden": "true" } });
  const more = el("button", { class: "view-more", attrs: { type: "button", "aria-expanded": "false" }, on: { click: () => {
    all = !all;
    draw();
  } } });
  root.append(el("div", { class: "view-read-body" }, [said, help, room]), more);
  /** @type {string[]} */
  let in_view = [];
  /** @type {MapSummary[]} */
  let maps = [];
  let all = false;
  /** @type {ReadOut|null} */
  let last = null;

  /** @param {HTMLElement} list @param {ReadValue[]} shown */
  function fill(list, shown) {
    reconcile(list, shown, ({ map }) => map, () => el("li", { class: "view-value" }, [el("span", { class: "view-value-label" }), el("span")]),
      (item, { map, label, text }) => {
        setText(/** @type {Node} */ (item.children[0]), label);
        setText(/** @type {Node} */ (item.children[1]), text);
        item.classList.toggle("view-value-shown", in_view.includes(map));
      });
    list.hidden = shown.length === 0;
  }

  function draw() {
    const empty = last === null || (last.text === "" && last.values.length === 0);
    said.hidden = empty;
    help.classList.toggle("view-help-away", !empty);
    more.hidden = maps.length <= AT_A_GLANCE;
    setText(more, all ? "Only maps in view" : `All ${maps.length} maps`);
    setAttribute(more, "aria-expanded", String(all));
    root.classList.toggle("view-read-all", all);
    reconcile(room, foldedValues(maps.map(({ id, label }) => ({ map: id, label })), in_view, all).shown, ({ map }) => map, () => el("li"), (item, { label }) => setText(item, label));
    if (last === null || empty) return;
    setText(place, placeText(last));
    fill(values, foldedValues(last.values, in_view, all).shown);
    const over = last.region ?? null;
    setText(region_text, over?.text ?? "");
    region.hidden = over === null;
    if (over !== null) fill(region_values, regionValues(over.values, in_view, all));
  }

  return {
    show(read_out) {
      last = read_out;
      draw();
    },
    update(next, now_in_view, readable, with_region) {
      room.classList.toggle("view-room-region", with_region);
      setText(help_keys, readable ? HELP : HELP_UNREADABLE);
      setText(help_touch, readable ? HELP_TOUCH : HELP_TOUCH_UNREADABLE);
      maps = next;
      in_view = now_in_view;
      draw();
    },
  };
}
