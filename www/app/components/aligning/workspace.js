// The place where a photo, or another scan, is laid on the maps: both pictures side by side, each with its magnified view below, and beside them what is set.

import { across, endOf, isFull, isLaying, proposedPlace, ruleOf, waiting } from "../../aligning-state.js";
import { nextWords, placeWords } from "../../aligning-words.js";
import { el, setAttribute, setText } from "../../dom.js";
import { stretch } from "../../plane.js";
import { capital } from "../../scan-words.js";
import { mapsOfScan } from "../../scans-state.js";
import { targetOf } from "../../state.js";
import { createKeysHelp } from "../keys-help.js";
import { createEdges } from "./edges.js";
import { createFinding } from "./finding.js";
import { createLens } from "./lens.js";
import { factorOf } from "./marks.js";
import { createPoints } from "./points.js";
import { createScanPart } from "./scan-part.js";
import { createAlignSide } from "./side.js";
import { createStatement } from "./statement.js";

/** @typedef {import("../../state.js").State} State */
/** @typedef {import("../../state.js").Target} Target */
/** @typedef {import("../../aligning-state.js").Aligning} Aligning */
/** @typedef {import("../../aligning-state.js").Side} Side */
/** @typedef {import("../../plane.js").Place} Place */
/** @typedef {{picture: (settings: import("../../types.js").PictureSettings) => Promise<import("../../types.js").Picture>}} Services */

/** @type {[string, string][]} */
const KEYS = [
  ["arrows", "move the cross, by a step as large as can be seen; a chosen point by 1 pixel"],
  ["Shift with an arrow", "the cross by 1 pixel; a chosen point by a tenth"],
  ["Enter", "set a point, or be done with it"],
  ["[ and ], or P and N", "the point before, the next point"],
  ["Delete", "remove the point"],
  ["Escape", "leave the point; then leave this place"],
  ["+ and −", "nearer, farther"],
  ["0", "fit the whole picture"],
  ["Tab", "the other picture, and what stands beside"],
  ["?", "these keys"],
];
const MORE = "A magnified view is dragged under its cross, as finely as it is magnified; the wheel magnifies more or less.";
/** Pixels of the page for one of the grid in a magnified view. */
const NEARER = { least: 1, start: 8, most: 48, step: 1.5 };

/** @param {HTMLElement} root @param {import("../../controller.js").Send} send @param {Services} services
 * @returns {{update: (state: State) => void}} */
export function createAligning(root, send, services) {
  /** @type {State|null} */
  let state = null;
  /** @type {Record<Side, Place|null>} */
  let cursors = { photo: null, maps: null };
  /** @type {Side} */
  let active = "photo";
  let by_keys = false;
  let nearer = NEARER.start;
  let was_open = false;
  /** Where the focus goes back to. */
  let opened_from = "";
  let lies = "";

  const edit = (/** @type {Aligning} */ next) => {
    if (state?.aligning != null && next !== state.aligning) send({ type: "align_edit", next });
  };
  const leave = () => send({ type: "close_aligning" });

  /** @type {import("./side.js").Desk} */
  const desk = {
    aligning: () => state?.aligning ?? null,
    object: () => state?.object ?? null,
    edit,
    cursor: (side) => cursors[side],
    go(side, at, keys) {
      cursors = { ...cursors, [side]: at };
      by_keys = keys;
      if (keys) setText(spoken, placeWords(at));
      redraw();
    },
    by_keys: () => by_keys,
    active: () => active,
    activate(side) {
      active = side;
      redraw();
    },
    over(side) {
      by_keys = true;
      sides[side].pane.canvas.focus();
      const at = cursors[side];
      if (at !== null) sides[side].pane.reveal(...at);
    },
    redraw,
    leave,
  };
  const sides = { photo: createAlignSide("photo", 0, services.picture, desk), maps: createAlignSide("maps", 1, services.picture, desk) };
  const lens = (/** @type {Side} */ side) => createLens(services.picture, (by) => sides[side].shift(by), magnify);
  const lenses = { photo: lens("photo"), maps: lens("maps") };

  // ---- parts ----

  const title = el("h2", { class: "aligning-title" });
  const said = el("p", { class: "aligning-said", attrs: { id: "aligning-said", role: "status" } });
  const keys_tool = el("button", { class: "view-tool", text: "Keys", attrs: { type: "button", "aria-expanded": "false" }, on: { click: toggleKeys } });
  const near = (/** @type {string} */ text, /** @type {string} */ label, /** @type {number} */ factor) =>
    el("button", { class: "view-tool", text, attrs: { type: "button", "aria-label": label }, on: { click: () => magnify(factor) } });
  const whiskers = el("span", { class: "aligning-whiskers" });
  const magnified = el("p", { class: "aligning-magnified" }, [near("Magnify less", "Magnify less", 1 / NEARER.step), near("Magnify more", "Magnify more", NEARER.step), whiskers]);
  const spoken = el("p", { class: "visually-hidden", attrs: { "aria-live": "polite" } });
  const done = el("button", { class: "button aligning-done", text: "Done", attrs: { type: "button" }, on: { click: leave } });
  const photo_side = el("div", { class: "aligning-column" }, [sides.photo.element, lenses.photo.element]);
  const maps_side = el("div", { class: "aligning-column" }, [sides.maps.element, lenses.maps.element]);
  const stage = el("div", { class: "aligning-stage" }, [
    el("div", { class: "aligning-bar" }, [title, keys_tool]), said,
    el("div", { class: "aligning-columns" }, [photo_side, maps_side]), magnified, spoken,
  ]);
  const statement_root = el("section", { class: "aligning-part sentence", attrs: { "aria-label": "What is laid" } });
  const finding_root = el("section", { class: "aligning-part", attrs: { "aria-label": "Find it for me" } });
  const scan_root = el("section", { class: "aligning-part", attrs: { "aria-label": "Against the first scan" } });
  const points_root = el("section", { class: "aligning-part", attrs: { "aria-label": "Points" } });
  const edges_root = el("section", { class: "aligning-part sentence", attrs: { "aria-label": "Object’s edges" } });
  root.append(stage, el("div", { class: "aligning-side" }, [el("div", { class: "aligning-parts" }, [statement_root, finding_root, scan_root, points_root, edges_root]), el("div", { class: "aligning-foot" }, [done])]));
  const statement = createStatement(statement_root, send);
  const finding = createFinding(finding_root, send);
  const scan_part = createScanPart(scan_root, send);
  const points = createPoints(points_root, edit);
  const edges = createEdges(edges_root, send, () => desk.over("maps"));
  const keys_help = createKeysHelp(stage, () => {
    setAttribute(keys_tool, "aria-expanded", "false");
    keys_tool.focus();
  }, { place: "the pictures", keys: KEYS, more: MORE });

  function toggleKeys() {
    if (keys_help.is_open()) return keys_help.close();
    setAttribute(keys_tool, "aria-expanded", "true");
    keys_help.open();
  }
  root.addEventListener("keydown", (event) => {
    if (event.defaultPrevented || event.ctrlKey || event.metaKey || event.altKey || event.target instanceof HTMLInputElement) return;
    if (event.key === "?") toggleKeys();
    else if (event.key === "Escape") leave();
    else return;
    event.preventDefault();
  });

  // ---- pictures ----

  /** @param {State} now
   * @returns {Record<Side, Target|{message: string}>} */
  function targets(now) {
    const photo = now.photos.find(({ id }) => id === now.aligning?.photo);
    // The photo in its own pixels, the maps without it.
    const as = (/** @type {Partial<import("../../subjects.js").Subject>} */ subject) =>
      targetOf({ ...now, photo_under: null, photo_as_taken: true, views: now.views.with(now.active, { ...(now.views[now.active] ?? /** @type {any} */ ({})), ...subject }) });
    const scan = now.aligning?.scan ?? null;
    if (scan !== null) return { photo: as({ mode: "map", map: scan.map }), maps: as({ mode: "map", map: scan.first }) };
    const of_photo = photo === undefined ? { message: "No photo is chosen." } : as({ mode: "photo", photo: photo.id });
    const subject = now.views[now.active];
    const here = subject?.mode === "map" || subject?.mode === "overlay" ? as({}) : as({ mode: "map", map: now.map });
    // Another scan than the first does not lie on the grid.
    const on_grid = "message" in here || here.on_grid ? here : as({ mode: "map", map: mapsOfScan(now.maps, 0)[0]?.id ?? null });
    return { photo: turned(of_photo, photo), maps: mixed(on_grid, now) };
  }

  /** A photo that is turned or mirrored is another picture, also where it keeps its size.
   * @param {Target|{message: string}} target @param {import("../../types.js").PhotoSummary|undefined} photo */
  function turned(target, photo) {
    if ("message" in target || photo === undefined) return target;
    return { ...target, plane: `${target.plane} ${photo.id} ${photo.turns} ${photo.mirror}`, fingerprint: `${target.fingerprint} ${photo.turns} ${photo.mirror}` };
  }

  /** What was found is shown before it is taken over. @param {Target|{message: string}} target @param {State} now */
  function mixed(target, { aligning }) {
    const { photo, found } = aligning ?? {};
    if ("message" in target || photo == null || !found?.is_accepted) return target;
    const settings = /** @type {any} */ ({ ...target.settings, photo, mix: 0.5, photo_transform: found.transform });
    return { ...target, settings, fingerprint: `${target.fingerprint} ${JSON.stringify(settings)}` };
  }

  /** The place that is looked at closely on a side. @param {Aligning} aligning @param {Side} side
   * @returns {Place|null} */
  function looked(aligning, side) {
    if (aligning.edges !== null) {
      const at = aligning.edges.places[aligning.edges.chosen ?? -1] ?? null;
      if (at !== null) return side === "maps" ? at : across(aligning, "maps", at);
      return pointed(aligning, side);
    }
    const point = aligning.chosen === null ? undefined : aligning.points[aligning.chosen];
    if (point === undefined) return pointed(aligning, side);
    const own = point[endOf(side)];
    if (own !== null || isFull(point)) return own;
    return active === side && cursors[side] !== null ? cursors[side] : proposedPlace(aligning) ?? cursors[side];
  }

  /** @param {Aligning} aligning @param {Side} side */
  function pointed(aligning, side) {
    if (active === side) return cursors[side];
    const other = cursors[active];
    return other === null ? cursors[side] : across(aligning, active, other) ?? cursors[side];
  }

  function magnify(/** @type {number} */ factor) {
    nearer = Math.min(NEARER.most, Math.max(NEARER.least, nearer * factor));
    showLenses();
  }

  function showLenses() {
    if (state === null || state.aligning === null) return;
    const { aligning, grid } = state;
    const across_px = nearer * devicePixelRatio;
    const down_px = across_px * (grid?.pixel_aspect ?? 1);
    const maps = sides.maps.pane.target();
    const on_maps = looked(aligning, "maps");
    lenses.maps.show(maps === null || on_maps === null ? null : { target: maps, at: on_maps, steps: [[across_px, 0], [0, down_px]] }, on_maps === null ? "" : `${aligning.scan === null ? "Maps" : "First scan"} at ${placeWords(on_maps)}`);
    const photo = sides.photo.pane.target();
    const on_photo = looked(aligning, "photo");
    if (photo === null || on_photo === null) return lenses.photo.show(null, "");
    const rule = ruleOf(aligning);
    const laid = rule === null ? null : stretch(rule.there, on_photo);
    // Before anything is known the photo is taken to be as wide as the maps.
    const rough = (grid?.width ?? photo.width) / photo.width;
    /** @type {[Place, Place]} */
    const steps = laid === null ? [[across_px * rough, 0], [0, across_px * rough]] : [[laid[0][0] * across_px, laid[0][1] * down_px], [laid[1][0] * across_px, laid[1][1] * down_px]];
    lenses.photo.show({ target: photo, at: on_photo, steps }, `${aligning.scan === null ? "Photo" : capital(aligning.scan.label)} at ${placeWords(on_photo)}${laid === null ? "" : aligning.scan === null ? ", laid as the maps" : ", laid as the first scan"}`);
  }

  function redraw() {
    for (const { pane } of Object.values(sides)) pane.paint();
    showLenses();
    showWhiskers();
  }

  function showWhiskers() {
    const { aligning } = state ?? {};
    const { pane } = sides.maps;
    const has_errors = aligning != null && !aligning.unsent && (aligning.alignment?.points.some(({ error_px, left_out_px }) => (error_px ?? left_out_px) !== null) ?? false);
    const alone = aligning?.alignment?.points.some(({ left_out_px }) => left_out_px !== null) ? "; broken lines: by the other points alone" : "";
    setText(whiskers, has_errors && pane.target() !== null ? `Errors are drawn ${factorOf(aligning, pane.camera())} times as long${alone}.` : "");
  }

  // ---- state ----

  /** @param {State} next */
  function opened(next) {
    cursors = { photo: null, maps: null };
    by_keys = false;
    active = next.aligning !== null && isLaying(next.aligning) ? "photo" : "maps";
    for (const { pane } of Object.values(sides)) pane.refit();
    sides[active].pane.canvas.focus();
  }

  return {
    update(next) {
      const before = state;
      state = next;
      const { aligning } = next;
      root.hidden = aligning === null;
      if (aligning === null) {
        if (was_open) /** @type {HTMLElement|null} */ (document.querySelector(opened_from))?.focus();
        was_open = false;
        return;
      }
      const opens = !was_open;
      was_open = true;
      const { photo: photo_id, scan } = aligning;
      opened_from = scan !== null ? `.sheet-align[data-scan="${scan.field}"]` : photo_id === null ? ".scan-edges" : `.sheet-align[data-photo="${CSS.escape(photo_id)}"]`;
      if (aligning.lies !== lies) cursors = { photo: null, maps: null };
      lies = aligning.lies;
      const photo = next.photos.find(({ id }) => id === aligning.photo);
      setText(title, scan !== null ? `Align the ${scan.label}` : photo === undefined ? "Object’s edges" : `Align ${photo.name}`);
      setText(said, nextWords(aligning));
      photo_side.hidden = photo === undefined && scan === null;
      const { photo: of_photo, maps: of_maps } = targets(next);
      if (!photo_side.hidden) sides.photo.pane.update(of_photo, [{ colour: "", text: scan === null ? "The photo" : capital(scan.label) }], false);
      sides.maps.pane.update(of_maps, [{ colour: "", text: scan === null ? "The maps" : "First scan" }], false);
      statement.update(next);
      finding.update(aligning);
      scan_part.update(next);
      points.update(aligning);
      edges.update(next);
      // How far off a mark on another scan may be is not kept with it.
      edges_root.hidden = scan !== null;
      for (const side of /** @type {const} */ (["photo", "maps"])) canvasData(side, aligning);
      if (opens) opened(next);
      else if (before?.aligning?.chosen !== aligning.chosen) reveal(aligning);
      redraw();
    },
  };

  /** What is chosen comes into sight on both sides. @param {Aligning} aligning */
  function reveal(aligning) {
    const point = aligning.chosen === null ? undefined : aligning.points[aligning.chosen];
    for (const side of /** @type {const} */ (["photo", "maps"])) {
      const at = point?.[endOf(side)] ?? null;
      if (at !== null && !sides[side].pane.element.hidden) sides[side].pane.reveal(...at);
    }
  }

  /** What a screen reader cannot see and a test can read. @param {Side} side @param {Aligning} aligning */
  function canvasData(side, aligning) {
    sides[side].pane.canvas.dataset.points = JSON.stringify(aligning.points.map((point) => point[endOf(side)]));
    sides[side].pane.canvas.dataset.waiting = String(waiting(aligning) >= 0);
  }
}
