// What stands in the view of findings: the fields of a view that was just kept, and the picture of a finding as it was kept, over the views.

import { el, setText } from "../../dom.js";
import { findingOpen, isKeptInSight } from "../../findings-state.js";
import { createKeeping } from "./keeping.js";
import { createKeptPicture } from "./kept-pictures.js";

/** @typedef {import("../../state.js").State} State */

/** @param {HTMLElement} root @param {HTMLElement} panes whose place the kept picture takes @param {import("../../controller.js").Send} send
 * @param {() => import("../../findings-control.js").Seen} seen @param {() => void} left
 * @returns {{keep: () => void, update: (state: State) => void}} */
export function createKeepView(root, panes, send, seen, left) {
  const keeping = createKeeping("view", send, seen, left);
  root.append(keeping.element);
  const picture = createKeptPicture();
  const said = el("p", { class: "kept-said" });
  const away = el("button", { class: "view-tool", attrs: { type: "button" }, on: { click: () => send({ type: "see_now" }) } });
  const cover = el("section", { class: "kept-picture", attrs: { "aria-label": "Kept picture", hidden: true } }, [el("div", { class: "kept-line" }, [said, away]), picture.element]);
  panes.before(cover);
  /** @type {State|null} */
  let now = null;
  return {
    keep() {
      if (now !== null && !isKeptInSight(now) && now.maps.length + now.photos.length > 0) keeping.keep();
    },
    update(state) {
      now = state;
      keeping.update(state);
      const in_sight = isKeptInSight(state);
      cover.hidden = !in_sight;
      const finding = findingOpen(state);
      picture.update(in_sight ? state.opened?.picture ?? null : null, finding === null ? "Kept picture" : `Finding ${finding.place}: ${finding.picture?.caption || finding.title}`);
      if (!in_sight || finding === null) return;
      setText(said, `Finding ${finding.place}, as it was kept`);
      setText(away, "See the view as it is now");
      away.hidden = state.maps.length + state.photos.length === 0;
    },
  };
}
