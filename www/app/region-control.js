// The part of the controller that belongs to regions: drawing, proposing, keeping, changing, and masks in files.

import { CANCELLED, asProblem } from "./protocol.js";
import { download } from "./download.js";
import { newestOnly } from "./newest.js";
import { fileNameOf } from "./picture-file.js";
import { begunPicking, colourSettings, pickingOf } from "./picking.js";
import { thresholdOf } from "./region-state.js";

/** @typedef {import("./limner.js").Limner} Limner */
/** @typedef {import("./state.js").State} State */
/** @typedef {import("./state.js").Change} Change */
/** @typedef {import("./axis.js").Limits} Limits */
/** @typedef {import("./drawing.js").Tool} Tool */
/** @typedef {import("./picking.js").Picking} Picking */
/** @typedef {import("./region-state.js").Place} Place */
/** @typedef {import("./region-state.js").Proposal} Proposal */
/** @typedef {import("./region-state.js").RegionTrouble} RegionTrouble */
/** @typedef {import("./types.js").RegionSettings} RegionSettings */
/** @typedef {import("./types.js").RegionRole} RegionRole */
/** @typedef {import("./types.js").RegionSummary} RegionSummary */

/** `propose_limits`: the region between (`upward`: from) the limits that a map is shown with.
 * @typedef {{type: "draw_region", tool: Tool} | {type: "edit_region", id: string} | {type: "region_drawn", shape: RegionSettings} | {type: "stop_drawing"}
 *   | {type: "pick_colours"} | {type: "pick", picking: Picking|null}
 *   | {type: "propose_region", settings: RegionSettings, place: Place} | {type: "propose_limits", map: string, limits: Limits, upward: boolean}
 *   | {type: "keep_proposal", name?: string} | {type: "drop_proposal"}
 *   | {type: "name_region", id: string, text: string} | {type: "set_role", id: string, role: RegionRole} | {type: "set_pure", id: string, text: string} | {type: "remove_region", id: string}
 *   | {type: "mask_from_file", file: File} | {type: "save_mask", id: string}
 *   | {type: "open_regions", open: boolean} | {type: "show_outlines", on: boolean} | {type: "show_region", id: string, on: boolean}
 *   | {type: "light_region", id: string|null} | {type: "unfold_region", id: string|null}} RegionAction */

/** `restated`: the regions are other ones than before, all of both are given.
 * @typedef {{state: () => State, change: (change: Change) => void, tell: (thrown: unknown) => void, restated: (regions: RegionSummary[]) => void,
 *   regions: () => Promise<RegionSummary[]>}} Desk */

/** @type {RegionAction["type"][]} */
const ACTIONS = ["draw_region", "edit_region", "region_drawn", "stop_drawing", "pick_colours", "pick", "propose_region", "propose_limits", "keep_proposal", "drop_proposal", "name_region", "set_role", "set_pure",
  "remove_region", "mask_from_file", "save_mask", "open_regions", "show_outlines", "show_region", "light_region", "unfold_region"];

/** @template {{type: string}} Any
 * @param {Any} action
 * @returns {action is Extract<Any, RegionAction>} */
export function isRegionAction(action) {
  return ACTIONS.some((one) => one === action.type);
}

export class RegionControl {
  #limner;
  #desk;
  #refresh;
  #preview;
  #changing = Promise.resolve();
  #hand_over;
  #restated = false;

  /** @param {Limner} limner @param {Desk} desk @param {(file: Blob, name: string) => void} [hand_over] */
  constructor(limner, desk, hand_over = download) {
    this.#limner = limner;
    this.#desk = desk;
    this.#hand_over = hand_over;
    this.#refresh = newestOnly(
      (/** @type {null} */ _) => desk.regions(),
      (regions) => {
        const before = desk.state().regions;
        desk.change({ type: "regions", regions });
        if (this.#restated) desk.restated([...before, ...regions]);
        this.#restated = false;
      },
      (thrown) => desk.tell(thrown),
    );
    this.#preview = newestOnly(
      (/** @type {Proposal} */ { settings }) => limner.preview_region(settings),
      (preview, { settings }) => this.#previewed(settings, { preview, message: "" }),
      (thrown, { settings }) => this.#previewed(settings, { preview: null, message: asProblem(thrown).message }),
    );
  }

  /** What regions were made from may have changed; `restated`: they themselves were. */
  refresh(restated = false) {
    this.#restated ||= restated;
    this.#refresh.ask(null);
    const { proposal } = this.#desk.state();
    if (proposal !== null) this.#preview.ask(proposal);
  }

  /** The limits of a map were moved: what is proposed by them follows. @param {string} map @param {Limits|null} limits */
  limits_moved(map, limits) {
    const { proposal } = this.#desk.state();
    if (proposal?.limits_of !== map) return;
    // Back at the limits that the view starts with, which only the histogram knows.
    if (limits === null) return this.send({ type: "drop_proposal" });
    this.send({ type: "propose_limits", map, limits, upward: proposal.upward });
  }

  /** @param {RegionAction} action */
  send(action) {
    const { change, state } = this.#desk;
    switch (action.type) {
      case "draw_region":
        return change({ type: "drawing", drawing: { tool: action.tool, edits: null } });
      case "edit_region": {
        const region = state().regions.find(({ id }) => id === action.id);
        const picking = region ? pickingOf(region) : null;
        if (picking !== null) this.#pick(picking);
        else if (region?.rectangle || region?.polygon) change({ type: "drawing", drawing: { tool: region.rectangle ? "rectangle" : "polygon", edits: region.id } });
        return;
      }
      case "region_drawn":
        return this.#drawn(action.shape);
      case "stop_drawing":
        return change({ type: "drawing", drawing: null });
      case "pick_colours":
        return this.#begin_picking();
      case "pick":
        return this.#pick(action.picking);
      case "propose_region":
        return this.#propose({ settings: action.settings, place: action.place, limits_of: null, upward: false });
      case "propose_limits":
        return this.#propose({ settings: thresholdOf(action.limits, action.map, action.upward), place: "view", limits_of: action.map, upward: action.upward });
      case "keep_proposal":
        return this.#keep(action.name ?? "");
      case "drop_proposal":
        this.#preview.forget();
        return change({ type: "proposal", proposal: null });
      case "name_region":
        return this.#do({ region: action.id }, () => this.#limner.rename(action.id, action.text.trim()));
      case "set_role":
        return this.#do({ region: action.id }, () => this.#limner.set_region(action.id, { role: action.role }));
      case "set_pure":
        return this.#do({ region: action.id }, () => this.#limner.set_region(action.id, { pure: action.text.trim() }));
      case "remove_region":
        return this.#do({ region: action.id }, () => this.#limner.remove(action.id));
      case "mask_from_file":
        return this.#do("list", async () => {
          const mask_png = new Uint8Array(await action.file.arrayBuffer());
          const { id } = await this.#limner.add_region({ name: action.file.name.replace(/\.[^.]*$/, ""), mask_png });
          change({ type: "region_made", id });
        });
      case "save_mask":
        return this.#do({ region: action.id }, async () => {
          const name = state().regions.find(({ id }) => id === action.id)?.name ?? action.id;
          this.#hand_over(await this.#limner.export("mask", { region: action.id }), fileNameOf(name));
        });
      case "open_regions":
        return change({ type: "regions_open", open: action.open });
      case "show_outlines":
        return change({ type: "outlines", on: action.on });
      case "show_region":
        return change({ type: "seen", id: action.id, on: action.on });
      case "light_region":
        return change({ type: "lit", id: action.id });
      case "unfold_region":
        return change({ type: "unfolded", id: action.id });
    }
  }

  /** @param {RegionSettings} shape */
  #drawn(shape) {
    const { drawing } = this.#desk.state();
    if (drawing === null) return;
    const { edits } = drawing;
    this.#do("drawing", async () => {
      if (edits === null) return this.#desk.change({ type: "region_made", id: (await this.#limner.add_region(shape)).id });
      await this.#limner.set_region(edits, shape);
      this.#desk.change({ type: "drawing", drawing: null });
    });
  }

  /** Where no photo lies on the maps that is said, and what to do. */
  #begin_picking() {
    const { photos, photo } = this.#desk.state();
    const picking = begunPicking(photos, photo);
    if (picking !== null) return this.#pick(picking);
    this.#desk.change({ type: "regions_open", open: true });
    this.#desk.change({ type: "region_failed", trouble: { at: "list", message: "No photo lies on the maps yet. Align a photo first." } });
  }

  /** What is picked is seen at once, as far as it makes a region. @param {Picking|null} picking */
  #pick(picking) {
    this.#desk.change({ type: "picking", picking });
    const settings = picking === null ? null : colourSettings(picking);
    if (settings !== null) return this.#propose({ settings, place: "colour", limits_of: null, upward: false });
    this.#preview.forget();
    if (this.#desk.state().proposal?.place === "colour") this.#desk.change({ type: "proposal", proposal: null });
  }

  /** What was seen before stays in sight until the new preview has come. @param {Omit<Proposal, "preview"|"message">} proposed */
  #propose(proposed) {
    const proposal = { ...proposed, preview: this.#desk.state().proposal?.preview ?? null, message: "" };
    this.#desk.change({ type: "proposal", proposal });
    this.#preview.ask(proposal);
  }

  /** @param {RegionSettings} settings @param {Pick<Proposal, "preview"|"message">} got */
  #previewed(settings, got) {
    const { proposal } = this.#desk.state();
    if (proposal?.settings === settings) this.#desk.change({ type: "proposal", proposal: { ...proposal, ...got } });
  }

  /** @param {string} name */
  #keep(name) {
    const { proposal, picking } = this.#desk.state();
    if (proposal === null) return;
    this.#preview.forget();
    const edits = proposal.place === "colour" ? picking?.edits ?? null : null;
    if (edits !== null) {
      return this.#do("drawing", async () => {
        await this.#limner.set_region(edits, proposal.settings);
        this.#desk.change({ type: "picking", picking: null });
      });
    }
    this.#do(proposal.place === "list" ? "list" : "drawing", async () => {
      const { id } = await this.#limner.add_region({ ...(name === "" ? {} : { name }), ...proposal.settings });
      this.#desk.change({ type: "region_made", id });
    });
  }

  /** One after the other. What fails is said in its place. @param {RegionTrouble["at"]} at @param {() => Promise<unknown>} run */
  #do(at, run) {
    this.#changing = this.#changing.then(run).then(
      () => {
        if (this.#desk.state().region_trouble !== null) this.#desk.change({ type: "region_failed", trouble: null });
      },
      (thrown) => {
        const { code, message } = asProblem(thrown);
        if (code !== CANCELLED.code) this.#desk.change({ type: "region_failed", trouble: { at, message } });
      },
    );
  }
}
