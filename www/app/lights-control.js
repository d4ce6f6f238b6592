// The part of the controller that belongs to lights: which map is seen in which colour of an overlay.

import { LIGHTS, slotOf } from "./state.js";

/** @typedef {import("./state.js").State} State */
/** @typedef {import("./state.js").Change} Change */
/** @typedef {import("./types.js").Light} Light */
/** @typedef {{state: () => State, change: (change: Change) => void, tell: (thrown: unknown) => void, lights: (ids: string[]) => Promise<Light[]>}} Desk */

export class LightsControl {
  #desk;
  /** One after the other: two quick presses must not take the same slot. */
  #changing = Promise.resolve();

  /** @param {Desk} desk */
  constructor(desk) {
    this.#desk = desk;
  }

  /** @param {string} id of the map whose dot was pressed */
  toggle(id) {
    this.#changing = this.#changing.then(() => this.#toggle(id)).catch(this.#desk.tell);
  }

  /** Maps are others than they were. */
  renew() {
    this.#changing = this.#changing.then(() => this.#renew()).catch(this.#desk.tell);
  }

  /** @param {string} id */
  async #toggle(id) {
    const { state, change } = this.#desk;
    const { lights } = state();
    const slot = slotOf(lights, id);
    if (slot < 0) return change({ type: "hint", text: `${LIGHTS} lights are on, which is the most that can be told apart. Switch one off first.` });
    if (lights[slot] !== null) return change({ type: "lights", lights: lights.with(slot, null) });
    // The slots before the first free one are taken, so the core's default for this place in the row is a colour that is free.
    const before = lights.slice(0, slot).map((light) => light?.map ?? id);
    const defaults = await this.#desk.lights([...before, id]);
    change({ type: "lights", lights: state().lights.with(slot, defaults[slot] ?? null) });
  }

  /** A map of another name or kind is another light: its limits begin elsewhere. */
  async #renew() {
    const { state, change } = this.#desk;
    const ids = state().lights.flatMap((light) => (light === null ? [] : [light.map]));
    if (ids.length > 0) change({ type: "light_defaults", defaults: await this.#desk.lights(ids) });
  }
}
