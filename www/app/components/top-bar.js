// The line at the top: name, what is open or being read, and adding files.

import { el, setText } from "../dom.js";

/** @typedef {import("../state.js").State} State */

/** @param {HTMLElement} root @param {import("../controller.js").Send} send @param {() => void} choose_files
 * @param {{text: string, go: () => void}[]} skips places that the keyboard can go to at once, seen when they have the focus
 * @returns {{update: (state: State) => void}} */
export function createTopBar(root, send, choose_files, skips) {
  const skip_buttons = skips.map(({ text, go }) => el("button", { class: "button top-bar-skip", text, attrs: { type: "button" }, on: { click: go } }));
  const title = el("p", { class: "top-bar-title" });
  const reading_text = el("span", { class: "top-bar-reading-text", attrs: { role: "status" } });
  const bar = el("progress", { attrs: { "aria-label": "Files read" } });
  const stop = el("button", { class: "quiet-button", text: "Stop", attrs: { type: "button" }, on: { click: () => send({ type: "stop_reading" }) } });
  const reading = el("div", { class: "top-bar-reading", attrs: { hidden: true } }, [bar, reading_text, stop]);
  const add = el("button", { class: "button", text: "Add files", attrs: { type: "button" }, on: { click: choose_files } });
  root.append(
    el("h1", { class: "top-bar-name", text: "Limner" }),
    ...skip_buttons,
    title,
    reading,
    el("p", { class: "top-bar-promise", text: "Nothing leaves this computer" }),
    add,
  );
  return {
    update(state) {
      setText(title, state.maps.length > 0 ? state.grid?.text ?? "" : "");
      reading.hidden = state.reading === null;
      title.hidden = state.reading !== null;
      if (state.reading !== null) {
        bar.max = state.reading.total;
        bar.value = state.reading.done;
        setText(reading_text, `Reading ${state.reading.done + 1} of ${state.reading.total}: ${state.reading.name}`);
        stop.hidden = state.reading.total < 2;
      }
      for (const skip of skip_buttons) skip.hidden = state.maps.length === 0;
      // While the page is empty, the same button stands in its middle.
      add.hidden = state.maps.length + state.photos.length === 0 || state.phase === "broken";
    },
  };
}
