// What of the views is in sight: as it is saved, as it is kept, and brought back.

import { framed, onSource } from "../camera.js";
import { subjectName } from "../subjects.js";
import { dividedIn } from "../under-state.js";

/** @typedef {import("../state.js").State} State */
/** @typedef {import("../scene.js").Window} Window */
/** @typedef {import("../types.js").PictureSettings} PictureSettings */
/** @typedef {import("./pane.js").Pane} Pane */

/** The core draws a kept picture as wide as it sees fit; a window has to say some width. */
const KEPT_WIDTH = 1200;

/** @param {Pane[]} panes @param {import("../link.js").Link} link @param {() => State|null} state
 * @returns {{saved: () => import("./save-picture.js").Subject|null, seen: () => import("../findings-control.js").Seen, look: (windows: Window[]) => void}} */
export function createSeen(panes, link, state) {
  /** The picture of the active view, as it would be saved. @returns {import("./save-picture.js").Subject|null} */
  function saved() {
    const now = state();
    const pane = panes[now?.active ?? 0];
    const target = pane?.target() ?? null;
    const window = pane?.window() ?? null;
    if (now === null || target === null || window === null) return null;
    const on = onSource(window, target);
    const is_whole = on === null || (on.width === target.width && on.height === target.height);
    const [across, down] = target.cell;
    const part = is_whole ? null : { x: on.x / across, y: on.y / down, width: on.width / across, height: on.height / down };
    let { settings } = target;
    // The line stands at a share of what is seen, and shall be where it is in what is saved.
    if ("divide" in settings && settings.divide !== undefined) {
      settings = { ...settings, divide: dividedIn(settings.divide, settings.divide_along ?? "x", window, on ?? { x: 0, y: 0, width: target.width, height: target.height }) };
    }
    return { settings, part, name: subjectName(now, now.active) };
  }

  /** What is kept: that picture, and of each plane the part that is in sight where that is not all of it. */
  function seen() {
    const now = saved();
    const picture = now === null ? null : /** @type {PictureSettings} */ (now.part === null ? now.settings : { ...now.settings, view: { ...now.part, out_width: KEPT_WIDTH } });
    /** @type {Map<string, Window>} */
    const windows = new Map();
    for (const one of panes) {
      const target = one.element.hidden ? null : one.target();
      const window = one.window();
      if (target === null || window === null || one.camera().fitted || windows.has(target.plane)) continue;
      const { x, y, width, height } = window;
      windows.set(target.plane, { plane: target.plane, x, y, width, height });
    }
    return { picture, windows: [...windows.values()] };
  }

  /** The parts that were in sight when something was kept; all of the other planes. @param {Window[]} windows */
  function look(windows) {
    link.refit_all();
    const shown = panes.filter(({ element }) => !element.hidden);
    for (const one of shown) {
      const target = one.target();
      const wanted = windows.find(({ plane }) => plane === target?.plane);
      if (target === null || wanted === undefined) continue;
      // The canvas follows its place a little later.
      const place = { width: Math.round(one.stage.clientWidth * devicePixelRatio), height: Math.round(one.stage.clientHeight * devicePixelRatio) };
      link.look(target.plane, framed(wanted, target, place));
    }
    for (const one of shown) one.want();
  }

  return { saved, seen, look };
}
