// Below the picture, while a region is drawn or proposed: what to do, how large it is by now, and the words that end it.

import { el, setAttribute, setText } from "../dom.js";
import { isOnMaps } from "../under-state.js";
import { makersText } from "../words.js";

/** @typedef {import("../state.js").State} State */
/** @typedef {import("../drawing.js").Drawing} Drawing */
/** @typedef {import("../drawing.js").Tool} Tool */
/** @typedef {import("../axis.js").Limits} Limits */

/** @type {Record<Tool, {title: string, hand: string, keys: string}>} */
const HELP = {
  rectangle: { title: "Rectangle", hand: "Drag from corner to corner, or press on two corners.", keys: "Keys: arrows move the mark, with Shift by 10; Space sets a corner." },
  polygon: { title: "Polygon", hand: "Press point by point, on the last one twice: that closes it.", keys: "Keys: arrows move the mark, with Shift by 10; Space sets a point, Backspace takes it back, Enter closes." },
  freehand: { title: "Freehand", hand: "Drag along the edge; where you let go it closes.", keys: "Keys: Space puts the pen down, arrows draw, Space closes." },
};
const EDIT = {
  rectangle: { hand: "Drag a corner, or the whole from inside.", keys: "Keys: Page Down goes to the next corner, then to the whole; arrows move it." },
  polygon: { hand: "Drag a point, or the whole from inside.", keys: "Keys: Page Down goes to the next point, then to the whole; arrows move it, Space adds a point, Backspace takes it away." },
};
const ELSEWHERE = "Regions are drawn on maps: show a map, the overlay, an answer, or a photo that is laid on them.";

/** @param {HTMLElement} root @param {import("../controller.js").Send} send @param {(key: string) => void} press does what the key does
 * @param {(map: string) => Limits|null} limits_of a map as it is shown
 * @param {() => void} left the focus was in it when it went away
 * @returns {{update: (state: State) => void, tell: (area: string|null, drawing: Drawing|null) => void, is_drawing: () => boolean, words: () => string}} `words`: what is to be done */
export function createRegionStrip(root, send, press, limits_of, left) {
  /** @type {State|null} */
  let state = null;
  /** @type {Drawing|null} */
  let now = null;
  let area_text = "";

  const button = (/** @type {string} */ text, /** @type {() => void} */ run) => el("button", { class: "surround-button", text, attrs: { type: "button" }, on: { click: run } });
  const choice = (/** @type {string} */ text, /** @type {boolean} */ upward) => el("button", { class: "save-choice", text, attrs: { type: "button" }, on: { click: () => {
    const map = state?.proposal?.limits_of ?? null;
    const limits = map === null ? null : limits_of(map);
    if (map !== null && limits !== null) send({ type: "propose_limits", map, limits, upward });
  } } });
  const title = el("span", { class: "strip-title" });
  const help = el("span");
  const keys = el("span", { class: "strip-keys" });
  const area = el("span", { class: "strip-area", attrs: { role: "status" } });
  const bounds = { up: choice("no upper limit", true), both: choice("between both", false) };
  const bound = el("span", { class: "save-choices", attrs: { role: "group", "aria-label": "Which values" } }, [bounds.up, "or", bounds.both]);
  const keep = button("Add region", () => send({ type: "keep_proposal" }));
  const done = button("Done", () => press("Enter"));
  const close = button("Close it", () => press("Enter"));
  const back = button("Take back", () => press("Backspace"));
  const cancel = button("Cancel", () => send({ type: state?.drawing ? "stop_drawing" : "drop_proposal" }));
  const trouble = el("p", { class: "strip-trouble", attrs: { role: "alert", hidden: true } });
  const body = el("div", { class: "strip", attrs: { role: "group", "aria-label": "Region" }, on: { keydown: (/** @type {KeyboardEvent} */ event) => {
    if (event.key !== "Escape") return;
    event.preventDefault();
    event.stopPropagation();
    cancel.click();
  } } }, [
    el("div", { class: "strip-words" }, [el("p", {}, [title, area]), el("p", {}, [help, " ", keys])]), el("div", { class: "strip-acts" }, [bound, keep, close, done, back, cancel]), trouble,
  ]);
  root.append(body);

  function draw() {
    if (state === null) return;
    const { drawing, proposal, region_trouble } = state;
    const proposed = proposal?.place === "view" ? proposal : null;
    const had_focus = root.contains(document.activeElement);
    root.hidden = drawing === null && proposed === null;
    if (root.hidden) {
      if (had_focus) left();
      return;
    }
    if (drawing !== null) drawDrawing(drawing, state);
    else if (proposed !== null) {
      const { preview } = proposed;
      setText(title, preview?.text ?? "Region");
      setText(help, preview === null ? "" : makersText(preview, state.maps));
      setText(keys, "");
      setText(area, preview?.area_text ?? "");
    }
    keep.hidden = proposed === null;
    keep.disabled = !proposed?.preview?.pixels || proposed.message !== "";
    bound.hidden = proposed === null || proposed.limits_of === null || limits_of(proposed.limits_of) === null;
    setAttribute(bounds.up, "aria-pressed", String(proposed?.upward === true));
    setAttribute(bounds.both, "aria-pressed", String(proposed?.upward === false));
    const said = region_trouble?.at === "drawing" ? region_trouble.message : proposed?.message ?? "";
    setText(trouble, said);
    trouble.hidden = said === "";
  }

  /** @param {{tool: Tool, edits: string|null}} drawing @param {State} state */
  function drawDrawing({ tool, edits }, state) {
    const { regions } = state;
    const elsewhere = !isOnMaps(state);
    const edited = edits !== null;
    const words = edited ? EDIT[tool === "rectangle" ? "rectangle" : "polygon"] : HELP[tool];
    setText(title, edited ? regions.find(({ id }) => id === edits)?.name ?? "" : HELP[tool].title);
    setText(help, elsewhere ? ELSEWHERE : words.hand);
    setText(keys, elsewhere ? "" : words.keys);
    setText(area, area_text);
    const many = !edited && tool === "polygon";
    // They keep their room: what stands above must not move under the hand.
    close.hidden = back.hidden = !many;
    close.disabled = (now?.points.length ?? 0) < 3;
    back.disabled = (now?.points.length ?? 0) < 1;
    done.hidden = !edited;
  }

  return {
    update(next) {
      if (next.drawing !== state?.drawing) area_text = "";
      if (next.drawing === null) {
        now = null;
        close.hidden = back.hidden = done.hidden = true;
      }
      state = next;
      draw();
    },
    tell(text, drawing) {
      area_text = text ?? area_text;
      now = drawing;
      draw();
    },
    is_drawing: () => state?.drawing !== null && state !== null,
    words: () => `${title.textContent}. ${help.textContent} ${keys.textContent}`,
  };
}
