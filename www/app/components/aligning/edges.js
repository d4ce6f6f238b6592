// The object's corner and edges: stated by three places, so that positions can be said from them.

import { edgesBegun } from "../../aligning-state.js";
import { el, setText } from "../../dom.js";
import { createWord } from "./word.js";

/** @typedef {import("../../state.js").State} State */
/** @typedef {import("../../types.js").Corner} Corner */

const CORNERS = ["upper left", "upper right", "lower right", "lower left"].map((value) => ({ value, text: `${value} corner`, detail: "" }));

/** @param {HTMLElement} root positioned @param {import("../../controller.js").Send} send @param {() => void} begun the hand goes to the pictures
 * @returns {{update: (state: State) => void}} */
export function createEdges(root, send, begun) {
  /** @type {State|null} */
  let state = null;
  const word = (/** @type {string} */ text, /** @type {() => void} */ run) => el("button", { class: "word-button", text, attrs: { type: "button" }, on: { click: run } });
  const begin = (/** @type {Corner|undefined} */ corner = undefined) => {
    if (state?.aligning == null) return;
    send({ type: "align_edit", next: edgesBegun(state.aligning, state.object, corner) });
    begun();
  };
  const text = el("p", { class: "aligning-text", attrs: { role: "status" } });
  const corner = createWord(root, "Corner of the object", (value) => begin(/** @type {Corner} */ (value)));
  const sentence = el("p", { class: "sentence-words" }, ["Marked from the ", corner.element, "."]);
  const mark = word("Mark them", () => begin());
  const done = word("Done with the edges", () => {
    if (state?.aligning != null) send({ type: "align_edit", next: { ...state.aligning, edges: null } });
    mark.focus();
  });
  const forget = word("Forget them", () => send({ type: "forget_object" }));
  root.append(el("h3", { class: "aligning-heading", text: "Object’s edges" }), text, sentence, el("p", { class: "aligning-acts" }, [mark, done, forget]));

  return {
    update(next) {
      state = next;
      const { aligning, object } = next;
      if (aligning === null) return;
      const { edges } = aligning;
      setText(text, object !== null ? object.text : edges === null ? "Not marked: positions are said from the corner of the maps." : "");
      text.hidden = text.textContent === "";
      sentence.hidden = edges === null;
      if (edges !== null) corner.show(CORNERS, edges.corner);
      setText(mark, object === null ? "Mark them" : "Change them");
      mark.hidden = edges !== null;
      done.hidden = edges === null;
      forget.hidden = object === null;
    },
  };
}
