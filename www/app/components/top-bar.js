// The line at the top: name, what is being read, and adding files or a whole folder.

import { el, setAttribute, setText } from "../dom.js";
import { barOf } from "../keeping-words.js";

/** @typedef {import("../state.js").State} State */
/** @typedef {{files: () => void, folder: () => void}} Choose */

/** @param {HTMLElement} root @param {import("../controller.js").Send} send @param {Choose} choose
 * @param {{text: string, go: () => void}[]} skips places that the keyboard can go to at once, seen when they have the focus
 * @returns {{update: (state: State) => void}} */
export function createTopBar(root, send, choose, skips) {
  const skip_buttons = skips.map(({ text, go }) => el("button", { class: "button top-bar-skip", text, attrs: { type: "button" }, on: { click: go } }));
  const reading_text = el("span", { class: "top-bar-reading-text", attrs: { role: "status" } });
  const bar = el("progress", { attrs: { "aria-label": "Files read" } });
  const stop = el("button", { class: "quiet-button", text: "Stop", attrs: { type: "button" }, on: { click: () => send({ type: "stop_reading" }) } });
  const reading = el("div", { class: "top-bar-reading" }, [bar, reading_text, stop]);
  const add = el("button", { class: "button", text: "Add files", attrs: { type: "button" }, on: { click: choose.files } });
  const folder = el("button", { class: "button", text: "Add a folder", attrs: { type: "button" }, on: { click: choose.folder } });
  const object = el("p", { class: "top-bar-object" });
  const back = { undo: step("Undo", "undo"), redo: step("Redo", "redo") };
  const told = el("p", { class: "visually-hidden", attrs: { "aria-live": "polite" } });
  const steps = el("div", { class: "top-bar-steps" }, [back.undo, back.redo]);
  const kept = el("button", { class: "word-button top-bar-kept", attrs: { type: "button" }, on: { click: () => send({ type: "open_keeping", open: kept.getAttribute("aria-expanded") !== "true" }) } });
  root.append(
    el("h1", { class: "top-bar-name", text: "Limner" }), object,
    ...skip_buttons,
    reading, steps, told, kept,
    el("p", { class: "top-bar-promise", text: "Nothing leaves this computer" }),
    add, folder,
  );

  function step(/** @type {string} */ text, /** @type {"undo"|"redo"} */ type) {
    return el("button", { class: "quiet-button", text, attrs: { type: "button" }, on: { click: () => send({ type }) } });
  }

  return {
    update(state) {
      setText(object, state.about?.object ?? "");
      setAttribute(object, "title", state.about?.object ?? "");
      object.hidden = object.textContent === "";
      const { history } = state;
      steps.hidden = history.undo + history.redo === 0;
      for (const [type, text] of /** @type {["undo"|"redo", string][]} */ ([["undo", history.undo_text], ["redo", history.redo_text]])) {
        const button = back[type];
        // Not disabled: the focus would be lost at the last step.
        setAttribute(button, "aria-disabled", history[type] === 0 ? "true" : false);
        button.title = history[type] === 0 ? "" : `${button.textContent}: ${text}`;
        setAttribute(button, "aria-description", history[type] === 0 ? "" : text);
      }
      setText(told, state.told);
      const words = barOf(state.stored, state.maps.length + state.photos.length + state.findings.length === 0);
      setText(kept, words?.text ?? "");
      kept.hidden = words === null;
      kept.classList.toggle("top-bar-kept-trouble", words?.is_trouble ?? false);
      setAttribute(kept, "aria-expanded", String(state.stored.is_open));
      const { reading: now, looking } = state;
      const is_idle = now === null && looking === null;
      // Its place stays, so that nothing beside it moves.
      reading.classList.toggle("top-bar-idle", is_idle);
      if (now !== null) {
        bar.max = now.total;
        bar.value = now.done;
        setText(reading_text, now.total === 1 ? `Reading ${now.name}` : `Reading ${now.done + 1} of ${now.total}, ${now.name}`);
      } else if (looking !== null) {
        bar.removeAttribute("value");
        setText(reading_text, looking === 0 ? "Looking through the folder" : `Looking through the folder: ${looking} files so far`);
      } else setText(reading_text, "");
      bar.hidden = is_idle;
      stop.hidden = is_idle || (now !== null && now.total < 2);
      for (const skip of skip_buttons) skip.hidden = state.maps.length === 0;
      // While the page is empty, the same buttons stand in its middle.
      add.hidden = folder.hidden = state.maps.length + state.photos.length === 0 || state.phase === "broken";
    },
  };
}
