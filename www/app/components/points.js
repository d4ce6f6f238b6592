// Analysis points, folded below the regions: how to add one, the list, and what is said of each. Names show their place in the view.

import { el, reconcile, setAttribute, setText } from "../dom.js";
import { aroundName } from "../points-state.js";
import { createPointForm } from "./point-form.js";

/** @typedef {import("../state.js").State} State */
/** @typedef {import("../types.js").PointSummary} PointSummary */

/** @param {HTMLDetailsElement} root @param {import("../controller.js").Send} send
 * @returns {{update: (state: State) => void}} */
export function createPoints(root, send) {
  /** @type {State|null} */
  let state = null;
  /** The point whose line gets the focus as soon as it is there. @type {string|null} */
  let awaited = null;

  const count = el("span", { class: "part-text" });
  const word = (/** @type {string} */ text, /** @type {() => void} */ run) => el("button", { class: "word-button", text, attrs: { type: "button" }, on: { click: run } });
  const add = word("Add a point", () => send({ type: "add_point" }));
  const trouble = el("p", { class: "region-trouble", attrs: { role: "alert", hidden: true } });
  const list = el("ul", { class: "regions-list points-list", attrs: { "aria-label": "Analysis points" } });
  const here = el("div", { class: "point-here" });
  const body = el("div", { class: "regions points" }, [el("p", { class: "regions-words" }, [add]), trouble, list, here]);
  root.append(el("summary", { class: "part-head", on: { click: (event) => {
    event.preventDefault();
    send({ type: "open_points", open: !root.open });
  } } }, [el("span", { class: "part-title", text: "Analysis points" }), count]), body);
  const form = createPointForm(send, () => body);
  here.append(form.element);

  /** @param {PointSummary} point */
  function row({ id }) {
    const before = el("span");
    const name = el("button", { class: "word-button point-name", attrs: { type: "button" }, on: { click: () => send({ type: "show_point", id }) } });
    const after = el("span");
    const edit = word("edit", () => send({ type: "edit_point", id }));
    const remove = word("remove", () => take(id));
    const said = el("p", { class: "point-line" }, [before, name, after]);
    const acts = el("p", { class: "region-acts" }, [edit, remove]);
    const light = (/** @type {boolean} */ on) => send({ type: "light_point", id: on ? id : null });
    const item = el("li", { class: "region point", on: {
      pointerenter: () => light(true), pointerleave: () => light(item.contains(document.activeElement)),
      focusin: () => light(true), focusout: () => {
        // Later: the focus also goes when the form is moved, in the middle of drawing.
        setTimeout(() => {
          if (!item.contains(document.activeElement) && !item.matches(":hover") && state?.point_lit === id) light(false);
        });
      },
    } }, [said, acts]);
    return Object.assign(item, { parts: { before, name, after, edit, remove, said, acts } });
  }

  /** The focus stays in the list. @param {string} id */
  function take(id) {
    const at = state?.points.findIndex((one) => one.id === id) ?? -1;
    const next = state?.points[at + 1] ?? state?.points[at - 1];
    send({ type: "remove_point", id });
    (next ? rowOf(next.id)?.parts.name : add)?.focus();
  }

  /** @param {string} id */
  function rowOf(id) {
    return /** @type {ReturnType<typeof row>|undefined} */ ([...list.children].find((one) => /** @type {HTMLElement} */ (one).dataset.key === id));
  }

  /** @param {ReturnType<typeof row>} item @param {PointSummary} point @param {State} state */
  function fill(item, point, state) {
    const { before, name, after, edit, remove, said, acts } = item.parts;
    const [head, middle, tail] = aroundName(point);
    setText(before, head);
    setText(name, middle);
    setText(after, tail);
    setAttribute(name, "aria-label", `Show ${point.name}`);
    setAttribute(edit, "aria-label", `edit ${point.name}`);
    setAttribute(remove, "aria-label", `remove ${point.name}`);
    const edited = state.point_form?.id === point.id;
    said.hidden = acts.hidden = edited;
    item.classList.toggle("region-lit", state.point_lit === point.id);
    if (edited && form.element.parentElement !== item) item.append(form.element);
  }

  return {
    update(next) {
      const before = state;
      state = next;
      const keys = /** @type {const} */ (["points", "points_open", "point_form", "point_lit", "point_shown", "point_made", "point_trouble", "techniques", "material_choices"]);
      if (before !== null && keys.every((key) => before[key] === next[key])) return;
      root.open = next.points_open;
      setText(count, next.points.length === 0 ? "" : String(next.points.length));
      const had_focus = form.element.contains(document.activeElement);
      if (next.point_form?.id == null && form.element.parentElement !== here) here.append(form.element);
      reconcile(list, next.points, ({ id }) => id, row, (item, point) => fill(item, point, next));
      list.hidden = next.points.length === 0;
      form.update(next);
      const message = next.point_trouble?.at === "list" ? next.point_trouble.message : "";
      setText(trouble, message);
      trouble.hidden = message === "";
      const { point_form } = next;
      if (point_form !== null && point_form !== before?.point_form) {
        form.element.scrollIntoView({ block: "nearest" });
        form.element.querySelector("button")?.focus();
      } else if (point_form === null && before !== null && before.point_form !== null && had_focus) {
        // A new point's line may not be there yet.
        const id = next.point_made ?? before.point_form.id;
        awaited = id;
        if (id === null) add.focus();
      }
      const line = awaited === null ? undefined : rowOf(awaited);
      if (line) {
        awaited = null;
        line.parts.name.focus();
      }
      if (next.point_shown !== null && next.point_shown !== (before?.point_shown ?? null)) rowOf(next.point_shown.id)?.scrollIntoView({ block: "nearest" });
    },
  };
}
