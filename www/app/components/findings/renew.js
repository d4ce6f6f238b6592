// What has changed since a finding was kept, and asking it again, with how far that is.

import { el, reconcile, setText } from "../../dom.js";
import { unbroken } from "../../words.js";

/** @typedef {import("../../state.js").State} State */
/** @typedef {import("../../types.js").Finding} Finding */

/** @param {import("../../controller.js").Send} send
 * @returns {{element: HTMLElement, update: (state: State, finding: Finding, left: HTMLElement|null, more?: string[]) => void}} `left`: where the focus goes when nothing has changed any more */
export function createRenew(send) {
  let id = "";
  const list = el("ul", { class: "finding-changed-list" });
  const renew = el("button", { class: "button finding-renew", attrs: { type: "button" }, on: { click: () => send({ type: "renew_finding", id }) } });
  const bar = el("progress", { attrs: { max: 1, "aria-label": "Asking again" } });
  const text = el("span", { class: "finding-progress-text" });
  const cancel = el("button", { class: "button", text: "Cancel", attrs: { type: "button" }, on: { click: () => send({ type: "cancel_renew" }) } });
  const progress = el("p", { class: "finding-progress", attrs: { role: "status" } }, [bar, text, cancel]);
  const element = el("div", { class: "finding-changed" }, [list, renew, progress]);
  return {
    element,
    update(state, finding, left, more = []) {
      id = finding.id;
      const lines = [...finding.changed, ...more];
      element.hidden = lines.length === 0;
      reconcile(list, lines, (_, index) => String(index), () => el("li"), (line, one) => setText(line, unbroken(one, state.maps)));
      const now = state.renewing?.id === finding.id ? state.renewing : null;
      const had_focus = element.contains(document.activeElement);
      setText(renew, finding.question === null ? "Draw it again as it is now" : "Ask again with what is there now");
      renew.hidden = !finding.can_renew || now !== null;
      renew.disabled = state.renewing !== null;
      progress.hidden = now === null;
      if (now?.progress && now.progress.fraction > 0) bar.value = now.progress.fraction;
      else bar.removeAttribute("value");
      setText(text, now?.progress?.text || "Computing");
      const next = element.hidden ? null : now !== null ? cancel : renew;
      if (had_focus && (!element.contains(document.activeElement) || !element.checkVisibility())) (next ?? left)?.focus();
    },
  };
}
