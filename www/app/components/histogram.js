// The values of a map as bars, with two handles for the limits between which its picture rises: by mouse, touch, keys or typed.

import { el, reconcile, setAttribute, setText } from "../dom.js";
import { dragged, keyed, limitText, outlineOf, placeOf, toneOf, typedLimit } from "../axis.js";

/** @typedef {import("../axis.js").Limits} Limits */
/** @typedef {import("../axis.js").End} End */
/** @typedef {import("../types.js").Histogram} Histogram */
/** @typedef {{label: string, histogram: Histogram, limits: Limits, colours: string[]}} HistogramParts */

/** @type {End[]} */
const ENDS = ["low", "high"];
const WORDS = { low: "Lower limit", high: "Upper limit" };
let made = 0;

/** `fields` are the two limits as they can be typed, to be put where the words around them stand.
 * @param {(limits: Limits) => void} set @param {boolean} with_ticks
 * @returns {{element: HTMLElement, fields: Record<End, HTMLInputElement>, trouble: HTMLElement, update: (parts: HistogramParts) => void}} */
export function createHistogram(set, with_ticks) {
  made += 1;
  const trouble_id = `limit-trouble-${made}`;
  const bars = el("div", { class: "histogram-bars", attrs: { role: "img" } });
  const critical = el("div", { class: "histogram-critical" });
  const tone = el("div", { class: "histogram-tone" });
  const ticks = el("div", { class: "histogram-ticks", attrs: { "aria-hidden": "true", hidden: !with_ticks } });
  const handles = { low: makeHandle("low"), high: makeHandle("high") };
  const plot = el("div", { class: "histogram-plot" }, [bars, critical, tone, handles.low, handles.high]);
  const element = el("div", { class: "histogram" }, [plot, ticks]);
  const fields = { low: makeField("low"), high: makeField("high") };
  const trouble = el("p", { class: "histogram-trouble", attrs: { id: trouble_id, role: "status", hidden: true } });
  /** @type {HistogramParts|null} */
  let now = null;
  /** What the hand wants; the page follows once a frame. @type {Limits|null} */
  let wanted = null;

  /** @param {End} end */
  function makeHandle(end) {
    const handle = el("div", { class: "histogram-handle", attrs: { role: "slider", tabindex: 0, "data-end": end }, on: {
      keydown: (/** @type {KeyboardEvent} */ event) => {
        if (now === null || event.ctrlKey || event.metaKey || event.altKey) return;
        const next = keyed(now.histogram, now.limits, end, event.key);
        if (next === null) return;
        event.preventDefault();
        event.stopPropagation();
        set(next);
      },
      pointerdown: (/** @type {PointerEvent} */ event) => {
        if (event.button !== 0) return;
        event.preventDefault();
        handle.focus({ focusVisible: false });
        handle.setPointerCapture(event.pointerId);
      },
      pointermove: (/** @type {PointerEvent} */ event) => {
        if (handle.hasPointerCapture(event.pointerId)) drag(end, event.clientX);
      },
    } });
    return handle;
  }

  /** @param {End} end @param {number} client_x */
  function drag(end, client_x) {
    if (now === null) return;
    const box = plot.getBoundingClientRect();
    const next = dragged(now.histogram, now.limits, end, (client_x - box.left) / box.width);
    if (wanted === null) requestAnimationFrame(() => {
      const limits = wanted;
      wanted = null;
      if (limits !== null) set(limits);
    });
    wanted = next;
  }

  // A press beside the handles takes the nearer one there.
  plot.addEventListener("pointerdown", (event) => {
    if (now === null || event.button !== 0 || event.target === handles.low || event.target === handles.high) return;
    const box = plot.getBoundingClientRect();
    const at = (event.clientX - box.left) / box.width;
    const away = (/** @type {End} */ end) => Math.abs(placeOf(/** @type {HistogramParts} */ (now).histogram, /** @type {HistogramParts} */ (now).limits[end]) - at);
    const end = away("low") < away("high") ? "low" : "high";
    event.preventDefault();
    handles[end].focus({ focusVisible: false });
    handles[end].setPointerCapture(event.pointerId);
    drag(end, event.clientX);
  });

  /** @param {End} end */
  function makeField(end) {
    const field = el("input", { class: "limit-field", attrs: { type: "text", inputmode: "decimal", autocomplete: "off", maxlength: 12, "aria-describedby": trouble_id, "data-end": end }, on: {
      change: () => {
        if (now === null) return;
        const next = typedLimit(now.limits, end, field.value);
        tell(end, typeof next === "string" ? next : "");
        if (typeof next !== "string") set(next);
      },
      keydown: (/** @type {KeyboardEvent} */ event) => {
        if (event.key !== "Escape" || now === null) return;
        field.value = limitText(now.limits[end]);
        tell(end, "");
      },
    } });
    return field;
  }

  /** @param {End} end @param {string} text what is wrong with what was typed */
  function tell(end, text) {
    setText(trouble, text);
    trouble.hidden = text === "";
    setAttribute(fields[end], "aria-invalid", text === "" ? false : "true");
  }

  /** @param {HistogramParts} parts */
  function update(parts) {
    const { label, histogram, limits, colours } = parts;
    const moved = now === null || now.limits.low !== limits.low || now.limits.high !== limits.high;
    if (now?.histogram !== histogram) {
      bars.style.clipPath = outlineOf(histogram.bars, histogram.places);
      critical.hidden = histogram.critical === null;
      if (histogram.critical !== null) critical.style.left = `${placeOf(histogram, histogram.critical) * 100}%`;
      critical.title = "Critical level";
      setAttribute(bars, "aria-label", histogram.text);
    }
    now = parts;
    const places = { low: placeOf(histogram, limits.low), high: placeOf(histogram, limits.high) };
    element.style.setProperty("--low", `${(places.low * 100).toFixed(3)}%`);
    element.style.setProperty("--high", `${(places.high * 100).toFixed(3)}%`);
    tone.style.backgroundImage = toneOf(colours, places.low, places.high);
    const unit = histogram.unit ?? "";
    for (const end of ENDS) {
      const handle = handles[end];
      setAttribute(handle, "aria-label", `${WORDS[end]}, ${label}`);
      setAttribute(handle, "aria-valuemin", histogram.low);
      setAttribute(handle, "aria-valuemax", histogram.high);
      setAttribute(handle, "aria-valuenow", limits[end]);
      setAttribute(handle, "aria-valuetext", `${limitText(limits[end])} ${unit}`.trim());
      setAttribute(fields[end], "aria-label", `${WORDS[end]}, ${label}`);
      if (moved || document.activeElement !== fields[end]) {
        const text = limitText(limits[end]);
        if (fields[end].value !== text && fields[end].getAttribute("aria-invalid") === null) fields[end].value = text;
        if (moved) {
          tell(end, "");
          fields[end].value = text;
        }
      }
    }
    reconcile(ticks, with_ticks ? histogram.ticks : [], (_, index) => String(index), () => el("span", { class: "histogram-tick" }), (mark, { at, text }) => {
      mark.style.left = `${at * 100}%`;
      // The outer ones stay within the axis.
      mark.dataset.end = at <= 0.02 ? "left" : at >= 0.98 ? "right" : "";
      setText(mark, text);
    });
  }

  return { element, fields, trouble, update };
}
