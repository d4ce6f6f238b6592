// Another scan against the first, once it is laid: how bright it is where both overlap, and its map laid on the grid for looking.

import { el, reconcile, setText } from "../../dom.js";
import { comparedOf } from "../../scans-state.js";

/** @typedef {import("../../state.js").State} State */

/** @param {HTMLElement} root @param {import("../../controller.js").Send} send
 * @returns {{update: (state: State) => void}} */
export function createScanPart(root, send) {
  /** @type {State|null} */
  let state = null;
  const word = (/** @type {string} */ text, /** @type {() => void} */ run) => el("button", { class: "word-button", text, attrs: { type: "button" }, on: { click: run } });
  const scan = () => state?.aligning?.scan ?? null;
  const compare = word("Compare their counts", () => {
    const now = scan();
    if (now !== null) send({ type: "compare_scans", map: now.map, first: now.first });
  });
  const lay = word("Lay on the grid", () => {
    const now = scan();
    if (now !== null) send({ type: "lay_on_grid", map: now.map });
  });
  const said = el("ul", { class: "aligning-compared", attrs: { role: "status" } });
  const trouble = el("p", { class: "aligning-trouble", attrs: { role: "alert" } });
  const bar = el("progress", { attrs: { max: 1, "aria-label": "Laying on the grid" } });
  const doing = el("span", { class: "aligning-doing" });
  const cancel = el("button", { class: "button", text: "Cancel", attrs: { type: "button" }, on: { click: () => send({ type: "cancel_make" }) } });
  const running = el("p", { class: "aligning-running" }, [bar, doing, cancel]);
  const made = el("ul", { class: "aligning-made", attrs: { role: "status" } });
  const failed = el("p", { class: "aligning-trouble", attrs: { role: "alert" } });
  root.append(el("h3", { class: "aligning-heading", text: "Against the first scan" }), el("p", { class: "aligning-acts" }, [compare, lay]), running, failed, made, said, trouble);
  let was_running = false;

  return {
    update(next) {
      state = next;
      const { aligning, maps, making, make_troubles } = next;
      const now = aligning?.scan ?? null;
      const is_laid = aligning !== null && !aligning.unsent && aligning.alignment !== null && aligning.alignment.trouble === "";
      root.hidden = now === null || !is_laid;
      if (now === null || !is_laid) return;
      const compared = comparedOf(next, now);
      compare.disabled = compared?.busy ?? false;
      lay.disabled = making !== null;
      const texts = compared === null ? [] : compared.busy ? ["Comparing"] : compared.found?.text ?? [];
      said.hidden = texts.length === 0;
      reconcile(said, texts, (_, index) => String(index), () => el("li"), (line, text) => setText(line, text));
      setText(trouble, compared?.trouble ?? "");
      trouble.hidden = trouble.textContent === "";
      running.hidden = making === null;
      if (making !== null) {
        if (making.fraction > 0) bar.value = making.fraction;
        else bar.removeAttribute("value");
        setText(doing, making.text);
      }
      setText(failed, make_troubles.join(" "));
      failed.hidden = failed.textContent === "";
      const results = maps.filter((map) => next.made.includes(map.id) && map.derived?.of.some((id) => maps.find((one) => one.id === id)?.field === now.field));
      made.hidden = results.length === 0;
      reconcile(made, results, ({ id }) => id, ({ id }) => el("li", {}, ["Made: ", word("", () => {
        send({ type: "choose_map", id });
        send({ type: "close_aligning" });
      })]), (line, map) => setText(/** @type {HTMLElement} */ (line.querySelector("button")), map.derived?.text || map.label));
      // What is pressed and gone leaves the focus to what can be done next.
      const is_running = making !== null;
      if (is_running !== was_running && (root.contains(document.activeElement) || document.activeElement === document.body)) (is_running ? cancel : lay).focus();
      was_running = is_running;
    },
  };
}
