// What went wrong or was noticed: which file or map, what, and what can be done about it with one press. Never in the way; each can be put
// away, and many that say the same are one line.

import { el, reconcile, setAttribute, setText } from "../dom.js";
import { actsForAll, actsOf, grouped, inSight, namesOf, sentenceOf } from "../noticed.js";

/** @typedef {import("../state.js").State} State */
/** @typedef {import("../noticed.js").Act} Act */
/** @typedef {import("../noticed.js").Group} Group */
/** @typedef {import("../noticed.js").Held} Held */

/** More lines than this are folded, so that two hundred files do not push the picture off the screen; without a picture there is room. */
const SHOWN = 2;
/** Names said in full before "and n more". */
const NAMES = 2;

const SEVERITY = { error: "Left out", warning: "Check", info: "Note" };

/** @param {string[]} names */
function shortly(names) {
  const more = names.length - NAMES;
  return names.slice(0, NAMES).join(", ") + (more > 0 ? ` and ${more} more` : "");
}

/** A failure that belongs to no file, or was found in the stack, left nothing out. @param {Group} group */
function severityOf({ severity, source, held }) {
  if (severity !== "error") return SEVERITY[severity];
  return source === "opening" || (source === "page" && held.some(({ file }) => file !== "")) ? SEVERITY.error : source === "page" ? "Failed" : "Wrong";
}

/** @param {HTMLElement} root @param {import("../controller.js").Send} send
 * @returns {{update: (state: State) => void}} */
export function createNotices(root, send) {
  let unfolded = false;
  /** Lines whose notices are shown one by one. @type {Set<string>} */
  const open = new Set();
  /** @type {State|null} */
  let last = null;
  const redraw = (/** @type {() => void} */ change) => {
    change();
    if (last) draw(last);
  };
  const quiet = (/** @type {string} */ name, /** @type {string} */ text, /** @type {() => void} */ run) =>
    el("button", { class: `quiet-button ${name}`.trim(), text, attrs: { type: "button" }, on: { click: run } });
  const trouble = el("p", { class: "notices-trouble", attrs: { role: "alert", hidden: true } });
  const list = el("ul", { class: "notices-list", attrs: { role: "status" } });
  const more = quiet("", "", () => redraw(() => (unfolded = !unfolded)));
  const clear = quiet("", "Put all away", () => send({ type: "dismiss_all" }));
  const foot = el("div", { class: "notices-foot" }, [more, clear]);
  root.append(trouble, list, foot);

  /** @param {Group} group */
  function make({ key, severity }) {
    return el("li", { class: `notice notice-${severity}` }, [
      el("span", { class: "notice-severity" }),
      el("div", { class: "notice-middle" }, [
        el("p", { class: "notice-text" }, [el("strong", { class: "notice-files" }), el("span", { class: "notice-words" })]),
        el("div", { class: "notice-acts" }),
        quiet("notice-each", "", () => redraw(() => (open.has(key) ? open.delete(key) : open.add(key)))),
        el("ul", { class: "notice-all", attrs: { hidden: true } }),
      ]),
      quiet("notice-away", "Put away", () => send({ type: "dismiss", keys: (groups.get(key)?.held ?? []).map((one) => one.key) })),
    ]);
  }

  /** The groups that are shown, for the buttons made once. @type {Map<string, Group>} */
  const groups = new Map();

  /** @param {HTMLElement} root @param {Act[]} acts @param {State} state */
  function showActs(root, acts, state) {
    const failed = acts.find(({ key }) => key === state.act_trouble?.key);
    root.hidden = acts.length === 0;
    reconcile(root, acts, ({ key, label }) => `${key} ${label}`, () => el("span", { class: "notice-act" }, [
      el("button", { class: "button notice-offer", attrs: { type: "button" } }), el("span", { class: "notice-doing", text: "Working" }),
      quiet("notice-cancel", "Cancel", () => send({ type: "cancel_act" })), el("span", { class: "notice-failed", attrs: { role: "alert" } }),
    ]), (item, act) => {
      const [button, doing, cancel, failure] = /** @type {HTMLElement[]} */ ([...item.children]);
      if (!(button instanceof HTMLButtonElement) || !doing || !cancel || !failure) return;
      const busy = state.doing?.key === act.key;
      setText(button, act.label);
      button.onclick = () => send(act.calls.length === 0 ? { type: "open_naming" } : { type: "act", act });
      button.disabled = state.doing !== null;
      doing.hidden = cancel.hidden = !busy;
      setText(failure, failed === act ? state.act_trouble?.message ?? "" : "");
      failure.hidden = failure.textContent === "";
    });
  }

  /** @param {HTMLElement} item @param {Group} group @param {State} state */
  function show(item, group, state) {
    const part = (/** @type {string} */ name) => /** @type {HTMLElement} */ (item.querySelector(name));
    const { held, is_one_text } = group;
    const names = namesOf(held, state.maps);
    const text = held[0] ? sentenceOf(held[0], state.maps) : "";
    setText(part(".notice-severity"), severityOf(group));
    const files = part(".notice-files");
    setText(files, is_one_text ? shortly(names) : names[0] ?? "");
    files.title = is_one_text && names.length > NAMES ? names.join("\n") : "";
    setText(part(".notice-words"), is_one_text ? text : `${text} Likewise in ${held.length - 1} other ${held.every(({ map }) => map === null) ? "files" : "maps"}.`);
    showActs(part(".notice-acts"), [...actsForAll(group), ...pageActs(group, state)], state);
    // One by one, where they differ or where each has something to be done.
    const each = /** @type {HTMLElement} */ (part(".notice-each"));
    const has_each = held.length > 1 && (!is_one_text || held.some(({ offers }) => offers.length > 0));
    each.hidden = !has_each;
    const is_open = has_each && open.has(group.key);
    setText(each, is_open ? "Show together" : `Show each of the ${held.length}`);
    setAttribute(each, "aria-expanded", String(is_open));
    const all = part(".notice-all");
    all.hidden = !is_open;
    reconcile(all, is_open ? held : [], (one) => one.key, () => el("li", { class: "notice-one" }, [
      el("p", { class: "notice-text" }, [el("strong", { class: "notice-files" }), el("span")]), el("div", { class: "notice-acts" }),
    ]), (line, one) => {
      const [words, acts] = /** @type {HTMLElement[]} */ ([...line.children]);
      const [name, sentence] = /** @type {HTMLElement[]} */ ([...(words?.children ?? [])]);
      if (name) setText(name, namesOf([one], state.maps)[0] ?? "");
      if (sentence) setText(sentence, is_one_text ? "" : sentenceOf(one, state.maps));
      if (acts) showActs(acts, actsOf(one), state);
    });
    setAttribute(part(".notice-away"), "aria-label", `Put away: ${text}`);
  }

  /** What the page itself can do about it: maps without a name are named in the table of names, and those that lie elsewhere may be of
   * another scan. @param {Group} group @param {State} state */
  function pageActs({ code }, state) {
    if (state.naming !== null) return [];
    return code === "no_element" ? [NAME] : code === "other_size" ? [STATE_SCAN] : [];
  }

  function draw(/** @type {State} */ state) {
    const broken = state.phase === "broken" && state.maps.length + state.photos.length > 0;
    trouble.hidden = !broken;
    setText(trouble, broken ? `The part that computes cannot be started again. ${state.trouble?.message ?? ""} Reload this page and add the files once more.` : "");
    // What was left out is never folded behind what is only worth knowing.
    const ordered = grouped(state.notices);
    const is_empty = state.maps.length + state.photos.length === 0;
    const first = is_empty ? ordered : inSight(ordered, SHOWN);
    const lines = unfolded ? ordered : first;
    groups.clear();
    for (const group of lines) groups.set(group.key, group);
    reconcile(list, lines, ({ key }) => key, make, (item, group) => show(item, group, state));
    const folded = ordered.length - first.length;
    more.hidden = folded === 0;
    setText(more, more.hidden ? "" : unfolded ? "Show fewer" : `Show ${folded} more`);
    clear.hidden = ordered.length < 2;
    foot.hidden = more.hidden && clear.hidden;
    root.hidden = ordered.length === 0 && !broken;
  }

  return {
    update(state) {
      const keys = /** @type {const} */ (["notices", "maps", "photos", "phase", "trouble", "doing", "act_trouble", "naming"]);
      if (last !== null && keys.every((key) => last?.[key] === state[key])) return;
      last = state;
      draw(state);
    },
  };
}

/** No call of the core: it opens the table of names. @type {Act} */
const NAME = { key: "name", label: "Name the maps", of: [], calls: [] };
/** The same table. @type {Act} */
const STATE_SCAN = { key: "scan", label: "Say which scan they are of", of: [], calls: [] };
