// What lies on the grid is shown where the grid is seen: a photo that is not laid on it, or another scan, makes way.

import { scanOf } from "./scan-words.js";
import { targetOf } from "./state.js";

/** @typedef {import("./state.js").State} State */
/** @typedef {import("./state.js").Change} Change */

/** @param {{state: () => State, change: (change: Change) => void}} desk */
export function seeGrid({ state, change }) {
  const is_seen = () => {
    const target = targetOf(state());
    return "on_grid" in target && target.on_grid;
  };
  if (!is_seen() && state().shown !== null) change({ type: "mode", mode: "answer" });
  if (!is_seen() && state().map !== null) change({ type: "mode", mode: "map" });
  const first = state().maps.find((map) => scanOf(map) === 0);
  if (!is_seen() && first !== undefined) change({ type: "show_map", id: first.id });
}
