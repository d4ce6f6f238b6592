// What changes around regions: the list, what is being drawn, what is proposed and not yet kept. Pure.

/** @typedef {import("./state.js").State} State */
/** @typedef {import("./drawing.js").Tool} Tool */
/** @typedef {import("./picking.js").Picking} Picking */
/** @typedef {import("./types.js").RegionSettings} RegionSettings */
/** @typedef {import("./types.js").RegionSummary} RegionSummary */
/** @typedef {import("./types.js").RegionWithMask} RegionWithMask */

/** A region that can be seen before it is kept. `limits_of`: it is made by the limits of this map and follows them, `upward`: without the
 * upper one. `place` tells where it is asked for. @typedef {"view"|"list"|"colour"} Place
 * @typedef {{settings: RegionSettings, place: Place, limits_of: string|null, upward: boolean, preview: RegionWithMask|null, message: string}} Proposal */
/** Something failed: over a drawing, in the list as a whole, or with one region of it. @typedef {{at: "drawing"|"list"|{region: string}, message: string}} RegionTrouble */

/** `outlines`: whether regions are seen in the views, `unseen` those that are not. `lit`: the one that is pointed at; `unfolded`: the one
 * whose acts are seen; `unnamed`: the one that was just made and whose name is asked for.
 * @typedef {{regions: RegionSummary[], regions_open: boolean, outlines: boolean, unseen: string[], lit: string|null, unfolded: string|null, unnamed: string|null,
 *   drawing: {tool: Tool, edits: string|null}|null, picking: Picking|null, proposal: Proposal|null, region_trouble: RegionTrouble|null}} RegionState */

/** @typedef {{type: "regions", regions: RegionSummary[]} | {type: "regions_open", open: boolean} | {type: "outlines", on: boolean}
 *   | {type: "seen", id: string, on: boolean} | {type: "lit", id: string|null} | {type: "unfolded", id: string|null}
 *   | {type: "drawing", drawing: RegionState["drawing"]} | {type: "picking", picking: Picking|null} | {type: "proposal", proposal: Proposal|null} | {type: "region_made", id: string}
 *   | {type: "region_failed", trouble: RegionTrouble|null}} RegionChange */

/** @type {RegionState} */
export const REGIONS_START = Object.freeze({
  regions: [], regions_open: false, outlines: true, unseen: [], lit: null, unfolded: null, unnamed: null, drawing: null, picking: null, proposal: null, region_trouble: null,
});

/** @type {RegionChange["type"][]} */
const TYPES = ["regions", "regions_open", "outlines", "seen", "lit", "unfolded", "drawing", "picking", "proposal", "region_made", "region_failed"];

/** @template {{type: string}} Any
 * @param {Any} change
 * @returns {change is Extract<Any, RegionChange>} */
export function isOfRegions(change) {
  return TYPES.some((one) => one === change.type);
}

/** @param {State} state @param {RegionChange} change
 * @returns {State} */
export function regionsChanged(state, change) {
  switch (change.type) {
    case "regions":
      return withRegions(state, change.regions);
    case "regions_open":
      return { ...state, regions_open: change.open };
    case "outlines":
      return { ...state, outlines: change.on };
    case "seen": {
      const others = state.unseen.filter((id) => id !== change.id);
      return { ...state, unseen: change.on ? others : [...others, change.id] };
    }
    case "lit":
      return state.lit === change.id ? state : { ...state, lit: change.id };
    case "unfolded":
      return { ...state, unfolded: change.id };
    case "drawing":
      if (change.drawing === null) return { ...state, drawing: null, region_trouble: null };
      // One thing at a time: what was proposed elsewhere is dropped, and the hand draws no line.
      return { ...state, drawing: change.drawing, picking: null, proposal: null, drawing_line: null, outlines: true, region_trouble: null };
    case "picking": {
      const proposal = state.proposal?.place === "colour" ? state.proposal : null;
      if (change.picking === null) return { ...state, picking: null, proposal: proposal === null ? state.proposal : null, region_trouble: null };
      return { ...state, picking: change.picking, proposal, drawing: null, drawing_line: null, outlines: true, region_trouble: null };
    }
    case "proposal":
      return { ...state, proposal: change.proposal, picking: change.proposal === null || change.proposal.place === "colour" ? state.picking : null,
        drawing: change.proposal === null ? state.drawing : null, outlines: state.outlines || change.proposal !== null, region_trouble: null };
    case "region_made":
      return { ...state, drawing: null, picking: null, proposal: null, region_trouble: null, regions_open: true, outlines: true, unfolded: change.id, unnamed: change.id };
    case "region_failed":
      return { ...state, region_trouble: change.trouble };
  }
}

/** @param {State} state @param {RegionSummary[]} regions
 * @returns {State} */
function withRegions(state, regions) {
  const there = (/** @type {string} */ id) => regions.some((region) => region.id === id);
  const kept = (/** @type {string|null} */ id) => (id !== null && there(id) ? id : null);
  const gone = new Set(state.regions.map(({ id }) => id).filter((id) => !there(id)));
  const { drawing, picking, region_trouble } = state;
  const picks_of_gone = picking?.edits != null && gone.has(picking.edits);
  const at = region_trouble?.at;
  return {
    ...state, regions,
    unseen: state.unseen.filter(there), lit: kept(state.lit), unfolded: kept(state.unfolded), unnamed: state.unnamed,
    drawing: drawing?.edits != null && gone.has(drawing.edits) ? null : drawing,
    picking: picks_of_gone ? null : picking,
    proposal: picks_of_gone && state.proposal?.place === "colour" ? null : state.proposal,
    region_trouble: typeof at === "object" && gone.has(at.region) ? null : region_trouble,
  };
}

/** The settings of what is proposed by limits as they are now. @param {{low: number, high: number}} limits @param {string} map @param {boolean} upward
 * @returns {RegionSettings} */
export function thresholdOf({ low, high }, map, upward) {
  return { threshold: upward ? { map, low } : { map, low, high } };
}
