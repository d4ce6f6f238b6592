// What changes around the sheet: notices, files that are asked about, the scan, names, maps that are made. Pure.

import { withAsks } from "./asked.js";
import { afterAct, inspected, unsettled, withNotices } from "./noticed.js";

/** @typedef {import("./state.js").State} State */
/** @typedef {import("./types.js").AskToRead} AskToRead */
/** @typedef {import("./types.js").MapSummary} MapSummary */
/** @typedef {import("./types.js").Notice} Notice */
/** @typedef {import("./types.js").Progress} Progress */
/** @typedef {import("./types.js").Scan} Scan */
/** @typedef {import("./noticed.js").Held} Held */
/** @typedef {import("./noticed.js").Source} Source */
/** @typedef {import("./scan-fields.js").ScanKey} ScanKey */

/** A field of the scan part: one of the scan data, the step, or how the maps lie.
 * @typedef {ScanKey|"step"|"lying"} ScanField */
/** Something failed at a place; `text` is what was typed there.
 * @typedef {{field: ScanField, text: string, message: string}} ScanTrouble */
/** @typedef {{busy: boolean, trouble: {map: string|null, message: string}|null}} Naming */

/** `looking`: files found so far in folders. `doing`: the offer that is being carried out, by its key. `making`: how far maps are made;
 * `made`: those of the last time. `put_away`: keys of notices that are not to be told again.
 * @typedef {{
 *   notices: Held[], put_away: string[], doing: {key: string, progress: Progress|null}|null, act_trouble: {key: string, message: string}|null,
 *   asks: AskToRead[], looking: number|null, scan: Scan|null, scan_trouble: ScanTrouble|null, naming: Naming|null,
 *   making: Progress|null, made: string[], make_troubles: string[], map_trouble: {map: string, message: string}|null,
 * }} SheetState */

/** @typedef {{type: "notices", notices: Notice[], source?: Source} | {type: "inspected", notices: Notice[]}
 *   | {type: "dismiss", keys: string[]} | {type: "dismiss_all"}
 *   | {type: "doing", doing: SheetState["doing"]} | {type: "done", keys: string[], calls?: import("./noticed.js").Act["calls"]} | {type: "act_failed", key: string, message: string}
 *   | {type: "asks", asks: AskToRead[]} | {type: "asks_over", sha256s: string[]} | {type: "looking", found: number|null}
 *   | {type: "scan", scan: Scan} | {type: "scan_failed", trouble: ScanTrouble|null}
 *   | {type: "naming", naming: Naming|null}
 *   | {type: "making", progress: Progress} | {type: "made", ids: string[], troubles: string[]}
 *   | {type: "map_failed", trouble: SheetState["map_trouble"]}} SheetChange */

/** @type {SheetState} */
export const SHEET_START = Object.freeze({
  notices: [], put_away: [], doing: null, act_trouble: null, asks: [], looking: null, scan: null, scan_trouble: null, naming: null,
  making: null, made: [], make_troubles: [], map_trouble: null,
});

/** @param {State} state @param {SheetChange} change
 * @returns {State} */
export function sheetChanged(state, change) {
  switch (change.type) {
    case "notices":
      return { ...state, notices: withNotices(state.notices, change.source ?? "page", change.notices) };
    case "inspected":
      return { ...state, notices: inspected(state.notices, change.notices, state.put_away) };
    case "dismiss":
      return withoutNotices(state, change.keys);
    case "dismiss_all":
      return withoutNotices(state, state.notices.map(({ key }) => key));
    case "doing":
      return { ...state, doing: change.doing, act_trouble: null };
    case "done": {
      const { notices, put_away } = afterAct(state.notices, change.keys, change.calls ?? []);
      return { ...state, notices, put_away: [...new Set([...state.put_away, ...put_away])], doing: null, act_trouble: null };
    }
    case "act_failed":
      return { ...state, doing: null, act_trouble: { key: change.key, message: change.message } };
    case "asks":
      return { ...state, asks: withAsks(state.asks, change.asks) };
    case "asks_over":
      return { ...state, asks: state.asks.filter(({ sha256 }) => !change.sha256s.includes(sha256)) };
    case "looking":
      return { ...state, looking: change.found };
    case "scan":
      return { ...state, scan: change.scan };
    case "scan_failed":
      return { ...state, scan_trouble: change.trouble };
    case "naming":
      return { ...state, naming: change.naming };
    case "making":
      return { ...state, making: change.progress, made: [], make_troubles: [] };
    case "made":
      return { ...state, making: null, made: change.ids, make_troubles: change.troubles };
    case "map_failed":
      return { ...state, map_trouble: change.trouble };
  }
}

/** @param {State} state @param {string[]} keys */
function withoutNotices(state, keys) {
  const gone = state.notices.filter(({ key, source }) => source === "inspection" && keys.includes(key)).map(({ key }) => key);
  return { ...state, notices: state.notices.filter(({ key }) => !keys.includes(key)), put_away: [...new Set([...state.put_away, ...gone])] };
}

/** What a changed stack does to all this. @param {State} state @param {MapSummary[]} maps
 * @returns {Partial<SheetState>} */
export function withMaps(state, maps) {
  const there = (/** @type {string} */ id) => maps.some((map) => map.id === id);
  return {
    notices: unsettled(state.notices, maps),
    made: state.made.filter(there),
    map_trouble: state.map_trouble !== null && there(state.map_trouble.map) ? state.map_trouble : null,
    naming: maps.length === 0 ? null : state.naming,
  };
}
