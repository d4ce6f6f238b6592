// "Find it for me": the search with its progress, and what it proposes, which nothing takes over but the user.

import { el, setText } from "../../dom.js";

/** @typedef {import("../../aligning-state.js").Aligning} Aligning */

/** @param {HTMLElement} root @param {import("../../controller.js").Send} send
 * @returns {{update: (aligning: Aligning|null) => void}} */
export function createFinding(root, send) {
  const button = (/** @type {string} */ text, /** @type {import("../../controller.js").Action} */ action, name = "button") =>
    el("button", { class: name, text, attrs: { type: "button" }, on: { click: () => send(action) } });
  const find = button("Find it for me", { type: "align_find" });
  const help = el("p", { class: "aligning-help", text: "Looks for where the photo lies by what photo and maps tell of each other. It proposes; you decide." });
  const bar = el("progress", { attrs: { max: 1, "aria-label": "Search" } });
  const doing = el("span", { class: "aligning-doing" });
  const running = el("p", { class: "aligning-running" }, [bar, doing, button("Cancel", { type: "align_stop" })]);
  const text = el("p", { class: "aligning-text", attrs: { role: "status" } });
  const take = button("Take it over", { type: "align_take" }, "button button-strong");
  const refuse = button("No", { type: "align_refuse" });
  const acts = el("p", { class: "aligning-acts" }, [take, refuse]);
  root.append(find, help, running, text, acts);
  let was = "";

  return {
    update(aligning) {
      root.hidden = aligning === null || aligning.photo === null;
      if (aligning === null) return;
      const { finding, found } = aligning;
      running.hidden = finding === null;
      find.hidden = help.hidden = finding !== null || found !== null;
      bar.value = finding?.fraction ?? 0;
      setText(doing, finding?.text ?? "");
      text.hidden = acts.hidden = found === null;
      setText(text, found === null ? "" : found.is_accepted ? `${found.text} The photo is drawn over the maps as it would lie. Is it right?` : `${found.text} Set matching points by hand.`);
      take.hidden = found === null || !found.is_accepted;
      setText(refuse, found?.is_accepted ? "No" : "Close");
      // The focus goes on with what can be done next.
      const now = finding !== null ? "finding" : found !== null ? "found" : "";
      if (now !== was && (root.contains(document.activeElement) || document.activeElement === document.body)) {
        const next = now === "finding" ? running.querySelector("button") : now === "found" ? (found?.is_accepted ? take : refuse) : find;
        next?.focus();
      }
      was = now;
    },
  };
}
