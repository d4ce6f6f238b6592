// The first sight of the page: one sentence, a place to drop files, and the example.

import { el, setText } from "../dom.js";

/** @typedef {import("../state.js").State} State */

/** @param {HTMLElement} root @param {import("../controller.js").Send} send @param {import("./top-bar.js").Choose} choose @param {boolean} has_example
 * @returns {{update: (state: State) => void}} */
export function createEmpty(root, send, choose, has_example) {
  const sentence = el("p", { class: "empty-sentence" });
  const add = el("button", { class: "button button-strong", text: "Add files", attrs: { type: "button" }, on: { click: choose.files } });
  const folder = el("button", { class: "button", text: "Add a folder", attrs: { type: "button" }, on: { click: choose.folder } });
  const example = el("button", { class: "button", text: "Open the example", attrs: { type: "button" }, on: { click: () => send({ type: "open_example" }) } });
  example.hidden = !has_example;
  const place = el("div", { class: "empty-place" }, [
    el("p", { class: "empty-drop", text: "Drop the maps of one scan, or their folder, anywhere on this page." }),
    el("p", { class: "empty-formats", text: "TIFF, NPY, grey PNG or JPEG, or text as a spreadsheet writes it; one line in each file or many, also as ZIP. A colour photo, if there is one. Or a study that was saved here." }),
    el("div", { class: "empty-buttons" }, [add, folder, example]),
  ]);
  root.append(sentence, place);
  return {
    update(state) {
      root.hidden = state.maps.length + state.photos.length + state.findings.length > 0;
      const broken = state.phase === "broken";
      setText(sentence, broken
        ? `Limner cannot run in this browser. ${state.trouble?.message ?? ""}`
        : "Look at a stack of XRF element maps, ask it a question, and see how far the answer can be trusted.");
      place.hidden = broken;
      // Pressed before the core is there, the files simply wait for it; while files are read there is nothing to press.
      add.disabled = folder.disabled = example.disabled = state.reading !== null || state.looking !== null;
    },
  };
}
