// Names, kinds and roles of the whole stack in one table beside the picture, stated in one go. Made for the keyboard: Enter or the arrow down
// goes to the next map, and a column of names can be pasted.

import { el, reconcile, setAttribute, setText } from "../dom.js";
import { KINDS, kindWord, ROLES } from "../kinds.js";
import { changesOf, commonReason, drafted, lineText, mayBeScans, pastedNames, scanChoices, scanChosen } from "../naming.js";
import { scanOf, scanWord } from "../scan-words.js";
import { MANY_MAPS, matches } from "../sheet-list.js";
import { openListbox } from "./listbox.js";
import { createThumbnails } from "./thumbnails.js";

/** @typedef {import("../state.js").State} State */
/** @typedef {import("../naming.js").Draft} Draft */
/** @typedef {import("../types.js").MapSummary} MapSummary */

/** The place of a small picture in pixels of the page. */
const PLACE = { width: 64, height: 48 };

const CHOICES = {
  kind: Object.entries(KINDS).map(([value, { meaning }]) => ({ value, text: kindWord(value), detail: meaning })),
  role: Object.entries(ROLES).map(([value, detail]) => ({ value, text: value, detail })),
};
const CHOICE_LABELS = { kind: "How the numbers are to be taken", role: "What the map is", scan: "Which scan it belongs to" };

/** @param {HTMLElement} root @param {import("../controller.js").Send} send @param {import("./thumbnails.js").Services} services
 * @returns {{update: (state: State) => void}} */
export function createNamingTable(root, send, services) {
  /** @type {State|null} */
  let state = null;
  /** @type {import("../naming.js").Drafts} */
  let drafts = {};
  /** @type {Set<string>} */
  const picked = new Set();
  /** Where a range of rows begins. @type {string|null} */
  let from = null;
  let filter = "";
  /** @type {(() => void)|null} */
  let close = null;
  let is_open = false;
  /** Why most kinds were proposed: said once for all. */
  let usual = "";

  // ---- parts ----

  const title = el("h2", { class: "naming-title", text: "Name the maps" });
  const help = el("p", { class: "naming-help", text: "Type element and line, for example Cu K or Pb L. Enter goes to the next map; a pasted column of names fills the rows below." });
  const reason = el("p", { class: "naming-help", attrs: { hidden: true } });
  const find = el("input", { class: "field naming-find", attrs: { type: "search", "aria-label": "Find maps, for example fe or scatter", placeholder: "Find maps: fe, scatter …", autocomplete: "off", spellcheck: "false", maxlength: 40 }, on: { input: () => {
    filter = find.value;
    draw();
  } } });
  const all = el("input", { attrs: { type: "checkbox", "aria-label": "Choose all maps" }, on: { change: () => {
    for (const { id } of rows()) {
      if (all.checked) picked.add(id);
      else picked.delete(id);
    }
    draw();
  } } });
  const count = el("span", { class: "naming-count", attrs: { role: "status" } });
  const many = (/** @type {"kind"|"role"|"scan"} */ what, /** @type {string} */ text) => {
    const button = el("button", { class: "word-button", text, attrs: { type: "button", "aria-haspopup": "listbox", "aria-expanded": "false" }, on: { click: () => choose(button, what, [...picked], null) } });
    return button;
  };
  const bar = el("div", { class: "naming-bar" }, [el("label", { class: "naming-all" }, [all, count]), el("span", { class: "naming-many" }, [many("kind", "set their kind"), many("role", "set what they are"), many("scan", "set their scan")]), find]);
  const head = el("div", { class: "naming-row naming-columns", attrs: { "aria-hidden": "true" } }, ["", "", "Map", "Line", "Kind", "What it is", "Scan"].map((text) => el("span", { text })));
  const list = el("ul", { class: "naming-list" });
  const said = el("p", { class: "naming-said", attrs: { role: "alert" } });
  const apply = el("button", { class: "button button-strong", text: "Set", attrs: { type: "submit" } });
  const leave = el("button", { class: "button", text: "Leave as it was", attrs: { type: "button" }, on: { click: () => send({ type: "close_naming" }) } });
  const scroller = el("div", { class: "naming-scroll" }, [head, list]);
  const form = el("form", { class: "naming-form", attrs: { novalidate: true }, on: { submit: (event) => {
    event.preventDefault();
    run();
  } } }, [el("div", { class: "naming-head" }, [title, help, reason]), bar, scroller, el("div", { class: "naming-foot" }, [apply, leave, said])]);
  root.append(form);
  root.addEventListener("keydown", (event) => {
    if (event.key === "Enter" && (event.ctrlKey || event.metaKey)) {
      event.preventDefault();
      run();
    } else if (event.key === "Escape" && Object.keys(drafts).length === 0) {
      event.preventDefault();
      send({ type: "close_naming" });
    }
  });
  const thumb = createThumbnails(services, scroller, PLACE);

  // ---- what is done ----

  function rows() {
    return (state?.maps ?? []).filter((map) => matches(map, filter));
  }

  function changes() {
    return changesOf(state?.maps ?? [], drafts);
  }

  function run() {
    const list = changes();
    if (state?.naming?.busy) return;
    if (list.length > 0) send({ type: "name_maps", changes: list });
    else send({ type: "close_naming" });
  }

  /** @param {string[]} ids @param {Draft} change */
  function draft(ids, change) {
    drafts = drafted(state?.maps ?? [], drafts, ids, change);
    draw();
  }

  /** @param {HTMLButtonElement} button @param {"kind"|"role"|"scan"} what @param {string[]} ids @param {string|null} chosen null: of those that are picked */
  function choose(button, what, ids, chosen) {
    if (close) return close();
    const maps = state?.maps ?? [];
    const map = chosen === null ? null : maps.find(({ id }) => id === ids[0]) ?? null;
    close = openListbox(button, form, {
      label: CHOICE_LABELS[what], choices: what === "scan" ? scanChoices(maps, drafts, map) : CHOICES[what], chosen,
      choose: (value) => {
        if (what !== "scan") return draft(ids, { [what]: value });
        const { ids: together, field } = map === null ? { ids, field: Number(value) } : scanChosen(maps, map, value);
        draft(together, { field });
      },
      closed: () => (close = null),
    });
  }

  /** @param {string} id @param {boolean} on @param {boolean} range */
  function pick(id, on, range) {
    const ids = rows().map((map) => map.id);
    const [a, b] = [ids.indexOf(from ?? id), ids.indexOf(id)];
    const some = range && a >= 0 ? ids.slice(Math.min(a, b), Math.max(a, b) + 1) : [id];
    for (const one of some) {
      if (on) picked.add(one);
      else picked.delete(one);
    }
    from = id;
    draw();
  }

  /** @param {string} id @param {number} by
   * @returns {boolean} whether there is such a row */
  function go(id, by) {
    const ids = rows().map((map) => map.id);
    const next = list.children[ids.indexOf(id) + by];
    const field = next?.querySelector(".naming-line");
    if (!(field instanceof HTMLInputElement)) return false;
    field.focus();
    field.select();
    return true;
  }

  // ---- a row ----

  /** @param {MapSummary} map */
  function makeRow({ id }) {
    const line = el("input", { class: "field naming-line", attrs: { type: "text", autocomplete: "off", spellcheck: "false", maxlength: 40, placeholder: "no element", "aria-describedby": `naming-said-${id}` }, on: {
      input: () => draft([id], { line: line.value }),
      focus: () => {
        if (state !== null && !(state.mode === "map" && state.map === id)) send({ type: "choose_map", id });
      },
      keydown: (/** @type {KeyboardEvent} */ event) => {
        if (event.ctrlKey || event.metaKey || event.altKey) return;
        const by = event.key === "Enter" ? (event.shiftKey ? -1 : 1) : event.key === "ArrowDown" ? 1 : event.key === "ArrowUp" ? -1 : 0;
        if (by === 0) return;
        event.preventDefault();
        // After the last map comes the button that sets them all.
        if (!go(id, by) && event.key === "Enter" && by > 0) apply.focus();
      },
      paste: (/** @type {ClipboardEvent} */ event) => {
        const shown = rows();
        const names = pastedNames(event.clipboardData?.getData("text/plain") ?? "", shown, shown.findIndex((map) => map.id === id));
        if (names.length === 0) return;
        event.preventDefault();
        for (const { id, line } of names) drafts = drafted(shown, drafts, [id], { line });
        draw();
      },
    } });
    const box = el("input", { class: "naming-pick", attrs: { type: "checkbox" }, on: { click: (/** @type {MouseEvent} */ event) => pick(id, box.checked, event.shiftKey) } });
    const word = (/** @type {"kind"|"role"|"scan"} */ what) => {
      const button = el("button", { class: `word-button naming-${what}`, attrs: { type: "button", "aria-haspopup": "listbox", "aria-expanded": "false" }, on: { click: () => choose(button, what, [id], button.dataset.value ?? null), keydown: (/** @type {KeyboardEvent} */ event) => {
        if (event.key !== "ArrowDown" && event.key !== "ArrowUp") return;
        event.preventDefault();
        choose(button, what, [id], button.dataset.value ?? null);
      } } });
      return button;
    };
    return el("li", { class: "naming-row" }, [
      box,
      el("button", { class: "naming-picture", attrs: { type: "button", tabindex: -1 }, on: { click: () => send({ type: "choose_map", id }) } }, [el("canvas", { class: "naming-canvas" })]),
      el("p", { class: "naming-file" }, [el("span", { class: "naming-name" }), el("span", { class: "naming-read" })]),
      line,
      word("kind"), word("role"), word("scan"),
      el("p", { class: "naming-reason" }),
      el("p", { class: "naming-said", attrs: { id: `naming-said-${id}`, role: "alert" } }),
    ]);
  }

  /** @param {HTMLElement} row @param {MapSummary} map */
  function showRow(row, map) {
    if (state === null) return;
    const part = (/** @type {string} */ name) => /** @type {HTMLElement} */ (row.querySelector(name));
    const draft = drafts[map.id] ?? {};
    const box = /** @type {HTMLInputElement} */ (part(".naming-pick"));
    const line = /** @type {HTMLInputElement} */ (part(".naming-line"));
    setAttribute(box, "aria-label", `Choose ${map.label}, ${map.file}`);
    box.checked = picked.has(map.id);
    setAttribute(part(".naming-picture"), "aria-label", `Show ${map.label}`);
    row.classList.toggle("naming-shown", state.mode === "map" && state.map === map.id);
    setText(part(".naming-name"), state.maps.some((other) => other.id !== map.id && other.file === map.file) ? `${map.file}, page ${map.page + 1}` : map.file);
    setText(part(".naming-read"), readText(map, draft.line ?? lineText(map)));
    const text = draft.line ?? lineText(map);
    if (line.value !== text) line.value = text;
    setAttribute(line, "aria-label", `Line of ${map.file}`);
    line.classList.toggle("naming-changed", draft.line !== undefined);
    const trouble = state.naming?.trouble?.map === map.id ? state.naming.trouble.message : "";
    setText(part(`#naming-said-${CSS.escape(map.id)}`), trouble);
    setAttribute(line, "aria-invalid", trouble === "" ? false : "true");
    const kind = draft.kind ?? map.kind;
    part(".naming-kind").dataset.value = kind;
    setText(part(".naming-kind"), kindWord(kind));
    setAttribute(part(".naming-kind"), "aria-label", `Kind of ${map.label}: ${kindWord(kind)}`);
    part(".naming-kind").classList.toggle("naming-changed", draft.kind !== undefined);
    const reason = draft.kind !== undefined ? "" : map.kind_is_stated ? "stated" : map.kind_reason ? map.kind_reason === usual ? "" : `proposed: ${map.kind_reason}` : "";
    setText(part(".naming-reason"), reason);
    part(".naming-reason").title = reason;
    const role = draft.role ?? map.role ?? "element";
    part(".naming-role").dataset.value = role;
    setText(part(".naming-role"), role);
    setAttribute(part(".naming-role"), "aria-label", `${map.label} is: ${role}`);
    part(".naming-role").classList.toggle("naming-changed", draft.role !== undefined);
    const field = draft.field ?? scanOf(map);
    part(".naming-scan").dataset.value = String(field);
    // What is made of maps belongs to their scan.
    part(".naming-scan").hidden = Boolean(map.derived);
    setText(part(".naming-scan"), scanWord(field).replace(" scan", ""));
    setAttribute(part(".naming-scan"), "aria-label", `${map.label} is of the ${scanWord(field)}`);
    part(".naming-scan").classList.toggle("naming-changed", draft.field !== undefined);
    thumb(/** @type {HTMLCanvasElement} */ (part("canvas")), { map: map.id }, map, state.grid?.pixel_aspect ?? 1);
  }

  function draw() {
    if (state === null || !is_open) return;
    const shown = rows();
    for (const id of picked) if (!state.maps.some((map) => map.id === id)) picked.delete(id);
    usual = commonReason(state.maps);
    form.classList.toggle("naming-one-scan", !mayBeScans(state.maps, drafts));
    setText(reason, usual === "" ? "" : `Where no reason stands, the kind is proposed for this one: ${usual.charAt(0).toLowerCase()}${usual.slice(1)}`);
    reason.hidden = usual === "";
    reconcile(list, shown, ({ id }) => id, makeRow, showRow);
    const some = shown.filter(({ id }) => picked.has(id)).length;
    all.checked = some > 0 && some === shown.length;
    all.indeterminate = some > 0 && some < shown.length;
    setText(count, picked.size === 0 ? "Choose all" : picked.size === 1 ? "1 map chosen:" : `${picked.size} maps chosen:`);
    for (const button of bar.querySelectorAll(".word-button")) /** @type {HTMLElement} */ (button).hidden = picked.size === 0;
    find.hidden = state.maps.length < MANY_MAPS && filter === "";
    const number = changes().length;
    const busy = state.naming?.busy ?? false;
    setText(apply, busy ? "Setting" : number === 0 ? "Done" : number === 1 ? "Set 1 map" : `Set ${number} maps`);
    apply.disabled = busy;
    leave.hidden = number === 0;
    const trouble = state.naming?.trouble ?? null;
    // A sentence whose row is not in sight stands at the foot.
    setText(said, trouble !== null && !shown.some(({ id }) => id === trouble.map) ? trouble.message : "");
  }

  return {
    update(next) {
      const keys = /** @type {const} */ (["maps", "grid", "naming", "map", "mode"]);
      const before = state;
      state = next;
      const opens = next.naming !== null && !is_open;
      is_open = next.naming !== null;
      root.hidden = !is_open;
      if (!is_open) {
        if (before?.naming) end();
        return;
      }
      if (!opens && before !== null && keys.every((key) => before[key] === next[key])) return;
      draw();
      if (opens) begin();
      // Where it failed, there the next letter goes.
      const failed = next.naming?.trouble?.map ?? null;
      if (failed !== null && before?.naming !== next.naming) list.querySelector(`[data-key="${CSS.escape(failed)}"] .naming-line`)?.scrollIntoView({ block: "nearest" });
    },
  };

  function begin() {
    // The first map without an element is most likely why this was opened.
    const shown = rows();
    const first = shown.find((map) => map.element === null && (map.role ?? "element") === "element") ?? shown[0];
    if (first !== undefined) go(first.id, 0);
  }

  function end() {
    close?.();
    drafts = {};
    picked.clear();
    from = null;
    filter = find.value = "";
    /** @type {HTMLElement|null} */ (document.querySelector(".sheet-naming"))?.focus();
  }
}

/** What the core read before anybody named the map, where it is not what stands in the field, and the title that the file gives it.
 * @param {MapSummary} map @param {string} line */
function readText({ read_line, title, file }, line) {
  const read = read_line === undefined || read_line === line || (read_line === null && line === "") ? "" : read_line === null ? "no element read" : `read as ${read_line}`;
  return [read, title !== "" && !file.includes(title) ? `titled “${title}”` : ""].filter(Boolean).join(", ");
}
