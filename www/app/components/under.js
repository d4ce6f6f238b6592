// Which photo is seen with the maps, how much of it, and how a photo alone lies: the word above the picture and the line that it brings.

import { el, setAttribute, setText } from "../dom.js";
import { layersSeen } from "../state.js";
import { photoName } from "../subjects.js";
import { DIVIDE_START, MIX_START, isAligned, mixText } from "../under-state.js";
import { openListbox } from "./listbox.js";

/** @typedef {import("../state.js").State} State */
/** @typedef {import("../under-state.js").Under} Under */
/** @typedef {import("./listbox.js").Choice} Choice */

const [WITHOUT, BESIDE] = ["without", "beside"];

/** @param {HTMLButtonElement} word opens the choices @param {HTMLElement} container where they open @param {HTMLElement} root of the line
 * @param {import("../controller.js").Send} send
 * @returns {{update: (state: State) => void, open: () => void}} */
export function createUnder(word, container, root, send) {
  /** @type {State|null} */
  let state = null;
  /** @type {(() => void)|null} */
  let close = null;
  setAttribute(word, "aria-haspopup", "listbox");
  setAttribute(word, "aria-expanded", "false");

  const act = (/** @type {string} */ text, /** @type {() => void} */ run) => el("button", { class: "save-choice", text, attrs: { type: "button" }, on: { click: run } });
  const name = el("span", { class: "under-name" });
  const slider = el("input", { class: "under-slider", attrs: { type: "range", min: 0, max: 100, step: 1, "aria-label": "Share of the photo in the light" },
    on: { input: () => changed({ mix: Number(slider.value) / 100, divide: null }) } });
  const share = el("span", { class: "under-share", attrs: { "aria-hidden": "true" } });
  const other = el("span", { class: "under-other", attrs: { "aria-hidden": "true" } });
  const mix = el("span", { class: "under-mix" }, [el("span", { text: "maps", attrs: { "aria-hidden": "true" } }), slider, other, share]);
  const divide = act("Divide", () => changed({ divide: state?.photo_under?.divide ? null : DIVIDE_START }));
  divide.title = "Maps on one side of a line, the photo on the other";
  const turn = act("Turn the line", () => {
    const now = state?.photo_under?.divide;
    if (now) changed({ divide: { ...now, along: now.along === "x" ? "y" : "x" } });
  });
  const beside = act("Side by side", () => {
    const photo = state?.photo_under?.photo;
    if (photo === undefined) return;
    send({ type: "side_by_side", photo });
    word.focus();
  });
  const without = act("Without", () => {
    send({ type: "photo_under", under: null });
    word.focus();
  });
  const laid = act("Laid on the maps", () => send({ type: "photo_as_taken", on: false }));
  const taken = act("As taken", () => send({ type: "photo_as_taken", on: true }));
  const alone = el("span", { class: "save-choices", attrs: { role: "group", "aria-label": "How the photo lies" } }, [laid, taken]);
  const line = el("div", { class: "under", attrs: { role: "group", "aria-label": "Photo" } }, [name, mix, divide, turn, beside, without, alone]);
  root.append(line);

  function changed(/** @type {Partial<Under>} */ more) {
    const under = state?.photo_under;
    if (under) send({ type: "photo_under", under: { ...under, ...more } });
  }

  /** @param {State} state @returns {Choice[]} */
  function choices({ photos, photo_under, maps }) {
    const list = photos.map((photo) => {
      const ready = isAligned(photo) && maps.length > 0;
      return { value: `photo ${photo.id}`, text: photoName(photo), detail: ready ? photo.text ?? "" : "align first", disabled: !ready };
    });
    const of = photo_under?.photo ?? photos.find(isAligned)?.id;
    return [
      ...list,
      ...(photo_under === null ? [] : [{ value: WITHOUT, text: "Without", detail: "maps alone" }]),
      ...(of === undefined || maps.length === 0 ? [] : [{ value: BESIDE, text: "Side by side", detail: "maps and photo" }]),
    ];
  }

  function open() {
    if (close) return close();
    if (state === null || word.hidden) return;
    const { photo_under } = state;
    close = openListbox(word, container, {
      label: "Photo with the maps", chosen: photo_under === null ? null : `photo ${photo_under.photo}`, choices: choices(state), closed: () => (close = null), choose,
    });
  }

  function choose(/** @type {string} */ value) {
    if (state === null) return;
    const { photo_under, photos } = state;
    if (value === WITHOUT) return send({ type: "photo_under", under: null });
    if (value === BESIDE) {
      const photo = photo_under?.photo ?? photos.find(isAligned)?.id;
      if (photo !== undefined) send({ type: "side_by_side", photo });
      return;
    }
    const photo = value.slice("photo ".length);
    send({ type: "photo_under", under: photo_under === null ? { photo, mix: MIX_START, divide: null } : { ...photo_under, photo } });
  }

  return {
    open,
    update(next) {
      state = next;
      const { photo_under: under, photos } = next;
      word.hidden = photos.length === 0 || next.maps.length === 0;
      if (word.hidden) close?.();
      setAttribute(word, "aria-pressed", String(under !== null));
      const single = next.mode === "photo" ? photos.find(({ id }) => id === next.photo) : undefined;
      const is_under = under !== null && single === undefined && layersSeen(next);
      root.hidden = !is_under && single === undefined;
      if (root.hidden) return;
      // Which one is said where there are several.
      const called = is_under && photos.length > 1 ? photoName(photos.find(({ id }) => id === under.photo)) : "photo";
      setText(name, is_under ? called : single?.text ?? "");
      setText(other, called);
      name.hidden = is_under && (photos.length === 1 || under.divide === null);
      name.classList.toggle("under-said", !is_under);
      for (const part of [divide, beside, without]) part.hidden = !is_under;
      alone.hidden = is_under || !isAligned(single) || next.maps.length === 0;
      setAttribute(laid, "aria-pressed", String(!next.photo_as_taken));
      setAttribute(taken, "aria-pressed", String(next.photo_as_taken));
      mix.hidden = !is_under || under.divide !== null;
      turn.hidden = !is_under || under.divide === null;
      if (!is_under) return;
      setAttribute(divide, "aria-pressed", String(under.divide !== null));
      const percent = String(Math.round(under.mix * 100));
      if (slider.value !== percent) slider.value = percent;
      setAttribute(slider, "aria-valuetext", `${mixText(under.mix)} photo`);
      setText(share, mixText(under.mix));
    },
  };
}
