// The view in its neutral surround: one picture, or several that move and point together; read-out above, key and limits below.

import { el, reconcile, setAttribute, setText } from "../dom.js";
import { columnsFor } from "../camera.js";
import { createFullScreen } from "../full-screen.js";
import { createLink } from "../link.js";
import { newestOnly } from "../newest.js";
import { asProblem } from "../protocol.js";
import { placeText } from "../reading.js";
import { lightNow, mapsInViews, targetOf } from "../state.js";
import { LAYOUTS, MOST_VIEWS, layoutText, subjectName } from "../subjects.js";
import { isKeptInSight } from "../findings-state.js";
import { createDivideLine } from "./divide-line.js";
import { createDrawTool } from "./draw-tool.js";
import { createKey } from "./key.js";
import { createKeepView } from "./findings/keep-view.js";
import { createKeysHelp } from "./keys-help.js";
import { createLimits } from "./limits.js";
import { createOverView } from "./over-view.js";
import { createPane } from "./pane.js";
import { createReadOut } from "./read-out.js";
import { createColourLayer } from "./colour-layer.js";
import { createColourStrip } from "./colour-strip.js";
import { createPointsLayer } from "./points-layer.js";
import { createPointStrip } from "./point-strip.js";
import { createRegionLayer } from "./region-layer.js";
import { createRegionStrip } from "./region-strip.js";
import { createSavePicture } from "./save-picture.js";
import { createSeen } from "./seen.js";
import { paintScans } from "./scan-outline.js";
import { createSpectrumPanel } from "./spectrum-panel.js";
import { createSubject } from "./subject.js";
import { createUnder } from "./under.js";
import { createWarnings } from "./warnings.js";

/** @typedef {import("../state.js").State} State */
/** @typedef {import("../subjects.js").Mode} Mode */
/** @typedef {import("../types.js").Picture} Picture */
/** @typedef {import("../types.js").PictureFile} PictureFile */
/** @typedef {import("../types.js").PictureSettings} PictureSettings */
/** @typedef {import("../types.js").ReadOut} ReadOut */
/** @typedef {{answer?: string, show?: string, map?: string}} ReadOf */
/** @typedef {import("./limits.js").Services & import("./region-layer.js").Services & {picture: (settings: PictureSettings) => Promise<Picture>,
 *   read_out: (x: number, y: number, of: ReadOf) => Promise<ReadOut>, save_picture: (file: PictureFile) => Promise<Blob>}} Services */

/** @type {{mode: Mode, text: string}[]} */
const MODES = [{ mode: "map", text: "Map" }, { mode: "overlay", text: "Overlay" }, { mode: "answer", text: "Answer" }];
const ZOOM_STEP = 1.25;
/** Room around a fitted picture, in pixels of the page. */
const MARGIN = 16;
const MARGIN_OF_MANY = 6;

/** @param {HTMLElement} root @param {import("../controller.js").Send} send @param {Services} services
 * @returns {{update: (state: State) => void, seen: () => import("../findings-control.js").Seen, keep: () => void}} */
export function createView(root, send, services) {
  /** @type {State|null} */
  let state = null;
  let limits_open = true;

  // ---- parts ----

  const tool = (/** @type {string} */ text, /** @type {() => void} */ run) => el("button", { class: "view-tool", text, attrs: { type: "button" }, on: { click: run } });
  const act = (/** @type {string} */ text, /** @type {string} */ label, /** @type {() => void} */ run) =>
    el("button", { class: "view-zoom-button", text, attrs: { type: "button", "aria-label": label, title: label }, on: { click: run } });
  const modes = el("div", { class: "view-switch", attrs: { role: "group", "aria-label": "The view shows" } });
  const layouts = el("div", { class: "view-tools", attrs: { role: "group", "aria-label": "Number of views" } });
  const photo_tool = tool("Photo", () => under.open());
  photo_tool.title = "See a photo with the maps";
  photo_tool.classList.add("view-tool-photo");
  const limits_tool = tool("Limits", toggleLimits);
  const draw_tool = createDrawTool(root, send, () => state);
  const save_tool = tool("Save picture", toggleSave);
  const keep_tool = tool("Keep this view", () => keep_view.keep());
  const alone_tool = tool("Full screen", () => full_screen.toggle());
  const keys_tool = tool("Keys", toggleKeys);
  keys_tool.classList.add("view-tool-keys");
  const subject_root = el("div", { class: "subject" });
  const under_root = el("div", { class: "view-under" });
  const read = el("div", { class: "view-read" });
  const panes_root = el("div", { class: "view-panes" });
  const save_root = el("div", { class: "view-save" });
  const strip_root = el("div", { class: "view-strip", attrs: { hidden: true } });
  const colour_root = el("div", { class: "view-strip", attrs: { hidden: true } });
  const point_root = el("div", { class: "view-strip", attrs: { hidden: true } });
  const keep_root = el("div", { class: "view-keep" });
  const warnings_root = el("section", { class: "warnings", attrs: { "aria-label": "Line warnings", hidden: true } });
  const spectrum_root = el("div", { class: "view-spectrum", attrs: { hidden: true } });
  const limits_root = el("section", { class: "limits", attrs: { "aria-label": "Limits" } });
  const key_root = el("div", { class: "view-foot" });
  const spoken = el("p", { class: "visually-hidden", attrs: { "aria-live": "polite" } });
  root.append(
    el("div", { class: "view-bar" }, [
      modes, subject_root,
      el("div", { class: "view-zoom", attrs: { role: "group", "aria-label": "Zoom" } }, [
        act("−", "Smaller", () => pane().zoom_by(1 / ZOOM_STEP)), act("Fit", "Fit the whole picture", () => pane().refit()), act("+", "Larger", () => pane().zoom_by(ZOOM_STEP)),
      ]),
    ]),
    el("div", { class: "view-bar view-bar-quiet" }, [layouts, el("div", { class: "view-tools" }, [draw_tool.element, photo_tool, limits_tool, save_tool, keep_tool, alone_tool, keys_tool])]),
    keep_root, under_root, read, panes_root, warnings_root, strip_root, colour_root, point_root, spectrum_root, save_root, key_root, limits_root, spoken,
  );

  const link = createLink(() => (state !== null && state.layout > 1 ? MARGIN_OF_MANY : MARGIN) * devicePixelRatio);
  const panes = Array.from({ length: MOST_VIEWS }, (_, number) => createPane(number, link, services.picture, {
    activate: () => send({ type: "activate_view", view: number }),
    over: (pen, camera, target) => {
      over_view.paint(pen, camera, target);
      if (state !== null) paintScans(pen, camera, target, state);
      layer.paint(pen, camera, target);
      points_layer.paint(pen, camera, target);
      colour_layer.paint(pen, camera, target);
    },
    pictured: () => {
      if (number === active()) showPicture();
    },
    moved: () => {
      everyPane((one) => one.want());
      save_picture.update();
    },
    pointed: () => everyPane((one) => one.paint()),
    read: (x, y, aloud) => reading.ask({ x, y, aloud }),
    left,
  }));
  panes_root.append(...panes.map(({ element }) => element));
  const over_view = createOverView(panes, send, () => everyPane((one) => one.paint()));
  panes_root.after(over_view.help);
  const layer = createRegionLayer(panes, send, services, {
    painted: () => everyPane((one) => one.paint()),
    read: (x, y) => readMark(x, y),
    told: (area, drawing) => strip.tell(area, drawing),
  });
  panes.forEach(layer.listen);
  const points_layer = createPointsLayer(panes, send, { painted: () => everyPane((one) => one.paint()), read: (x, y) => readMark(x, y) });
  panes.forEach(points_layer.listen);
  const colour_layer = createColourLayer(panes, send, { painted: () => everyPane((one) => one.paint()), read: (x, y) => readMark(x, y) });
  panes.forEach(colour_layer.listen);
  const strip = createRegionStrip(strip_root, send, (name) => layer.act(name), (map) => limits.limits_of(map), () => pane().canvas.focus());
  const lines = panes.map((one) => createDivideLine(one, send));
  const under = createUnder(photo_tool, root, under_root, send);
  const colour_strip = createColourStrip(colour_root, send, () => pane().target()?.on_grid === true, () => pane().canvas.focus());
  const point_strip = createPointStrip(point_root, send, () => pane().canvas.focus());
  const warnings = createWarnings(warnings_root, send);
  const spectrum = createSpectrumPanel(spectrum_root, send, () => pane().canvas.focus());
  const key = createKey(key_root, send);
  const limits = createLimits(limits_root, send, services, () => showPicture());
  const subject = createSubject(subject_root, send);
  const read_out = createReadOut(read);
  const in_sight = createSeen(panes, link, () => state);
  const save_picture = createSavePicture(save_root, in_sight.saved, services.save_picture, () => {
    setAttribute(save_tool, "aria-expanded", "false");
    showLimits();
    save_tool.focus();
  });
  const keys_help = createKeysHelp(root, () => {
    setAttribute(keys_tool, "aria-expanded", "false");
    if (keys_tool.checkVisibility()) keys_tool.focus();
    else pane().canvas.focus();
  });
  const keep_view = createKeepView(keep_root, panes_root, send, in_sight.seen, () => keep_tool.focus());
  const full_screen = createFullScreen(root, (on) => {
    setText(alone_tool, on ? "Leave full screen" : "Full screen");
  });
  for (const button of [limits_tool, save_tool, keys_tool]) setAttribute(button, "aria-expanded", String(button === limits_tool));

  const active = () => state?.active ?? 0;
  const pane = () => /** @type {import("./pane.js").Pane} */ (panes[active()]);
  function everyPane(/** @type {(one: import("./pane.js").Pane) => void} */ run) {
    for (const one of panes) if (!one.element.hidden) run(one);
  }

  // ---- reading ----

  const reading = newestOnly(
    (/** @type {{x: number, y: number, aloud: boolean}} */ { x, y }) => services.read_out(x, y, readOf()),
    (got, { aloud }) => {
      read_out.show(got);
      if (!aloud || state === null) return;
      const in_view = mapsInViews(state);
      const told = got.values.filter(({ map }) => in_view.length === 0 || in_view.includes(map));
      setText(spoken, [placeText(got), ...told.map(({ label, text }) => `${label} ${text}`)].join(", "));
    },
    (thrown) => {
      read_out.show({ text: asProblem(thrown).message, values: [] });
    },
  );

  /** The answer whose regions are read: that of the view that is pointed at, else of the active one, else of any. @returns {ReadOf} */
  function readOf() {
    // While a region is drawn the picture must not be pushed about by what is read.
    if (strip.is_drawing() || colour_strip.is_open() || point_strip.is_open()) return {};
    const order = [panes[link.pointed === null ? active() : link.pointed_in], pane(), ...panes.filter(({ element }) => !element.hidden)];
    for (const one of order) {
      const { settings = null, readable = false, on_grid = true } = one?.target() ?? {};
      if (settings === null) continue;
      // What one scan answers is not read in another.
      if ("answer" in settings && on_grid === (order[0]?.target()?.on_grid ?? true)) return { answer: settings.answer, show: settings.show };
      // Another scan is read in its own pixels.
      if (readable && !on_grid && one === order[0]) return "map" in settings ? { map: settings.map } : "overlap" in settings ? { map: settings.overlap } : "lights" in settings ? { map: settings.lights[0]?.map } : {};
    }
    return {};
  }

  /** The pointer is gone: the keyboard's pixel is read again, if there is one. */
  function left() {
    reading.forget();
    const { cursor } = link;
    const target = pane().target();
    if (cursor === null || !target?.readable || target.plane !== cursor.plane) {
      setText(spoken, "");
      read_out.show(null);
    } else reading.ask({ x: cursor.x + 0.5, y: cursor.y + 0.5, aloud: false });
  }

  /** The pixel that the corner of a region stands at. @param {number} x @param {number} y */
  function readMark(x, y) {
    const { width = 1, height = 1 } = state?.grid ?? {};
    reading.ask({ x: Math.min(x, width - 1) + 0.5, y: Math.min(y, height - 1) + 0.5, aloud: true });
  }

  // ---- picture, key and limits of the active view ----

  function showPicture() {
    const shown = pane().picture();
    limits.show(shown?.picture ?? null);
    key.show(shown?.picture ?? null, { settled: shown?.settled ?? true, has_axis: limits.has_axis() });
  }

  // ---- tools and keys ----

  function toggleLimits() {
    if (save_picture.is_open()) {
      limits_open = true;
      return save_picture.close();
    }
    limits_open = !limits_open;
    showLimits();
  }
  /** While a picture is saved, a region drawn or a spectrum seen, that and the key have the room of the limits. */
  function seesLimits() {
    return limits_open && !save_picture.is_open() && !strip.is_drawing() && !colour_strip.is_open() && !point_strip.is_open() && !spectrum.is_open();
  }
  function showLimits() {
    const open = seesLimits();
    setAttribute(limits_tool, "aria-expanded", String(open));
    if (state !== null) limits.update(state, open);
    showPicture();
  }
  function toggleSave() {
    if (save_picture.is_open()) return save_picture.close();
    setAttribute(save_tool, "aria-expanded", "true");
    save_picture.open();
    showLimits();
  }
  function toggleKeys() {
    if (keys_help.is_open()) return keys_help.close();
    setAttribute(keys_tool, "aria-expanded", "true");
    keys_help.open();
  }
  function nextView() {
    if (state === null || state.layout === 1) return;
    panes[(state.active + 1) % state.layout]?.canvas.focus();
  }

  root.addEventListener("keydown", (event) => {
    if (event.defaultPrevented || event.ctrlKey || event.metaKey || event.altKey) return;
    if (event.target instanceof HTMLTextAreaElement || (event.target instanceof HTMLInputElement && event.target.type !== "color")) return;
    const layout = LAYOUTS.find((one) => String(one) === event.key);
    /** @type {Record<string, () => void>} */
    const keys = { n: nextView, f: full_screen.toggle, l: toggleLimits, k: keep_view.keep, o: draw_tool.toggle_outlines, p: under.open, r: draw_tool.open, s: toggleSave, "?": toggleKeys };
    const run = keys[event.key.toLowerCase()];
    if (layout) send({ type: "choose_layout", layout });
    else if (run) run();
    else if (event.key === "Escape" && full_screen.is_on()) full_screen.leave();
    else return;
    event.preventDefault();
  });

  // ---- state ----

  /** @param {State} now @param {number} view */
  function captionOf(now, view) {
    if (now.layout === 1) return [];
    if (now.views[view]?.mode !== "overlay") return [{ colour: "", text: subjectName(now, view) }];
    return now.lights.flatMap((light) => (light === null ? [] : [{ colour: lightNow(now, light).colour, text: light.label }]));
  }

  function arrange() {
    const target = panes.map((one) => one.target()).find((one) => one !== null);
    const layout = state?.layout ?? 1;
    const columns = target ? columnsFor(layout, { width: panes_root.clientWidth || 1, height: panes_root.clientHeight || 1 }, target) : Math.ceil(Math.sqrt(layout));
    panes_root.dataset.columns = String(columns);
    panes_root.dataset.views = String(layout);
  }
  new ResizeObserver(arrange).observe(panes_root);

  return {
    seen: in_sight.seen,
    keep: () => keep_view.keep(),
    update(next) {
      const looks = next.look !== null && next.look !== (state?.look ?? null) ? next.look : null;
      const turned = state !== null && (state.active !== next.active || state.layout !== next.layout);
      const draws = state?.drawing !== next.drawing;
      const bordered = state?.fields !== next.fields || state.compared !== next.compared;
      const spectrum_was_open = spectrum.is_open();
      const places = state !== null && state.placing !== next.placing;
      const says = next.point_form !== null && state?.point_form !== next.point_form;
      const picks = (state?.picking ?? null) === null ? next.picking !== null : next.picking === null;
      state = next;
      const has_maps = next.maps.length + next.photos.length > 0;
      root.hidden = !has_maps && next.findings.length === 0;
      root.classList.toggle("view-without-maps", !has_maps);
      const here = next.mode === "photo" ? [...MODES, { mode: /** @type {Mode} */ ("photo"), text: "Photo" }] : MODES;
      reconcile(modes, here, ({ mode }) => mode, ({ mode }) =>
        el("button", { class: "view-switch-button", attrs: { type: "button" }, on: { click: () => send({ type: "choose_mode", mode }) } }),
      (button, { mode, text }) => {
        setText(button, text);
        setAttribute(button, "aria-pressed", String(next.mode === mode || (mode === "map" && next.mode === "overlap")));
      });
      reconcile(layouts, LAYOUTS, String, (layout) => tool(layoutText(layout), () => send({ type: "choose_layout", layout })),
        (button, layout) => setAttribute(button, "aria-pressed", String(next.layout === layout)));
      key.update(next);
      subject.update(next);
      under.update(next);
      strip.update(next);
      point_strip.update(next);
      warnings.update(next);
      spectrum.update(next);
      limits.update(next, seesLimits());
      limits_tool.hidden = next.mode !== "map" && next.mode !== "overlay";
      const had_focus = panes.some(({ element }) => element.contains(document.activeElement));
      panes.forEach((one, number) => {
        one.element.hidden = number >= next.layout;
        if (!one.element.hidden) one.update(targetOf(next, number), captionOf(next, number), next.layout > 1 && number === next.active);
      });
      for (const line of lines) line.update(next);
      over_view.update(next);
      if (had_focus && turned) pane().canvas.focus();
      const targets = panes.filter((one) => !one.element.hidden).map((one) => one.target());
      const planes = targets.map((target) => target?.plane);
      if (link.cursor !== null && !planes.includes(link.cursor.plane)) link.cursor = null;
      if (link.pointed !== null && !planes.includes(link.pointed.plane)) link.pointed = null;
      read_out.update(next.maps, mapsInViews(next), targets.some((target) => target === null || target.readable),
        targets.some((target) => target !== null && "answer" in target.settings));
      if (link.cursor === null && link.pointed === null) read_out.show(null);
      arrange();
      if (bordered) everyPane((one) => one.paint());
      layer.update(next);
      points_layer.update(next);
      colour_layer.update(next);
      // After the views: what can be picked on depends on them.
      colour_strip.update(next);
      if (picks) {
        showLimits();
        if (next.picking !== null) {
          pane().canvas.focus();
          setText(spoken, colour_strip.words());
        }
      }
      if (spectrum_was_open !== spectrum.is_open()) showLimits();
      if (places) {
        showLimits();
        if (next.placing !== null) {
          pane().canvas.focus();
          setText(spoken, point_strip.words());
        }
      }
      // What is said of a point stands beside the view.
      if (says && full_screen.is_on()) full_screen.leave();
      if (draws) {
        showLimits();
        // From here on its keys draw.
        if (next.drawing !== null) {
          pane().canvas.focus();
          setText(spoken, strip.words());
        }
      }
      if (turned) showPicture();
      if (looks !== null) in_sight.look(looks.windows);
      keep_view.update(next);
      root.classList.toggle("view-as-kept", isKeptInSight(next));
      keep_tool.disabled = next.keeping !== null || isKeptInSight(next);
      save_picture.update();
    },
  };
}
