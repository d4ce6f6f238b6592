// A study file that would take the place of what is open: said in place, with the choice to save first.

import { el, setText } from "../../dom.js";

/** @typedef {import("../../state.js").State} State */

/** @param {HTMLElement} root @param {import("../../controller.js").Send} send
 * @returns {{update: (state: State) => void}} */
export function createStudyWaits(root, send) {
  const said = el("p", { class: "waits-said", attrs: { role: "status" } });
  const save = el("button", { class: "button", text: "Save the open study, then open it", attrs: { type: "button" }, on: { click: () => send({ type: "open_waiting", save_first: true }) } });
  const open = el("button", { class: "button", text: "Open it", attrs: { type: "button" }, on: { click: () => send({ type: "open_waiting", save_first: false }) } });
  const leave = el("button", { class: "quiet-button", text: "Leave it", attrs: { type: "button" }, on: { click: () => send({ type: "leave_waiting" }) } });
  const trouble = el("p", { class: "waits-trouble", attrs: { role: "alert" } });
  root.append(said, el("p", { class: "waits-go" }, [save, open, leave]), trouble);
  root.addEventListener("keydown", (event) => {
    if (event.key === "Escape") send({ type: "leave_waiting" });
  });
  let was_open = false;
  return {
    update({ study_waits, handing, handed }) {
      root.hidden = study_waits === null;
      if (study_waits !== null) {
        setText(said, `“${study_waits.input.name}” is a study. Opened, it takes the place of everything that is open now; Undo brings that back.`);
        save.disabled = open.disabled = handing !== null;
        const message = handed?.what === "study" && handed.is_trouble ? handed.text : "";
        setText(trouble, message);
        trouble.hidden = message === "";
        if (!was_open) save.focus();
      }
      was_open = study_waits !== null;
    },
  };
}
