// What stands below the picture: the scale bar, or where to give the step, and the key. All of it comes with the picture.

import { el, reconcile, setText } from "../dom.js";
import { isMarked } from "../pattern.js";
import { stepText } from "../typed.js";
import { openListbox } from "./listbox.js";

/** @typedef {import("../state.js").State} State */
/** @typedef {import("../types.js").Picture} Picture */
/** @typedef {import("../types.js").KeyEntry} KeyEntry */

/** In pixels of the page, as the style sheet has it. */
const SWATCH = { width: 22, height: 14 };

const HALVES = /** @type {const} */ ({ kind: "halves", label: "full · half" });

/** What belongs to the picture on the canvas: `settled`: it has as many pixels as the canvas; `has_axis`: the axis of a histogram stands
 * for the bars of the key.
 * @typedef {{settled: boolean, has_axis: boolean}} Showing */

/** @param {HTMLElement} root @param {import("../controller.js").Send} send
 * @returns {{update: (state: State) => void, show: (picture: Picture | null, showing: Showing) => void}} */
export function createKey(root, send) {
  const bar = el("div", { class: "key-scale-bar" });
  const bar_text = el("p", { class: "key-scale-text" });
  const scale = el("div", { class: "key-scale" }, [bar, bar_text]);
  const reason = el("p", { class: "key-reason" });
  const change = el("button", { class: "key-change", text: "Change the step", attrs: { type: "button" }, on: { click: () => edit(true) } });
  const field = el("input", { class: "surround-field key-step-field", attrs: { id: "step-field", type: "text", autocomplete: "off", "aria-describedby": "step-trouble" },
    on: { keydown: (/** @type {KeyboardEvent} */ event) => {
      if (event.key === "Escape") edit(false);
    } } });
  const trouble = el("p", { class: "key-trouble", attrs: { id: "step-trouble", role: "status" } });
  const form = el("form", { class: "key-step", attrs: { novalidate: true }, on: { submit: (event) => {
    event.preventDefault();
    send({ type: "set_step", text: field.value });
  } } }, [
    el("label", { text: "step", attrs: { for: "step-field" } }), field, el("span", { text: "mm" }),
    el("button", { class: "surround-button", text: "Set", attrs: { type: "submit" } }),
  ]);
  /** The step is known and shall be another. */
  let changing = false;
  /** @type {State|null} */
  let last = null;
  const swatches = el("ul", { class: "key-list", attrs: { "aria-label": "Key" } });
  /** @type {import("./listbox.js").Choice[]} */
  let classes = [];
  /** @type {(() => void)|null} */
  let close_classes = null;
  const of_class = el("button", { class: "key-change key-class", text: "region of a class", attrs: { type: "button", "aria-haspopup": "listbox", "aria-expanded": "false", hidden: true }, on: { click: () => {
    if (close_classes) return close_classes();
    close_classes = openListbox(of_class, root, { label: "Make a region of this class", chosen: null, choices: classes, closed: () => (close_classes = null), choose: (number) => {
      const answer = last?.shown?.answer;
      if (answer !== undefined) send({ type: "propose_region", settings: { classes: { answer, classes: [Number(number)] } }, place: "view" });
    } });
  } } });
  root.append(el("div", { class: "key-left" }, [el("div", { class: "key-scale-line" }, [scale, reason, trouble, change]), form]), el("div", { class: "key-right" }, [swatches, of_class]));

  function show(/** @type {Picture | null} */ picture, /** @type {Showing} */ { settled, has_axis }) {
    scale.hidden = !picture?.scale_bar;
    // A bar in the pixels of a picture that was drawn small for speed would jump; the full one comes at once.
    if (picture?.scale_bar && settled) {
      bar.style.width = `${picture.scale_bar.length_px / devicePixelRatio}px`;
      setText(bar_text, picture.scale_bar.text);
    }
    setText(reason, picture?.scale_bar_reason ?? "");
    tellReason();
    const entries = (picture?.key ?? []).filter((entry) => !(has_axis && entry.kind === "bar"));
    // Said once for all pairs: the left colour is a map at full, the right one at half.
    const halves = entries.some((entry) => entry.kind !== "bar" && entry.half !== null) ? [HALVES] : [];
    reconcile(swatches, /** @type {(KeyEntry|typeof HALVES)[]} */ ([...entries, ...halves]), (entry, index) => `${index} ${entry.kind}`, make, fill);
    classes = entries.flatMap((entry) => (entry.kind === "class" && entry.number !== undefined ? [{ value: String(entry.number), text: entry.label, detail: "" }] : []));
    of_class.hidden = classes.length === 0 || last?.mode !== "answer";
    if (of_class.hidden) close_classes?.();
    // Only what stands on the page can be measured.
    for (const ticks of swatches.querySelectorAll(".key-bar-ticks")) thin(/** @type {HTMLElement[]} */ ([...ticks.children]));
  }

  /** What is wrong with the step that was typed stands in the place of why there is none. */
  function tellReason() {
    reason.hidden = reason.textContent === "" || !trouble.hidden;
  }

  function edit(/** @type {boolean} */ on) {
    if (last === null || last.grid === null || changing === on) return;
    changing = on;
    const { step_x_um, step_y_um } = last.grid;
    field.value = on && step_x_um !== null ? stepText(step_x_um, step_y_um ?? step_x_um) : "";
    update(last);
    if (!on) return;
    field.select();
    field.focus();
  }

  function update(/** @type {State} */ state) {
    // A step that was taken closes the form; it is told by a new stack.
    if (changing && (state.mode === "photo" || state.grid !== last?.grid)) changing = false;
    last = state;
    const asks = state.maps.length > 0 && state.mode !== "photo" && state.grid !== null;
    const known = asks && state.grid?.step_x_um != null;
    const had_focus = form.contains(document.activeElement);
    form.hidden = !asks || (known && !changing);
    change.hidden = !known || changing;
    if (had_focus && form.hidden) change.focus();
    setText(trouble, form.hidden ? "" : state.step_trouble?.message ?? "");
    trouble.hidden = trouble.textContent === "";
    tellReason();
  }

  return { show, update };
}

/** @param {KeyEntry|typeof HALVES} entry */
function make(entry) {
  if (entry.kind === "halves") return el("li", { class: "key-halves", text: entry.label });
  if (entry.kind === "bar") {
    return el("li", { class: "key-entry key-bar" }, [
      el("span", { class: "key-label" }),
      el("div", { class: "key-bar-body" }, [el("div", { class: "key-bar-colours" }), el("div", { class: "key-bar-ticks" })]),
    ]);
  }
  return el("li", { class: "key-entry" }, [el("span", { class: "key-label" }), el("canvas", { class: "key-swatch" }), el("canvas", { class: "key-swatch" })]);
}

/** @param {HTMLElement} item @param {KeyEntry|typeof HALVES} entry */
function fill(item, entry) {
  if (entry.kind === "halves") return;
  const [label, first, second] = /** @type {HTMLElement[]} */ ([...item.children]);
  if (!label || !first) return;
  setText(label, entry.label);
  if (entry.kind === "bar") {
    const [colours, ticks] = /** @type {HTMLElement[]} */ ([...first.children]);
    if (!colours || !ticks) return;
    colours.style.backgroundImage = `linear-gradient(to right, ${entry.colours.join(", ")})`;
    reconcile(ticks, entry.ticks, (tick, index) => String(index), () => el("span", { class: "key-tick" }), (mark, tick) => {
      setText(mark, tick.text);
      mark.style.left = `${tick.at * 100}%`;
      // The outer ones stay within the bar's ends, so that they never run into a neighbour.
      mark.dataset.end = tick.at <= 0.02 ? "left" : tick.at >= 0.98 ? "right" : "";
    });
    return;
  }
  paint(first, entry.full, entry.mark ?? entry.full, entry.pattern);
  if (!second) return;
  second.hidden = entry.half === null;
  if (entry.half !== null) paint(second, entry.half, entry.half, "plain");
}

/** A swatch in the pixels of the screen, as the picture has them. @param {HTMLElement} swatch @param {string} ground @param {string} mark @param {string} pattern */
function paint(swatch, ground, mark, pattern) {
  const wanted = JSON.stringify([ground, mark, pattern, devicePixelRatio]);
  if (!(swatch instanceof HTMLCanvasElement) || swatch.dataset.painted === wanted) return;
  swatch.dataset.painted = wanted;
  swatch.width = Math.round(SWATCH.width * devicePixelRatio);
  swatch.height = Math.round(SWATCH.height * devicePixelRatio);
  const pen = swatch.getContext("2d");
  if (!pen) return;
  pen.fillStyle = ground;
  pen.fillRect(0, 0, swatch.width, swatch.height);
  pen.fillStyle = mark;
  for (let y = 0; y < swatch.height; y += 1) {
    for (let x = 0; x < swatch.width; x += 1) if (isMarked(pattern, x, y)) pen.fillRect(x, y, 1, 1);
  }
}

/** Leaves out marks that would run into each other; the two ends stay. @param {HTMLElement[]} marks from left to right */
function thin(marks) {
  for (const mark of marks) mark.hidden = false;
  const boxes = marks.map((mark) => mark.getBoundingClientRect());
  const gap = 4;
  const end = boxes.at(-1)?.left ?? 0;
  let free = -Infinity;
  marks.forEach((mark, index) => {
    const box = /** @type {DOMRect} */ (boxes[index]);
    const is_end = index === 0 || index === marks.length - 1;
    mark.hidden = !is_end && (box.left < free + gap || box.right + gap > end);
    if (!mark.hidden) free = box.right;
  });
}
