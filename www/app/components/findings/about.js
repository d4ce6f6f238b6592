// The object and the study, as the user names them: fields above the findings, folded, kept on change.

import { el, setText } from "../../dom.js";

/** @typedef {import("../../state.js").State} State */
/** @typedef {import("../../types.js").About} About */

/** @type {{key: keyof About, label: string, rows: number}[]} */
const FIELDS = [
  { key: "object", label: "Object", rows: 1 },
  { key: "number", label: "Inventory number", rows: 1 },
  { key: "described", label: "What it is", rows: 2 },
  { key: "dated", label: "Proposed date", rows: 1 },
  { key: "author", label: "Studied by", rows: 1 },
  { key: "remarks", label: "Remarks", rows: 3 },
];

/** @param {HTMLDetailsElement} root @param {import("../../controller.js").Send} send
 * @returns {{update: (state: State) => void}} */
export function createAbout(root, send) {
  /** @type {About|null} */
  let about = null;
  const summary = el("span", { class: "part-text" });
  const trouble = el("p", { class: "about-trouble", attrs: { role: "alert", hidden: true } });
  const rows = FIELDS.map(({ key, label, rows: lines }) => {
    const attrs = { id: `about-${key}`, autocomplete: "off", maxlength: lines === 1 ? 300 : 8000 };
    const field = lines === 1 ? el("input", { class: "field about-field", attrs: { type: "text", ...attrs } }) : el("textarea", { class: "field about-field", attrs: { rows: lines, ...attrs } });
    field.addEventListener("change", () => {
      // All of them as they stand: what was written just before may not have come back yet.
      const now = /** @type {About} */ (Object.fromEntries(rows.map((row) => [row.key, row.field.value.trim()])));
      if (about !== null && field.value.trim() !== about[key]) send({ type: "set_about", about: now });
    });
    field.addEventListener("keydown", (/** @type {any} */ event) => {
      if (event.key === "Escape") field.value = about?.[key] ?? "";
      else if (event.key === "Enter" && lines === 1) field.dispatchEvent(new Event("change"));
    });
    return { key, field, row: el("div", { class: "about-row" }, [el("label", { class: "scan-label", text: label, attrs: { for: `about-${key}` } }), field]) };
  });
  root.append(el("summary", { class: "part-head" }, [el("span", { class: "part-title", text: "About the object" }), summary]), el("div", { class: "about-fields" }, [...rows.map(({ row }) => row), trouble]));
  return {
    update(state) {
      setText(trouble, state.about_trouble);
      trouble.hidden = state.about_trouble === "";
      if (state.about === about || state.about === null) return;
      const before = about;
      about = state.about;
      setText(summary, [about.object, about.number, about.dated].filter(Boolean).join(", ") || "not named yet");
      for (const { key, field } of rows) {
        // What is being typed is not written over.
        if (document.activeElement !== field || field.value === (before?.[key] ?? "")) field.value = about[key];
      }
    },
  };
}
