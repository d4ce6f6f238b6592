// Below the picture: in which colours, how and between which limits a map or the lights of an overlay rise, as words that can be set.

import { el, reconcile, setAttribute, setText } from "../dom.js";
import { asProblem } from "../protocol.js";
import { lightNow } from "../state.js";
import { createHistogram } from "./histogram.js";
import { createLightColours } from "./colours.js";
import { openListbox } from "./listbox.js";

/** @typedef {import("../state.js").State} State */
/** @typedef {import("../axis.js").Limits} Limits */
/** @typedef {import("../types.js").MapSummary} MapSummary */
/** @typedef {import("../types.js").Histogram} Histogram */
/** @typedef {import("../types.js").Light} Light */
/** @typedef {import("../types.js").Picture} Picture */
/** @typedef {import("../types.js").ToneScale} ToneScale */
/** @typedef {import("../types.js").ColourChoice} ColourChoice */
/** @typedef {{histogram: (id: string, how: {scale: ToneScale, bins: number}) => Promise<Histogram>, colours: () => Promise<ColourChoice[]>,
 *   lights: (ids: string[]) => Promise<Light[]>}} Services */
/** @typedef {{map: MapSummary, light: Light|null}} Entry */

/** @type {ToneScale[]} */
const SCALES = ["linear", "square root", "logarithmic"];
const BINS = { map: 96, light: 48 };

/** "viridis: violet, green, yellow" as a name and what it looks like. @param {string} label */
function colourWords(label) {
  const [text = label, detail = ""] = label.split(": ");
  return { text, detail };
}

/** @param {HTMLElement} root @param {import("../controller.js").Send} send @param {Services} services
 * @param {() => void} axis_changed an axis has come or gone
 * @returns {{update: (state: State, open: boolean) => void, show: (picture: Picture|null) => void, has_axis: () => boolean,
 *   limits_of: (map: string) => Limits|null}} `limits_of`: between which a map is shown now, if that is known */
export function createLimits(root, send, services, axis_changed) {
  /** @type {State|null} */
  let state = null;
  let open = true;
  /** @type {Picture|null} */
  let picture = null;
  /** @type {ColourChoice[]} */
  let colours = [];
  /** @type {{colour: string, label: string}[]} */
  let light_colours = [];
  let asked_colours = "";
  /** @type {(() => void)|null} */
  let close = null;
  /** @type {string|null} */
  let colouring = null;
  let had_axis = false;

  const word = (/** @type {string} */ label, /** @type {(button: HTMLButtonElement) => void} */ list) => {
    const button = el("button", { class: "limits-word", attrs: { type: "button", "aria-label": label, "aria-haspopup": "listbox", "aria-expanded": "false" }, on: {
      click: () => list(button),
      keydown: (/** @type {KeyboardEvent} */ event) => {
        if (event.key !== "ArrowDown" && event.key !== "ArrowUp") return;
        event.preventDefault();
        event.stopPropagation();
        list(button);
      },
    } });
    return button;
  };
  const colours_word = word("Colours", (button) => choose(button, "Colours of a single map", colours.map(({ key, label }) => ({ value: key, ...colourWords(label) })),
    state?.colours ?? "grey", (key) => send({ type: "choose_colours", colours: key })));
  const scale_word = word("Scale", (button) => choose(button, "How brightness rises, and the axis", SCALES.map((value) => ({ value, text: value, detail: "" })),
    state?.scale ?? "linear", (scale) => send({ type: "choose_scale", scale: /** @type {ToneScale} */ (scale) })));
  const threshold_word = word("Lower limit by a threshold", (button) => {
    const entry = entries()[0];
    const histogram = entry ? histogramOf(entry) : null;
    if (!entry || histogram === null) return;
    choose(button, "Thresholds for the lower limit", histogram.thresholds.map(({ name, text }) => ({ value: name, text: name, detail: text })), null, (name) => {
      const found = histogram.thresholds.find((one) => one.name === name);
      const { high } = limitsOf(entry) ?? histogram.start;
      if (found) set(entry.map.id, { low: found.value, high: high > found.value ? high : Math.max(histogram.high, found.value + 1) });
    });
  });
  setText(threshold_word, "threshold");
  threshold_word.classList.add("limits-act");
  const start = el("button", { class: "limits-word limits-act", text: "start values", attrs: { type: "button", title: "Back to the limits that the view starts with" }, on: { click: () => {
    const had_focus = document.activeElement === start;
    for (const { map } of entries()) send({ type: "set_limits", id: map.id, limits: null });
    if (had_focus) scale_word.focus();
  } } });
  const region = el("button", { class: "limits-word limits-act", text: "as region", attrs: { type: "button", title: "Make a region of the pixels between these limits" }, on: { click: () => {
    const [entry] = entries();
    const limits = entry ? limitsOf(entry) : null;
    // An upper limit that nobody set is for the eye; beyond it lie the brightest pixels.
    if (entry && limits !== null) send({ type: "propose_limits", map: entry.map.id, limits, upward: limits.high === histogramOf(entry)?.start.high });
  } } });
  const from = el("span", { class: "limits-fields" });
  const words = {
    map: [el("span", { text: "In " }), colours_word, el("span", { text: ", " }), scale_word, from],
    overlay: [el("span", { text: "Lights on a " }), scale_word, el("span", { text: " scale" })],
  };
  const line = el("p", { class: "limits-words" });
  const trouble = el("p", { class: "limits-trouble", attrs: { role: "status", hidden: true } });
  const list = el("ul", { class: "limits-list" });
  const chooser = createLightColours((chosen) => {
    if (colouring !== null) send({ type: "choose_light_colour", id: colouring, colour: chosen });
  }, () => colour(null));
  root.append(line, chooser.element, list, trouble);

  /** @param {HTMLButtonElement} button @param {string} label @param {import("./listbox.js").Choice[]} choices @param {string|null} chosen
   * @param {(value: string) => void} take */
  function choose(button, label, choices, chosen, take) {
    if (close) return close();
    if (choices.length === 0) return;
    close = openListbox(button, root, { label, choices, chosen, choose: take, closed: () => (close = null) });
  }

  function set(/** @type {string} */ id, /** @type {Limits} */ limits) {
    send({ type: "set_limits", id, limits });
  }

  // ---- histograms ----

  /** Each by all that it depends on; only those in use are kept. @type {Map<string, Histogram|{message: string}|null>} */
  const histograms = new Map();
  const nameOf = (/** @type {Entry} */ { map, light }) => JSON.stringify([map, state?.scale, light ? BINS.light : BINS.map]);

  /** @param {Entry} entry @returns {Histogram|null} */
  function histogramOf(entry) {
    const got = histograms.get(nameOf(entry));
    return got && "edges" in got ? got : null;
  }

  function want(/** @type {Entry[]} */ list) {
    const names = new Set(list.map(nameOf));
    for (const name of histograms.keys()) if (!names.has(name)) histograms.delete(name);
    for (const entry of list) {
      const name = nameOf(entry);
      if (histograms.has(name) || state === null) continue;
      histograms.set(name, null);
      services.histogram(entry.map.id, { scale: state.scale, bins: entry.light ? BINS.light : BINS.map }).then(
        (histogram) => histograms.has(name) && histograms.set(name, histogram),
        (thrown) => histograms.has(name) && histograms.set(name, { message: asProblem(thrown).message }),
      ).then(draw);
    }
  }

  /** Which colours there are, asked once and again when maps come. */
  function wantColours() {
    const first = state?.maps[0]?.id;
    if (first === undefined || asked_colours === first) return;
    asked_colours = first;
    Promise.all([services.colours(), services.lights([first, first, first, first])]).then(([maps, lights]) => {
      colours = maps;
      light_colours = lights.map(({ colour, colour_label }) => ({ colour, label: colour_label ?? colour }));
      draw();
    }, (thrown) => {
      setText(trouble, asProblem(thrown).message);
      trouble.hidden = false;
    });
  }

  // ---- what is shown ----

  /** @returns {Entry[]} */
  function entries() {
    if (state === null) return [];
    const { maps, mode, lights } = state;
    const of = (/** @type {string|null} */ id) => maps.find((map) => map.id === id);
    if (mode === "map") return [of(state.map)].flatMap((map) => (map ? [{ map, light: null }] : []));
    if (mode !== "overlay") return [];
    return lights.flatMap((light) => {
      const map = of(light?.map ?? null);
      return light && map ? [{ map, light: lightNow(/** @type {State} */ (state), light) }] : [];
    });
  }

  /** @param {Entry} entry @returns {Limits|null} */
  function limitsOf({ map, light }) {
    if (light) return { low: light.low, high: light.high };
    return state?.limits[map.id] ?? histogramOf({ map, light })?.start ?? null;
  }

  /** @param {Entry} entry @param {number} index among the lights @returns {string[]} */
  function toneColours({ light }, index) {
    const key = picture?.key ?? [];
    if (light === null) return key.flatMap((one) => (one.kind === "bar" ? [one.colours] : []))[0] ?? [];
    const of = key.filter((one) => one.kind === "light")[index];
    return of && of.kind === "light" ? ["#000000", of.half ?? of.full, of.full] : ["#000000", light.colour];
  }

  /** @param {Entry} entry */
  function make({ map: { id }, light }) {
    const histogram = createHistogram((limits) => set(id, limits), light === null);
    const missing = el("p", { class: "limits-missing" });
    if (light === null) return Object.assign(el("li", { class: "limits-item" }, [histogram.element, histogram.trouble, missing]), { histogram, missing, light: null });
    const swatch = el("button", { class: "limits-light", attrs: { type: "button", "aria-expanded": "false", title: "Change the colour" }, on: { click: () => colour(colouring === id ? null : id) } }, [
      el("span", { class: "limits-dot" }), el("span", { class: "limits-label" }),
    ]);
    const head = el("div", { class: "limits-head" }, [swatch, el("span", { class: "limits-fields" }, [histogram.fields.low, el("span", { text: "–" }), histogram.fields.high])]);
    return Object.assign(el("li", { class: "limits-item limits-item-light" }, [head, histogram.element, histogram.trouble, missing]), { histogram, missing, light: { swatch } });
  }

  function colour(/** @type {string|null} */ id) {
    const before = colouring;
    colouring = id;
    draw();
    if (id !== null) return chooser.focus();
    const item = /** @type {ReturnType<typeof make>|undefined} */ ([...list.children].find((one) => /** @type {HTMLElement} */ (one).dataset.key === `light ${before}`));
    item?.light?.swatch.focus();
  }

  function draw() {
    if (state === null) return;
    drawNow(state);
    if (had_axis === has_axis()) return;
    had_axis = has_axis();
    axis_changed();
  }

  /** An axis that is still on its way has its place already. */
  function has_axis() {
    const failed = (/** @type {Entry} */ entry) => "message" in (histograms.get(nameOf(entry)) ?? {});
    return open && state?.mode === "map" && entries().some((entry) => !failed(entry));
  }

  /** @param {State} state */
  function drawNow(state) {
    const now = entries();
    root.hidden = !open || now.length === 0;
    if (root.hidden) return close?.();
    want(now);
    wantColours();
    const overlay = state.mode === "overlay";
    setText(colours_word, colourWords(colours.find(({ key }) => key === state?.colours)?.label ?? "grey").text);
    setText(scale_word, state.scale);
    reconcile(list, now, ({ map, light }) => `${light ? "light" : "map"} ${map.id}`, make, (item, entry, index) => {
      const { histogram, missing, light } = item;
      const got = histograms.get(nameOf(entry));
      const limits = limitsOf(entry);
      const there = got && "edges" in got && limits !== null;
      setText(missing, got && "message" in got ? got.message : "");
      missing.hidden = missing.textContent === "";
      item.classList.toggle("limits-waiting", !there);
      histogram.element.hidden = !missing.hidden;
      histogram.fields.low.hidden = histogram.fields.high.hidden = !missing.hidden;
      if (there) histogram.update({ label: entry.map.label, histogram: got, limits, colours: toneColours(entry, index) });
      if (light === null || entry.light === null) return;
      const [dot, label] = /** @type {HTMLElement[]} */ ([...light.swatch.children]);
      dot?.style.setProperty("--light", entry.light.colour);
      if (label) setText(label, entry.map.label);
      setAttribute(light.swatch, "aria-label", `Colour of ${entry.map.label}`);
      setAttribute(light.swatch, "aria-expanded", String(colouring === entry.map.id));
    });
    const coloured = now.find(({ map, light }) => light !== null && map.id === colouring);
    chooser.element.hidden = coloured === undefined;
    if (coloured?.light) chooser.update(light_colours, coloured.light.colour, coloured.map.label);
    place(overlay, now);
  }

  /** The words of the line, with the fields of a single map in it. @param {boolean} overlay @param {Entry[]} now */
  function place(overlay, now) {
    const first = now[0];
    const item = /** @type {ReturnType<typeof make>|undefined} */ (list.children[0]);
    const histogram = first ? histogramOf(first) : null;
    const own = now.some(({ map }) => state?.limits[map.id] !== undefined);
    start.hidden = !own;
    region.hidden = overlay || histogram === null;
    threshold_word.hidden = overlay || (histogram?.thresholds.length ?? 0) === 0;
    const fields = overlay || !item ? [] : [item.histogram.fields.low, item.histogram.fields.high];
    if (!overlay && fields[0] && from.children[0] !== fields[0]) {
      from.replaceChildren(", from ", fields[0], " to ", /** @type {Node} */ (fields[1]), el("span", { class: "limits-unit" }));
    }
    const unit = from.querySelector(".limits-unit");
    if (unit) setText(unit, histogram?.unit === undefined ? "" : ` ${histogram.unit}`);
    from.hidden = !overlay && histogram === null;
    const wanted = [...(overlay ? words.overlay : words.map), threshold_word, start, region];
    if (wanted.some((node, index) => line.children[index] !== node) || line.children.length !== wanted.length) line.replaceChildren(...wanted);
  }

  return {
    update(next, is_open) {
      state = next;
      open = is_open;
      draw();
    },
    show(next) {
      picture = next;
      draw();
    },
    has_axis,
    limits_of(map) {
      const entry = entries().find((one) => one.map.id === map);
      return entry ? limitsOf(entry) : null;
    },
  };
}
