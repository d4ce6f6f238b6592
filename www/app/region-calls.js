// The calls of regions, analysis points and spectra, and of what can be said of them.

import { MapCalls } from "./map-calls.js";

/** @typedef {import("./turns.js").Turns} Turns */
/** @typedef {import("./types.js").CallOptions} CallOptions */
/** @typedef {import("./types.js").MapSummary} MapSummary */
/** @typedef {import("./types.js").Raster} Raster */
/** @typedef {import("./types.js").RegionSettings} RegionSettings */
/** @typedef {import("./types.js").RegionSummary} RegionSummary */
/** @typedef {import("./types.js").RegionWithMask} RegionWithMask */
/** @typedef {import("./types.js").PointSettings} PointSettings */
/** @typedef {import("./types.js").SpectrumSettings} SpectrumSettings */
/** @typedef {import("./types.js").SpectrumSummary} SpectrumSummary */
/** @typedef {import("./types.js").PointSummary} PointSummary */

/** What has changed where something of this sort was taken away. */
const CHANGED = Object.freeze({ region: "regions_changed", map: "maps_changed", point: "points_changed", spectrum: "spectra_changed", finding: "findings_changed" });

export class RegionCalls extends MapCalls {
  #turns;

  /** @param {Turns} turns */
  constructor(turns) {
    super(turns);
    this.#turns = turns;
  }

  /** Add a region: a name, a role, and exactly one shape.
   * @param {RegionSettings} settings @param {CallOptions} [options] @returns {Promise<RegionSummary>} */
  async add_region(settings, options) {
    return this.#turns.changing("regions_changed", "add_region", [settings], options);
  }

  /** Change a region: its name, its role, its shape. What is combined of it changes with it.
   * @param {string} id @param {RegionSettings} settings @param {CallOptions} [options] @returns {Promise<RegionSummary>} */
  async set_region(id, settings, options) {
    return this.#turns.changing("regions_changed", "set_region", [id, settings], options);
  }

  /** What a region would be, with its pixels, without adding it; it may be without any.
   * @param {RegionSettings} settings @param {CallOptions} [options] @returns {Promise<RegionWithMask>} */
  async preview_region(settings, options) {
    return this.#turns.as_soon_as_possible("preview_region", [settings], options);
  }

  /** All regions. @param {CallOptions} [options] @returns {Promise<RegionSummary[]>} */
  async regions(options) {
    return this.#turns.once_read("regions", [], options);
  }

  /** A region, by id or name, with its pixels. @param {string} id @param {CallOptions} [options] @returns {Promise<RegionWithMask>} */
  async region(id, options) {
    return this.#turns.as_soon_as_possible("region", [id], options);
  }

  /** Take a region, a derived map, an analysis point, a spectrum or a finding away. @param {string} id @param {CallOptions} [options] @returns {Promise<void>} */
  async remove(id, options) {
    const what = await this.#turns.as_soon_as_possible("remove", [id], options);
    this.#turns.notify({ type: CHANGED[/** @type {keyof typeof CHANGED} */ (what)] });
  }

  /** Give a region or a map another name. @param {string} id @param {string} name @param {CallOptions} [options]
   * @returns {Promise<RegionSummary|MapSummary>} */
  async rename(id, name, options) {
    const summary = await this.#turns.as_soon_as_possible("rename", [id, name], options);
    this.#turns.notify({ type: "makers" in summary ? "regions_changed" : "maps_changed" });
    return summary;
  }

  /** How many pixels of a region lie in each bin of an answer's joint plot.
   * @param {string} answer @param {string} region id or name @param {CallOptions} [options] @returns {Promise<Raster>} */
  async joint(answer, region, options) {
    return this.#turns.as_soon_as_possible("joint", [answer, region], options);
  }

  /** Add an analysis point: where another technique measured, with its result.
   * @param {PointSettings} settings @param {CallOptions} [options] @returns {Promise<PointSummary>} */
  async add_point(settings, options) {
    return this.#turns.changing("points_changed", "add_point", [settings], options);
  }

  /** Change an analysis point; what is not given stays.
   * @param {string} id @param {PointSettings} settings @param {CallOptions} [options] @returns {Promise<PointSummary>} */
  async set_point(id, settings, options) {
    return this.#turns.changing("points_changed", "set_point", [id, settings], options);
  }

  /** All analysis points. @param {CallOptions} [options] @returns {Promise<PointSummary[]>} */
  async points(options) {
    return this.#turns.once_read("points", [], options);
  }

  /** The techniques that a point can be of. @param {CallOptions} [options] @returns {Promise<string[]>} */
  async techniques(options) {
    return this.#turns.client.call("techniques", [], options);
  }

  /** The materials that a result can speak of. @param {CallOptions} [options] @returns {Promise<import("./types.js").MaterialChoice[]>} */
  async materials(options) {
    return this.#turns.client.call("materials", [], options);
  }

  /** The layers that may lie over something else. @param {CallOptions} [options] @returns {Promise<import("./types.js").LayerChoice[]>} */
  async layers(options) {
    return this.#turns.client.call("layers", [], options);
  }

  /** Add the spectrum of a region: a text with two columns, energy and counts, or with counts alone.
   * @param {SpectrumSettings} settings @param {CallOptions} [options] @returns {Promise<SpectrumSummary>} */
  async add_spectrum(settings, options) {
    return this.#turns.changing("spectra_changed", "add_spectrum", [settings], options);
  }

  /** All spectra. @param {CallOptions} [options] @returns {Promise<SpectrumSummary[]>} */
  async spectra(options) {
    return this.#turns.once_read("spectra", [], options);
  }

  /** A spectrum as a drawing, with the lines of elements.
   * @param {string} id @param {{elements?: string[], low_kev?: number, high_kev?: number}} [view] @param {CallOptions} [options]
   * @returns {Promise<import("./types.js").SpectrumPlot>} */
  async spectrum(id, view = {}, options = undefined) {
    return this.#turns.as_soon_as_possible("spectrum", [id, view], options);
  }
}
