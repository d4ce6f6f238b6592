// What went wrong or was noticed while reading: which file, what, and what to do. Never in the way; each line can be put away.

import { el, reconcile, setText } from "../dom.js";

/** @typedef {import("../state.js").State} State */
/** @typedef {import("../state.js").NoticeLine} NoticeLine */

/** More lines than this are folded, so that two hundred files do not push the picture off the screen. */
const SHOWN = 3;
/** File names said in full before "and n more". */
const NAMES = 2;

/** In the order in which they are shown. */
const SEVERITIES = /** @type {const} */ (["error", "warning", "info"]);
const SEVERITY = { error: "Left out", warning: "Check", info: "Note" };

/** @param {string[]} files */
function namesOf(files) {
  const more = files.length - NAMES;
  return files.slice(0, NAMES).join(", ") + (more > 0 ? ` and ${more} more` : "");
}

/** @param {HTMLElement} root @param {import("../controller.js").Send} send
 * @returns {{update: (state: State) => void}} */
export function createNotices(root, send) {
  let unfolded = false;
  /** @type {State|null} */
  let last = null;
  const trouble = el("p", { class: "notices-trouble", attrs: { role: "alert", hidden: true } });
  const list = el("ul", { class: "notices-list", attrs: { role: "status" } });
  const more = el("button", { class: "quiet-button", attrs: { type: "button" }, on: { click: () => {
    unfolded = !unfolded;
    if (last) update(last);
  } } });
  const clear = el("button", { class: "quiet-button", text: "Put all away", attrs: { type: "button" }, on: { click: () => send({ type: "dismiss_all" }) } });
  const foot = el("div", { class: "notices-foot" }, [more, clear]);
  root.append(trouble, list, foot);

  function make(/** @type {NoticeLine} */ line) {
    return el("li", { class: `notice notice-${line.severity}` }, [
      el("span", { class: "notice-severity" }),
      el("p", { class: "notice-text" }, [el("strong", { class: "notice-files" }), el("span")]),
      el("button", { class: "quiet-button", text: "Put away", attrs: { type: "button" }, on: { click: () => send({ type: "dismiss", key: line.key }) } }),
    ]);
  }

  function show(/** @type {HTMLElement} */ item, /** @type {NoticeLine} */ line) {
    const [severity, text, button] = /** @type {HTMLElement[]} */ ([...item.children]);
    const [files, words] = /** @type {HTMLElement[]} */ ([...(text?.children ?? [])]);
    if (!severity || !files || !words || !button) return;
    // A failure that belongs to no file left nothing out.
    setText(severity, line.severity === "error" && line.files.length === 0 ? "Failed" : SEVERITY[line.severity]);
    setText(files, namesOf(line.files));
    files.title = line.files.length > NAMES ? line.files.join("\n") : "";
    setText(words, line.text);
    button.setAttribute("aria-label", `Put away: ${line.text}`);
  }

  function update(/** @type {State} */ state) {
    last = state;
    const broken = state.phase === "broken" && state.maps.length + state.photos.length > 0;
    trouble.hidden = !broken;
    setText(trouble, broken ? `The part that computes cannot be started again. ${state.trouble?.message ?? ""} Reload this page and add the files once more.` : "");
    // Folding a single line away would save nothing.
    const all = unfolded || state.notices.length === SHOWN + 1;
    // What was left out is never folded behind what is only worth knowing.
    const ordered = SEVERITIES.flatMap((severity) => state.notices.filter((line) => line.severity === severity));
    const lines = all ? ordered : ordered.slice(0, SHOWN);
    reconcile(list, lines, (line) => line.key, make, show);
    const folded = state.notices.length - SHOWN;
    more.hidden = folded <= 1;
    setText(more, unfolded ? "Show fewer" : `Show ${folded} more`);
    clear.hidden = state.notices.length < 2;
    foot.hidden = more.hidden && clear.hidden;
    root.hidden = state.notices.length === 0 && !broken;
  }
  return { update };
}
