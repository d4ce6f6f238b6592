// Below the picture of a map: what lines of other elements do in it, in one line that unfolds; and the way to the picture of what they could give.

import { el, reconcile, setAttribute, setText } from "../dom.js";
import { byWeight, warningBasis, warningsHead, warningsSeen } from "../warnings-state.js";
import { unbroken } from "../words.js";

/** @typedef {import("../state.js").State} State */
/** @typedef {import("../types.js").LineWarning} LineWarning */

/** @param {HTMLElement} root @param {import("../controller.js").Send} send
 * @returns {{update: (state: State) => void}} */
export function createWarnings(root, send) {
  let open = false;
  /** The map whose list was unfolded last. @type {string|null} */
  let opened_for = null;
  /** @type {import("../subjects.js").Mode} */
  let mode = "map";
  const count = el("span", { class: "warnings-count" });
  const text = el("span");
  const head = el("button", { class: "warnings-head", attrs: { type: "button", "aria-expanded": "false", "aria-controls": "warnings-list" }, on: { click: () => send({ type: "open_warnings", open: !open }) } }, [count, text]);
  const turn = el("button", { class: "surround-button warnings-turn", attrs: { type: "button" }, on: { click: () => send({ type: "choose_mode", mode: mode === "overlap" ? "map" : "overlap" }) } });
  const list = el("ul", { attrs: { "aria-label": "Line warnings" } });
  const rest_words = el("summary");
  const rest_list = el("ul", { attrs: { "aria-label": "Overlaps of little weight" } });
  const rest = el("details", { class: "warnings-rest" }, [rest_words, rest_list]);
  const body = el("div", { class: "warnings-list", attrs: { id: "warnings-list" } }, [list, rest]);
  root.append(el("div", { class: "warnings-line" }, [head, turn]), body);
  root.addEventListener("keydown", (event) => {
    if (event.key !== "Escape" || !open) return;
    event.preventDefault();
    event.stopPropagation();
    send({ type: "open_warnings", open: false });
    head.focus();
  });

  function entry() {
    const said = el("p", { class: "warning-text" });
    const consequence = el("p");
    const basis = el("span", { class: "warning-basis" });
    const check = el("span");
    return Object.assign(el("li", { class: "warning" }, [said, consequence, el("p", {}, [el("strong", { text: "To check: " }), check, " ", basis])]), { parts: { said, consequence, check, basis } });
  }

  return {
    update(state) {
      const warnings = warningsSeen(state);
      const had_focus = root.contains(document.activeElement);
      root.hidden = warnings.length === 0;
      open = state.warnings_open && !root.hidden;
      mode = state.mode;
      if (root.hidden) {
        if (had_focus) /** @type {HTMLElement|null} */ (document.querySelector(".pane-active .view-canvas") ?? document.querySelector(".view-canvas"))?.focus();
        return;
      }
      const whole = (/** @type {string} */ one) => unbroken(one, state.maps);
      const of = byWeight(warnings, state.maps.find(({ id }) => id === state.map)?.marks ?? []);
      const first = warningsHead(of);
      setText(count, first.count);
      // Unfolded it stands in the list.
      setText(text, open && of.much.length > 0 ? "" : whole(first.text));
      setAttribute(head, "aria-expanded", String(open));
      setText(turn, mode === "overlap" ? "Back to the map" : "Show what overlaps could give");
      turn.hidden = mode !== "overlap" && !open;
      body.hidden = !open;
      if (!open) return;
      fill(list, of.much, `${state.map}`, whole);
      fill(rest_list, of.little, `${state.map}`, whole);
      rest.hidden = of.little.length === 0;
      // Where there is nothing else they need not be unfolded.
      if (of.much.length === 0) rest.open = true;
      else if (opened_for !== state.map) rest.open = false;
      opened_for = state.map;
      setText(rest_words, `Of little weight: ${of.little.length}`);
    },
  };

  /** @param {HTMLElement} list @param {LineWarning[]} warnings @param {string} key @param {(text: string) => string} whole */
  function fill(list, warnings, key, whole) {
    list.hidden = warnings.length === 0;
    reconcile(list, warnings, (_, index) => `${key} ${index}`, entry, ({ parts }, warning) => {
      setText(parts.said, whole(warning.text));
      setText(parts.consequence, whole(warning.consequence));
      setText(parts.check, whole(warning.check));
      const basis = warningBasis(warning);
      setText(parts.basis, basis === "" ? "" : `(${basis})`);
    });
  }
}
