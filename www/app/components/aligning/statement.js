// What the photo is and how it lies, as a sentence with words that can be set, or by which maps another scan is looked at; and by which rule
// it is laid on the maps.

import { el, setAttribute, setText } from "../../dom.js";
import { isLaying, ruled, scanSeen } from "../../aligning-state.js";
import { labelInScan } from "../../scan-words.js";
import { mapsOfScan } from "../../scans-state.js";
import { createWord } from "./word.js";

/** @typedef {import("../../state.js").State} State */
/** @typedef {import("../../aligning-state.js").Aligning} Aligning */
/** @typedef {import("../../aligning-state.js").Rule} Rule */
/** @typedef {import("../../types.js").PhotoSettings} PhotoSettings */

const plain = (/** @type {string} */ value, text = value, detail = "") => ({ value, text, detail });
const LIGHTS = ["visible", "ultraviolet", "infrared"].map((word) => plain(word));
const SIDES = [plain("recto"), plain("verso", "verso", "mirrored, unless you say otherwise")];
const MIRRORS = [plain("no", "as it is"), plain("yes", "mirrored left to right")];
const TURNS = [plain("0", "not turned"), plain("1", "turned a quarter clockwise"), plain("2", "turned by half"), plain("3", "turned a quarter anticlockwise")];
const RULES = [
  plain("suits", "the rule that suits", "by the number of points"),
  plain("similarity", "moving, turning and scaling", "from 2 points"),
  plain("affine", "shearing too", "affine, from 3 points"),
  plain("homography", "seen aslant", "from 4 points"),
  plain("piecewise", "cockled or warped", "piecewise, from 10 points"),
];
const FOUND = plain("found", "what was found", "points only check it");

/** @param {HTMLElement} root positioned @param {import("../../controller.js").Send} send
 * @returns {{update: (state: State) => void}} */
export function createStatement(root, send) {
  /** @type {State|null} */
  let state = null;
  const set = (/** @type {PhotoSettings} */ settings) => {
    const photo = state?.aligning?.photo;
    if (photo != null) send({ type: "state_photo", photo, settings });
  };
  const light = createWord(root, "Light of the photo", (value) => set({ light: /** @type {"visible"} */ (value) }));
  const side = createWord(root, "Side of the object", (value) => set({ side: /** @type {"recto"} */ (value) }));
  const mirror = createWord(root, "Mirrored", (value) => set({ mirror: value === "yes" }));
  const turn = createWord(root, "Quarter turns", (value) => set({ turns: Number(value) }));
  const name = el("input", { class: "field aligning-name", attrs: { type: "text", "aria-label": "Name of the photo", autocomplete: "off", spellcheck: "false", maxlength: 120 }, on: {
    change: () => set({ name: name.value }),
    keydown: (/** @type {KeyboardEvent} */ event) => {
      if (event.key === "Escape") {
        name.value = photoNow()?.name ?? "";
        event.stopPropagation();
      } else if (event.key === "Enter") name.blur();
    },
  } });
  const rule = createWord(root, "How it is laid", (value) => {
    if (state?.aligning != null) send({ type: "align_edit", next: ruled(state.aligning, /** @type {Rule} */ (value)) });
  });
  const text = el("p", { class: "aligning-text", attrs: { role: "status" } });
  const trouble = el("p", { class: "aligning-trouble", attrs: { role: "alert" } });
  const named = el("label", { class: "aligning-named" }, ["Called ", name]);
  const of_photo = el("p", { class: "sentence-words" }, ["A photo in ", light.element, " light of the ", side.element, ", ", mirror.element, ", ", turn.element, "."]);
  const own = createWord(root, "Map of the other scan", (value) => {
    if (state?.aligning != null) send({ type: "align_edit", next: scanSeen(state.aligning, state.maps, value) });
  });
  const first = createWord(root, "Map of the first scan", (value) => {
    const { aligning } = state ?? {};
    if (aligning?.scan != null) send({ type: "align_edit", next: { ...aligning, scan: { ...aligning.scan, first: value } } });
  });
  const called = el("span");
  const of_scan = el("p", { class: "sentence-words" }, [own.element, " of the ", called, ", beside ", first.element, " of the first."]);
  const on = el("span");
  root.append(of_photo, named, of_scan, el("p", { class: "sentence-words" }, ["Laid on ", on, " by ", el("span", { class: "sentence-piece" }, [rule.element, "."])]), text, trouble);

  /** @param {State} state @param {number} field */
  function choices({ maps }, field) {
    const all = mapsOfScan(maps, field);
    return all.map((map) => plain(map.id, labelInScan(map), map.largest));
  }

  function photoNow() {
    return state?.photos.find(({ id }) => id === state?.aligning?.photo);
  }

  return {
    update(next) {
      state = next;
      const { aligning } = next;
      const photo = photoNow();
      root.hidden = aligning === null || !isLaying(aligning);
      if (aligning === null || root.hidden) return;
      const { scan } = aligning;
      of_photo.hidden = named.hidden = photo === undefined;
      of_scan.hidden = scan === null;
      setText(on, scan === null ? "the maps" : "the first");
      if (photo !== undefined) {
        light.show(LIGHTS, photo.light);
        side.show(SIDES, photo.side);
        mirror.show(MIRRORS, photo.mirror ? "yes" : "no");
        turn.show(TURNS, String(photo.turns));
        if (document.activeElement !== name) name.value = photo.name;
      }
      if (scan !== null) {
        setText(called, scan.label);
        own.show(choices(next, scan.field), scan.map);
        first.show(choices(next, 0), scan.first ?? "");
      }
      rule.show(aligning.transform === null ? RULES : [FOUND, ...RULES], aligning.rule);
      const { alignment } = aligning;
      setText(text, aligning.unsent || alignment === null || alignment.trouble !== "" ? "" : alignment.text);
      const wrong = [aligning.trouble, aligning.unsent ? "" : alignment?.trouble ?? ""].find((one) => one !== "") ?? "";
      setText(trouble, wrong);
      setAttribute(trouble, "hidden", wrong === "");
    },
  };
}
