// What is kept: the line below the top bar, and on the empty page the studies that can be gone on with.

import { el, reconcile, setText } from "../dom.js";
import { actsOf, entryWords, placeText, stripOf } from "../keeping-words.js";

/** @typedef {import("../state.js").State} State */
/** @typedef {import("../controller.js").Send} Send */
/** @typedef {import("../keeping-words.js").KeepingAct} KeepingAct */

/** More than this are folded. */
const SHOWN = 4;

/** @param {State} state */
const isEmpty = ({ maps, photos, findings }) => maps.length + photos.length + findings.length === 0;

const FOR_GOOD = "Forget for good";

/** @param {HTMLElement} list @param {KeepingAct[]} acts @param {Send} send */
function showActs(list, acts, send) {
  reconcile(list, acts, ({ label }) => label, ({ label, action }) => {
    const is_quiet = action.type === "open_keeping" || action.type === "stop_keeping";
    const button = el("button", { class: is_quiet ? "quiet-button" : "button keeping-act", text: label, attrs: { type: "button" }, on: {
      click: () => {
        // Forgetting takes two presses: nothing brings back what is forgotten.
        if (action.type === "stop_keeping" && button.textContent === label) setText(button, FOR_GOOD);
        else send(action);
      },
      blur: () => setText(button, label),
    } });
    return button;
  }, () => {});
}

/** The line below the top bar.
 * @param {HTMLElement} root @param {Send} send
 * @returns {{update: (state: State) => void}} */
export function createKeepingStrip(root, send) {
  const text = el("p", { class: "keeping-text", attrs: { role: "status" } });
  const acts = el("div", { class: "keeping-acts" });
  root.append(text, acts);
  return {
    update(state) {
      const strip = state.phase === "broken" ? null : stripOf(state.stored, isEmpty(state));
      root.hidden = strip === null;
      root.classList.toggle("keeping-trouble", strip?.is_trouble ?? false);
      setText(text, strip?.text ?? "");
      showActs(acts, strip?.acts ?? [], send);
    },
  };
}

/** The studies that are kept, on the page where nothing is open yet.
 * @param {HTMLElement} parent @param {Send} send @param {() => number} [now]
 * @returns {{update: (state: State) => void}} */
export function createKeptStudies(parent, send, now = () => Date.now()) {
  const head = el("h2", { class: "kept-head", text: "Go on where you left off" });
  const list = el("ul", { class: "kept-list" });
  const broken = el("p", { class: "kept-broken" });
  const trouble = el("p", { class: "kept-trouble", attrs: { role: "alert" } });
  const more = el("button", { class: "quiet-button", attrs: { type: "button" }, on: { click: () => redraw(() => (unfolded = !unfolded)) } });
  const forget = el("span", { class: "kept-forget" });
  const place = el("p", { class: "kept-place" });
  const acts = el("div", { class: "kept-acts" });
  const root = el("section", { class: "kept", attrs: { "aria-label": "Kept in this browser", hidden: true } }, [
    head, list, broken, trouble, el("div", { class: "kept-foot" }, [more, forget]), place, acts,
  ]);
  parent.append(root);
  let unfolded = false;
  /** What is asked about before it is forgotten: a study, or all. @type {string|null} */
  let asked = null;
  const ALL = "";
  /** @type {State|null} */
  let last = null;
  const redraw = (/** @type {() => void} */ change) => {
    change();
    if (last) draw(last);
  };

  /** Two presses here too.
   * @param {HTMLElement} into @param {string} what @param {string} label @param {string} name */
  function showForget(into, what, label, name) {
    const buttons = asked === what ? [FOR_GOOD, "Leave it"] : [label];
    reconcile(into, buttons, (one) => one, (one) => el("button", {
      class: one === FOR_GOOD ? "button kept-for-good" : "quiet-button", text: one, attrs: { type: "button", "aria-label": name === "" ? one : `${one}: ${name}` },
      on: { click: () => press(one, what) },
    }), () => {});
  }

  /** @param {string} button @param {string} what */
  function press(button, what) {
    redraw(() => (asked = asked === what || button === "Leave it" ? null : what));
    if (button === FOR_GOOD) send(what === ALL ? { type: "forget_kept" } : { type: "forget_kept", id: what });
    else (/** @type {HTMLElement|null} */ (root.querySelector(".kept-for-good")))?.focus();
  }

  /** @param {State} state */
  function draw(state) {
    const { stored: keeping } = state;
    const { studies, unreadable, going_on, how } = keeping;
    const shown = unfolded ? studies : studies.slice(0, SHOWN);
    root.hidden = !isEmpty(state) || state.phase === "broken" || how === "starting" || (how === "on" && keeping.where === "site" && studies.length + unreadable.length === 0 && keeping.trouble === "");
    head.hidden = studies.length === 0;
    list.hidden = shown.length === 0;
    reconcile(list, shown, ({ id }) => id, ({ id }) => el("li", { class: "kept-study" }, [
      el("div", { class: "kept-words" }, [el("p", { class: "kept-title" }), el("p", { class: "kept-text" })]),
      el("button", { class: "button", text: "Go on", attrs: { type: "button" }, on: { click: () => send({ type: "go_on", id }) } }),
      el("span", { class: "kept-forget" }),
    ]), (item, entry) => {
      const words = entryWords(entry, now());
      const [both, go, away] = /** @type {HTMLElement[]} */ ([...item.children]);
      const [title, text] = /** @type {HTMLElement[]} */ ([...(both?.children ?? [])]);
      if (title) setText(title, words.title);
      if (text) setText(text, going_on === entry.id ? "Opening it again…" : words.text);
      if (go) {
        /** @type {HTMLButtonElement} */ (go).disabled = going_on !== null || state.reading !== null;
        go.setAttribute("aria-label", `Go on with ${words.title}`);
      }
      if (away) showForget(away, entry.id, "Forget", words.title);
    });
    setText(broken, unreadable.length === 0 ? "" : unreadable.length === 1 ? "One more study was kept and cannot be read." : `${unreadable.length} more studies were kept and cannot be read.`);
    broken.hidden = unreadable.length === 0;
    setText(trouble, keeping.trouble);
    trouble.hidden = keeping.trouble === "";
    setText(more, unfolded ? "Show fewer" : `Show all ${studies.length}`);
    more.hidden = studies.length <= SHOWN;
    forget.hidden = studies.length + unreadable.length < 2 && unreadable.length === 0;
    showForget(forget, ALL, "Forget all", "");
    setText(place, placeText(keeping));
    showActs(acts, how === "on" && keeping.where === "site" ? [] : actsOf(keeping), send);
  }

  return {
    update(state) {
      if (last !== null && last.stored === state.stored && last.reading === state.reading && last.phase === state.phase && isEmpty(last) === isEmpty(state)) return;
      last = state;
      draw(state);
    },
  };
}
