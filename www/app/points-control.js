// The part of the controller that belongs to analysis points: giving their place, saying what was measured, showing and removing them.

import { CANCELLED, asProblem } from "./protocol.js";
import { seeGrid } from "./see-grid.js";

/** @typedef {import("./limner.js").Limner} Limner */
/** @typedef {import("./state.js").State} State */
/** @typedef {import("./state.js").Change} Change */
/** @typedef {import("./types.js").PointSettings} PointSettings */

/** `settings` are those of the point whose form is open; its place, where it is new, stands in the form.
 * @typedef {{type: "open_points", open: boolean} | {type: "add_point"} | {type: "move_point", id: string} | {type: "place_point", at: [number, number]}
 *   | {type: "stop_placing"} | {type: "edit_point", id: string} | {type: "drop_point"} | {type: "keep_point", settings: PointSettings}
 *   | {type: "remove_point", id: string} | {type: "light_point", id: string|null} | {type: "show_point", id: string}} PointsAction */

/** @type {PointsAction["type"][]} */
const ACTIONS = ["open_points", "add_point", "move_point", "place_point", "stop_placing", "edit_point", "drop_point", "keep_point", "remove_point", "light_point", "show_point"];

/** @template {{type: string}} Any
 * @param {Any} action
 * @returns {action is Extract<Any, PointsAction>} */
export function isPointsAction(action) {
  return ACTIONS.some((one) => one === action.type);
}

export class PointsControl {
  #limner;
  #desk;
  #changing = Promise.resolve();

  /** @param {Limner} limner @param {{state: () => State, change: (change: Change) => void}} desk */
  constructor(limner, desk) {
    this.#limner = limner;
    this.#desk = desk;
  }

  /** @param {PointsAction} action */
  send(action) {
    const { change, state } = this.#desk;
    switch (action.type) {
      case "open_points":
        return change({ type: "points_open", open: action.open });
      case "add_point":
        seeGrid(this.#desk);
        return change({ type: "placing", placing: { moves: null } });
      case "move_point":
        seeGrid(this.#desk);
        return change({ type: "placing", placing: { moves: action.id } });
      case "place_point":
        return this.#place(action.at);
      case "stop_placing":
        return change({ type: "placing", placing: null });
      case "edit_point":
        return change({ type: "point_form", form: { id: action.id, at: null } });
      case "drop_point":
        return change({ type: "point_form", form: null });
      case "keep_point":
        return this.#keep(action.settings);
      case "remove_point":
        return this.#do("list", async () => {
          await this.#limner.remove(action.id);
          if (state().point_form?.id === action.id) change({ type: "point_form", form: null });
        });
      case "light_point":
        return change({ type: "point_lit", id: action.id });
      case "show_point":
        seeGrid(this.#desk);
        return change({ type: "point_shown", id: action.id });
    }
  }

  /** A new point waits for what is to be said of it; one that is there moves at once. @param {[number, number]} at */
  #place(at) {
    const { change, state } = this.#desk;
    const { placing } = state();
    if (placing === null) return;
    const { moves } = placing;
    if (moves === null) return change({ type: "point_form", form: { id: null, at } });
    this.#do("list", async () => {
      await this.#limner.set_point(moves, { at });
      change({ type: "placing", placing: null });
    });
  }

  /** @param {PointSettings} settings */
  #keep(settings) {
    const form = this.#desk.state().point_form;
    if (form === null) return;
    this.#do("form", async () => {
      const { id } = form.id === null ? await this.#limner.add_point({ ...settings, at: form.at }) : await this.#limner.set_point(form.id, settings);
      this.#desk.change({ type: "point_kept", id });
    });
  }

  /** One after the other. What fails is said in its place. @param {"list"|"form"} at @param {() => Promise<unknown>} run */
  #do(at, run) {
    const { change, state } = this.#desk;
    this.#changing = this.#changing.then(run).then(
      () => {
        if (state().point_trouble !== null) change({ type: "point_failed", trouble: null });
      },
      (thrown) => {
        const { code, message } = asProblem(thrown);
        if (code !== CANCELLED.code) change({ type: "point_failed", trouble: { at, message } });
      },
    );
  }
}
