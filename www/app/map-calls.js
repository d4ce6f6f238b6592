// The calls of maps, photos, the grid and the scan.

/** @typedef {import("./turns.js").Turns} Turns */
/** @typedef {import("./types.js").CallOptions} CallOptions */
/** @typedef {import("./types.js").Notice} Notice */
/** @typedef {import("./types.js").Scan} Scan */
/** @typedef {import("./types.js").MapSummary} MapSummary */
/** @typedef {import("./types.js").PhotoSummary} PhotoSummary */
/** @typedef {import("./types.js").Grid} Grid */
/** @typedef {import("./types.js").Light} Light */
/** @typedef {import("./types.js").Picture} Picture */
/** @typedef {import("./types.js").PictureSettings} PictureSettings */
/** @typedef {import("./types.js").Raster} Raster */
/** @typedef {import("./types.js").ReadOut} ReadOut */

/** Every map is looked at and held against every other in one go. Many times what that takes, and no more: as long as this, a worker that
 * was lost meanwhile is not missed. */
const INSPECT_SILENCE_MS = 8000;
const INSPECT_SILENCE_MS_PER_MEGAPIXEL = 40;
const INSPECT_SILENCE_MS_PER_PAIR = 10;
/** Two scans are laid on each other in one go. */
const COMPARE_SILENCE_MS = 20000;

export class MapCalls {
  #turns;

  /** @param {Turns} turns */
  constructor(turns) {
    this.#turns = turns;
  }

  /** @param {CallOptions} [options] @returns {Promise<MapSummary[]>} */
  async maps(options) {
    return this.#turns.once_read("maps", [], options);
  }

  /** @param {CallOptions} [options] @returns {Promise<PhotoSummary[]>} */
  async photos(options) {
    return this.#turns.once_read("photos", [], options);
  }

  /** State what a photo shows and how it lies. @param {string} id or name @param {import("./types.js").PhotoSettings} settings
   * @param {CallOptions} [options] @returns {Promise<PhotoSummary>} */
  async set_photo(id, settings, options) {
    return this.#turns.changing("photos_changed", "set_photo", [id, settings], options);
  }

  /** Lay a photo, or the scan that a map belongs to, on the grid by matching points, or by a transform that was found; without both the
   * alignment is taken away. @param {import("./types.js").AlignSettings} settings @param {CallOptions} [options]
   * @returns {Promise<import("./types.js").Alignment|null>} */
  async align(settings, options) {
    const alignment = await this.#turns.as_soon_as_possible("align", [settings], options);
    this.#turns.notify({ type: "photos_changed" });
    return alignment;
  }

  /** Look for how a photo lies on the maps. Nothing is changed: `align({photo, transform})` takes it over. Abort stops the search itself.
   * @param {string} photo id or name @param {CallOptions} [options] @returns {Promise<import("./types.js").Found>} */
  async align_auto(photo, options = {}) {
    return this.#turns.opening.then(() => this.#turns.client.find_alignment(photo, options));
  }

  /** The object's edges, from which places are said. @param {CallOptions} [options] @returns {Promise<import("./types.js").ObjectText|null>} */
  async object(options) {
    return this.#turns.opening.then(() => this.#turns.client.call("object", [], options));
  }

  /** State the object's edges, or forget them. @param {import("./types.js").ObjectSettings|null} settings @param {CallOptions} [options] */
  async set_object(settings, options) {
    const object = /** @type {import("./types.js").ObjectText|null} */ (await this.#turns.as_soon_as_possible("set_object", [settings], options));
    this.#turns.notify({ type: "object_changed", object });
    return object;
  }

  /** @param {CallOptions} [options] @returns {Promise<Grid>} */
  async grid(options) {
    return this.#turns.once_read("grid", [], options);
  }

  /** @param {{step_x_um?: number|null, step_y_um?: number|null, turns?: number, mirror?: boolean}} settings @param {CallOptions} [options] @returns {Promise<Grid>} */
  async set_grid(settings, options) {
    await this.#turns.opening;
    const grid = await this.#turns.client.call("set_grid", [settings], options);
    this.#turns.notify({ type: "grid_changed", grid });
    return grid;
  }

  /** What is known of the scan. @param {CallOptions} [options] @returns {Promise<Scan>} */
  async scan(options) {
    return this.#turns.once_read("scan", [], options);
  }

  /** State how the scan was made, all of it in one go. @param {Partial<Scan>} settings @param {CallOptions} [options] @returns {Promise<Scan>} */
  async set_scan(settings, options) {
    await this.#turns.opening;
    const { text: _, ...fields } = /** @type {Scan} */ (settings);
    const scan = await this.#turns.client.call("set_scan", [fields], options);
    this.#turns.notify({ type: "scan_changed", scan });
    return scan;
  }

  /** The pixels of a map, exactly as read.
   * @param {string} id @param {CallOptions} [options] @returns {Promise<Raster>} */
  async map(id, options) {
    return this.#turns.as_soon_as_possible("map", [id], options);
  }

  /** Default colours and limits of maps as lights, in this order.
   * @param {string[]} ids @param {CallOptions} [options] @returns {Promise<Light[]>} */
  async lights(ids, options) {
    return this.#turns.as_soon_as_possible("lights", [ids], options);
  }

  /** @param {PictureSettings} settings @param {CallOptions} [options] @returns {Promise<Picture>} */
  async picture(settings, options) {
    return this.#turns.as_soon_as_possible("picture", [settings], options);
  }

  /** All maps at a place, in pixels of the grid, and over the region of an answer that the place lies in; with `map`
   * those of its scan, in its own pixels.
   * @param {number} x @param {number} y @param {{answer?: string, show?: string, map?: string}} [of] @param {CallOptions} [options] @returns {Promise<ReadOut>} */
  async read_out(x, y, of = {}, options = undefined) {
    return this.#turns.as_soon_as_possible("read_out", [x, y, of], options);
  }

  /** How a map's values are spread, with the limits to start from.
   * @param {string} id @param {{scale?: import("./types.js").ToneScale, bins?: number, low?: number, high?: number}} [settings] @param {CallOptions} [options]
   * @returns {Promise<import("./types.js").Histogram>} */
  async histogram(id, settings = {}, options = undefined) {
    return this.#turns.as_soon_as_possible("histogram", [id, settings], options);
  }

  /** The colours in which a single map can be shown.
   * @param {CallOptions} [options] @returns {Promise<import("./types.js").ColourChoice[]>} */
  async colours(options) {
    return this.#turns.client.call("colours", [], options);
  }

  /** @param {string} id @param {Record<string, unknown>} settings @param {CallOptions} [options] @returns {Promise<MapSummary>} */
  async set_map(id, settings, options) {
    return this.#turns.changing("maps_changed", "set_map", [id, settings], options);
  }

  /** State what many maps are, in one go; if one cannot be stated none is.
   * @param {({id: string} & Record<string, unknown>)[]} changes @param {CallOptions} [options] @returns {Promise<MapSummary[]>} */
  async set_maps(changes, options) {
    return this.#turns.changing("maps_changed", "set_maps", [changes], options);
  }

  /** Make a map of others: `{how, of: [maps], name?, ...}`. Abort stops the computation itself.
   * @param {Record<string, unknown>} settings @param {CallOptions} [options] @returns {Promise<MapSummary>} */
  async derive(settings, options = {}) {
    await this.#turns.opening;
    const summary = await this.#turns.client.derive(settings, options);
    this.#turns.notify({ type: "maps_changed" });
    return summary;
  }

  /** Other scans than the first, with where they lie. @param {CallOptions} [options] @returns {Promise<import("./types.js").Field[]>} */
  async fields(options) {
    return this.#turns.once_read("fields", [], options);
  }

  /** How bright a map of another scan is against the first, where they overlap.
   * @param {{map: string, first?: string}} settings @param {CallOptions} [options] @returns {Promise<import("./types.js").Overlap>} */
  async compare_scans(settings, options) {
    await this.#turns.opening;
    return this.#turns.client.call("compare_scans", [settings], options, COMPARE_SILENCE_MS);
  }

  /** Lay a map of another scan on the grid of the first, counts kept, for looking. @param {string} map @param {CallOptions} [options]
   * @returns {Promise<MapSummary>} */
  async lay_on_grid(map, options) {
    await this.#turns.opening;
    const recipe = await this.#turns.client.call("laying", [map], options);
    return this.derive({ ...recipe, of: [map] }, options);
  }

  /** Lines of other elements in each map: overlaps, escape peaks, pile-up.
   * @param {CallOptions} [options] @returns {Promise<import("./types.js").LineWarning[]>} */
  async overlaps(options) {
    return this.#turns.once_read("overlaps", [], options);
  }

  /** What is wrong or odd in the stack as a whole, each with what can be done about it.
   * @param {CallOptions} [options] @returns {Promise<Notice[]>} */
  async inspect(options) {
    await this.#turns.opening;
    const maps = /** @type {MapSummary[]} */ (await this.#turns.client.call("maps", [], options));
    const megapixels = maps.reduce((sum, { width, height }) => sum + (width * height) / 1e6, 0);
    const pairs = (maps.length * (maps.length - 1)) / 2;
    const silence = INSPECT_SILENCE_MS + megapixels * INSPECT_SILENCE_MS_PER_MEGAPIXEL + pairs * INSPECT_SILENCE_MS_PER_PAIR;
    return this.#turns.client.call("inspect", [], options, silence);
  }
}
