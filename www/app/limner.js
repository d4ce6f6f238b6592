// The public object: the page's own calls, and those of the console, notebooks and tests.

import { asProblem, problem, CANCELLED } from "./protocol.js";
import { asInput } from "./files.js";
import { openAll } from "./opening.js";

/** @typedef {import("./core-client.js").CoreClient} CoreClient */
/** @typedef {import("./types.js").CallOptions} CallOptions */
/** @typedef {import("./types.js").Notice} Notice */
/** @typedef {import("./types.js").Opened} Opened */
/** @typedef {import("./types.js").Input} Input */
/** @typedef {import("./types.js").Scan} Scan */
/** @typedef {import("./types.js").Result} Result */
/** @typedef {import("./types.js").MapSummary} MapSummary */
/** @typedef {import("./types.js").PhotoSummary} PhotoSummary */
/** @typedef {import("./types.js").Grid} Grid */
/** @typedef {import("./types.js").Light} Light */
/** @typedef {import("./types.js").Question} Question */
/** @typedef {import("./types.js").Picture} Picture */
/** @typedef {import("./types.js").PictureSettings} PictureSettings */
/** @typedef {import("./types.js").Raster} Raster */
/** @typedef {import("./types.js").ReadOut} ReadOut */
/** @typedef {import("./types.js").RegionSettings} RegionSettings */
/** @typedef {import("./types.js").RegionSummary} RegionSummary */
/** @typedef {import("./types.js").RegionWithMask} RegionWithMask */
/** @typedef {import("./types.js").PointSettings} PointSettings */
/** @typedef {import("./types.js").SpectrumSettings} SpectrumSettings */
/** @typedef {import("./types.js").SpectrumSummary} SpectrumSummary */
/** @typedef {import("./types.js").PointSummary} PointSummary */
/** @typedef {import("./types.js").Problem} Problem */

/** What the page is told, whoever made the call.
 * @typedef {{type: "reading", done: number, total: number, name: string, stop: () => void}
 *   | {type: "read", opened: Opened}
 *   | {type: "reading_over"}
 *   | {type: "grid_changed", grid: Grid}
 *   | {type: "scan_changed", scan: Scan}
 *   | {type: "maps_changed"}
 *   | {type: "regions_changed"}
 *   | {type: "photos_changed"}
 *   | {type: "points_changed"}
 *   | {type: "spectra_changed"}
 *   | {type: "object_changed", object: import("./types.js").ObjectText|null}} LimnerEvent */

/** A large picture is drawn, lettered and packed in one go. */
const EXPORT_SILENCE_MS = 20000;
/** Every map is looked at and held against every other in one go. Many times what that takes, and no more: as long as this, a worker that
 * was lost meanwhile is not missed. */
const INSPECT_SILENCE_MS = 8000;
const INSPECT_SILENCE_MS_PER_MEGAPIXEL = 40;
const INSPECT_SILENCE_MS_PER_PAIR = 10;

/** What has changed where something of this sort was taken away. */
const CHANGED = Object.freeze({ region: "regions_changed", map: "maps_changed", point: "points_changed", spectrum: "spectra_changed" });

export class Limner {
  #client;
  #notify;
  #demo_files;
  /** The last opening, so that the next one starts after it. @type {Promise<unknown>} */
  #opening = Promise.resolve();
  #openings = 0;
  /** Files that can be read in several ways, until one is chosen, by their hash.
   * @type {Map<string, {input: Input, ask: import("./types.js").AskToRead}>} */
  #asked = new Map();

  /** @param {CoreClient} client
   * @param {() => Promise<File[]>} demo_files
   * @param {(event: LimnerEvent) => void} notify */
  constructor(client, demo_files, notify) {
    this.#client = client;
    this.#demo_files = demo_files;
    this.#notify = notify;
  }

  /** The version of the core; empty until the page is ready. */
  get version() {
    return this.#client.version;
  }

  /** Read files, one after the other. A bad one gives a notice and never stops the rest.
   * @param {Iterable<File | {name: string, bytes: Uint8Array, way?: string} | Input>} files
   * @param {CallOptions} [options]
   * @returns {Promise<Opened>} */
  async open(files, options = {}) {
    if (typeof files?.[Symbol.iterator] !== "function") throw problem("bad_call", "Give a list of files, also if it is only one.");
    const list = [...files].map(asInput);
    return this.#in_turn(async () => list, options);
  }

  /** Read a file that was asked about (`asks` of an opening), or several of them, in the way that was chosen.
   * @param {string|string[]} sha256 @param {string} way @param {CallOptions} [options] @returns {Promise<Opened>} */
  async read_as(sha256, way, options = {}) {
    const held = [sha256].flat().map((hash) => {
      const one = this.#asked.get(hash);
      if (one === undefined) throw problem("unknown_file", "No file is waiting under this hash. Open it again.");
      return one;
    });
    const opened = await this.open(held.map(({ input }) => ({ ...input, way })), options);
    // Where reading was stopped, the rest is still to be asked about.
    const left = held.filter((one) => this.#asked.get(one.ask.sha256) === one).map(({ ask }) => ask);
    if (left.length === 0) return opened;
    this.#notify({ type: "read", opened: { maps: [], photos: [], notices: [], asks: left, is_kept: false } });
    return { ...opened, asks: [...opened.asks, ...left] };
  }

  /** Open the example that this page carries.
   * @param {CallOptions} [options] */
  async open_demo(options = {}) {
    return this.#in_turn(async () => (await this.#demo_files()).map(asInput), options);
  }

  /** @param {CallOptions} [options] @returns {Promise<MapSummary[]>} */
  async maps(options) {
    return this.#once_read("maps", [], options);
  }

  /** @param {CallOptions} [options] @returns {Promise<PhotoSummary[]>} */
  async photos(options) {
    return this.#once_read("photos", [], options);
  }

  /** State what a photo shows and how it lies. @param {string} id or name @param {import("./types.js").PhotoSettings} settings
   * @param {CallOptions} [options] @returns {Promise<PhotoSummary>} */
  async set_photo(id, settings, options) {
    return this.#changing("photos_changed", "set_photo", [id, settings], options);
  }

  /** Lay a photo, or the scan that a map belongs to, on the grid by matching points, or by a transform that was found; without both the
   * alignment is taken away. @param {import("./types.js").AlignSettings} settings @param {CallOptions} [options]
   * @returns {Promise<import("./types.js").Alignment|null>} */
  async align(settings, options) {
    const alignment = await this.#as_soon_as_possible("align", [settings], options);
    this.#notify({ type: "photos_changed" });
    return alignment;
  }

  /** Look for how a photo lies on the maps. Nothing is changed: `align({photo, transform})` takes it over. Abort stops the search itself.
   * @param {string} photo id or name @param {CallOptions} [options] @returns {Promise<import("./types.js").Found>} */
  async align_auto(photo, options = {}) {
    return this.#opening.then(() => this.#client.find_alignment(photo, options));
  }

  /** The object's edges, from which places are said. @param {CallOptions} [options] @returns {Promise<import("./types.js").ObjectText|null>} */
  async object(options) {
    return this.#opening.then(() => this.#client.call("object", [], options));
  }

  /** State the object's edges, or forget them. @param {import("./types.js").ObjectSettings|null} settings @param {CallOptions} [options] */
  async set_object(settings, options) {
    const object = /** @type {import("./types.js").ObjectText|null} */ (await this.#as_soon_as_possible("set_object", [settings], options));
    this.#notify({ type: "object_changed", object });
    return object;
  }

  /** @param {CallOptions} [options] @returns {Promise<Grid>} */
  async grid(options) {
    return this.#once_read("grid", [], options);
  }

  /** The questions, with their sentences in parts and whether they can be asked of what is open.
   * @param {CallOptions} [options] @returns {Promise<Question[]>} */
  async questions(options) {
    return this.#once_read("questions", [], options);
  }

  /** The pixels of a map, exactly as read.
   * @param {string} id @param {CallOptions} [options] @returns {Promise<Raster>} */
  async map(id, options) {
    return this.#as_soon_as_possible("map", [id], options);
  }

  /** Default colours and limits of maps as lights, in this order.
   * @param {string[]} ids @param {CallOptions} [options] @returns {Promise<Light[]>} */
  async lights(ids, options) {
    return this.#as_soon_as_possible("lights", [ids], options);
  }

  /** @param {PictureSettings} settings @param {CallOptions} [options] @returns {Promise<Picture>} */
  async picture(settings, options) {
    return this.#as_soon_as_possible("picture", [settings], options);
  }

  /** All maps at a place, in pixels of the grid, and over the region of an answer that the place lies in; with `map`
   * those of its scan, in its own pixels.
   * @param {number} x @param {number} y @param {{answer?: string, show?: string, map?: string}} [of] @param {CallOptions} [options] @returns {Promise<ReadOut>} */
  async read_out(x, y, of = {}, options = undefined) {
    return this.#as_soon_as_possible("read_out", [x, y, of], options);
  }

  /** How a map's values are spread, with the limits to start from.
   * @param {string} id @param {{scale?: import("./types.js").ToneScale, bins?: number, low?: number, high?: number}} [settings] @param {CallOptions} [options]
   * @returns {Promise<import("./types.js").Histogram>} */
  async histogram(id, settings = {}, options = undefined) {
    return this.#as_soon_as_possible("histogram", [id, settings], options);
  }

  /** The colours in which a single map can be shown.
   * @param {CallOptions} [options] @returns {Promise<import("./types.js").ColourChoice[]>} */
  async colours(options) {
    return this.#client.call("colours", [], options);
  }

  /** What can be exported, with words for each, and what has to be named for it.
   * @param {CallOptions} [options] @returns {Promise<import("./types.js").ExportOffer[]>} */
  async exports(options) {
    return this.#client.call("exports", [], options);
  }

  /** A file to keep, with a name and with what it was made with in it: a "picture", a "map" or the "raster" of an answer as numbers, the "mask" of
   * a region, an "answer", its "table" or "profile", lists of all regions, points and files, a "spectrum", the settings "record".
   * @param {import("./types.js").ExportWhat} what @param {import("./types.js").ExportOptions} [settings] @param {CallOptions} [options] @returns {Promise<File>} */
  async export(what, settings, options) {
    await this.#opening;
    const { bytes, type, name } = await this.#client.call("export", [what, settings ?? {}], options, EXPORT_SILENCE_MS);
    return new File([bytes], name, { type });
  }

  /** How many pixels of a region lie in each bin of an answer's joint plot.
   * @param {string} answer @param {string} region id or name @param {CallOptions} [options] @returns {Promise<Raster>} */
  async joint(answer, region, options) {
    return this.#as_soon_as_possible("joint", [answer, region], options);
  }

  /** @param {string} id @param {Record<string, unknown>} settings @param {CallOptions} [options] @returns {Promise<MapSummary>} */
  async set_map(id, settings, options) {
    return this.#changing("maps_changed", "set_map", [id, settings], options);
  }

  /** State what many maps are, in one go; if one cannot be stated none is.
   * @param {({id: string} & Record<string, unknown>)[]} changes @param {CallOptions} [options] @returns {Promise<MapSummary[]>} */
  async set_maps(changes, options) {
    return this.#changing("maps_changed", "set_maps", [changes], options);
  }

  /** Make a map of others: `{how, of: [maps], name?, ...}`. Abort stops the computation itself.
   * @param {Record<string, unknown>} settings @param {CallOptions} [options] @returns {Promise<MapSummary>} */
  async derive(settings, options = {}) {
    await this.#opening;
    const summary = await this.#client.derive(settings, options);
    this.#notify({ type: "maps_changed" });
    return summary;
  }

  /** Take a region, a derived map, an analysis point or a spectrum away. @param {string} id @param {CallOptions} [options] @returns {Promise<void>} */
  async remove(id, options) {
    const what = await this.#as_soon_as_possible("remove", [id], options);
    this.#notify({ type: CHANGED[/** @type {keyof typeof CHANGED} */ (what)] });
  }

  /** Give a region or a map another name. @param {string} id @param {string} name @param {CallOptions} [options]
   * @returns {Promise<RegionSummary|MapSummary>} */
  async rename(id, name, options) {
    const summary = await this.#as_soon_as_possible("rename", [id, name], options);
    this.#notify({ type: "makers" in summary ? "regions_changed" : "maps_changed" });
    return summary;
  }

  /** Add a region: a name, a role, and exactly one shape.
   * @param {RegionSettings} settings @param {CallOptions} [options] @returns {Promise<RegionSummary>} */
  async add_region(settings, options) {
    return this.#changing("regions_changed", "add_region", [settings], options);
  }

  /** Change a region: its name, its role, its shape. What is combined of it changes with it.
   * @param {string} id @param {RegionSettings} settings @param {CallOptions} [options] @returns {Promise<RegionSummary>} */
  async set_region(id, settings, options) {
    return this.#changing("regions_changed", "set_region", [id, settings], options);
  }

  /** What a region would be, with its pixels, without adding it; it may be without any.
   * @param {RegionSettings} settings @param {CallOptions} [options] @returns {Promise<RegionWithMask>} */
  async preview_region(settings, options) {
    return this.#as_soon_as_possible("preview_region", [settings], options);
  }

  /** All regions. @param {CallOptions} [options] @returns {Promise<RegionSummary[]>} */
  async regions(options) {
    return this.#once_read("regions", [], options);
  }

  /** A region, by id or name, with its pixels. @param {string} id @param {CallOptions} [options] @returns {Promise<RegionWithMask>} */
  async region(id, options) {
    return this.#as_soon_as_possible("region", [id], options);
  }

  /** Add an analysis point: where another technique measured, with its result.
   * @param {PointSettings} settings @param {CallOptions} [options] @returns {Promise<PointSummary>} */
  async add_point(settings, options) {
    return this.#changing("points_changed", "add_point", [settings], options);
  }

  /** Change an analysis point; what is not given stays.
   * @param {string} id @param {PointSettings} settings @param {CallOptions} [options] @returns {Promise<PointSummary>} */
  async set_point(id, settings, options) {
    return this.#changing("points_changed", "set_point", [id, settings], options);
  }

  /** All analysis points. @param {CallOptions} [options] @returns {Promise<PointSummary[]>} */
  async points(options) {
    return this.#once_read("points", [], options);
  }

  /** Lines of other elements in each map: overlaps, escape peaks, pile-up.
   * @param {CallOptions} [options] @returns {Promise<import("./types.js").LineWarning[]>} */
  async overlaps(options) {
    return this.#once_read("overlaps", [], options);
  }

  /** The techniques that a point can be of. @param {CallOptions} [options] @returns {Promise<string[]>} */
  async techniques(options) {
    return this.#client.call("techniques", [], options);
  }

  /** The materials that a result can speak of. @param {CallOptions} [options] @returns {Promise<import("./types.js").MaterialChoice[]>} */
  async materials(options) {
    return this.#client.call("materials", [], options);
  }

  /** The layers that may lie over something else. @param {CallOptions} [options] @returns {Promise<import("./types.js").LayerChoice[]>} */
  async layers(options) {
    return this.#client.call("layers", [], options);
  }

  /** Add the spectrum of a region: a text with two columns, energy and counts, or with counts alone.
   * @param {SpectrumSettings} settings @param {CallOptions} [options] @returns {Promise<SpectrumSummary>} */
  async add_spectrum(settings, options) {
    return this.#changing("spectra_changed", "add_spectrum", [settings], options);
  }

  /** All spectra. @param {CallOptions} [options] @returns {Promise<SpectrumSummary[]>} */
  async spectra(options) {
    return this.#once_read("spectra", [], options);
  }

  /** A spectrum as a drawing, with the lines of elements.
   * @param {string} id @param {{elements?: string[], low_kev?: number, high_kev?: number}} [view] @param {CallOptions} [options]
   * @returns {Promise<import("./types.js").SpectrumPlot>} */
  async spectrum(id, view = {}, options = undefined) {
    return this.#as_soon_as_possible("spectrum", [id, view], options);
  }

  /** What is wrong or odd in the stack as a whole, each with what can be done about it.
   * @param {CallOptions} [options] @returns {Promise<Notice[]>} */
  async inspect(options) {
    await this.#opening;
    const maps = /** @type {MapSummary[]} */ (await this.#client.call("maps", [], options));
    const megapixels = maps.reduce((sum, { width, height }) => sum + (width * height) / 1e6, 0);
    const pairs = (maps.length * (maps.length - 1)) / 2;
    const silence = INSPECT_SILENCE_MS + megapixels * INSPECT_SILENCE_MS_PER_MEGAPIXEL + pairs * INSPECT_SILENCE_MS_PER_PAIR;
    return this.#client.call("inspect", [], options, silence);
  }

  /** @param {{step_x_um?: number|null, step_y_um?: number|null, turns?: number, mirror?: boolean}} settings @param {CallOptions} [options] @returns {Promise<Grid>} */
  async set_grid(settings, options) {
    await this.#opening;
    const grid = await this.#client.call("set_grid", [settings], options);
    this.#notify({ type: "grid_changed", grid });
    return grid;
  }

  /** What is known of the scan. @param {CallOptions} [options] @returns {Promise<Scan>} */
  async scan(options) {
    return this.#once_read("scan", [], options);
  }

  /** State how the scan was made, all of it in one go. @param {Partial<Scan>} settings @param {CallOptions} [options] @returns {Promise<Scan>} */
  async set_scan(settings, options) {
    await this.#opening;
    const { text: _, ...fields } = /** @type {Scan} */ (settings);
    const scan = await this.#client.call("set_scan", [fields], options);
    this.#notify({ type: "scan_changed", scan });
    return scan;
  }

  /** Ask a question. Abort stops the computation itself.
   * @param {string} question @param {Record<string, unknown>} [settings] @param {CallOptions} [options] @returns {Promise<Result>} */
  async ask(question, settings = {}, options = {}) {
    await this.#opening;
    return this.#client.ask(question, settings, options);
  }

  /** The state record: with the inputs, all that is needed to come back to this state.
   * @param {CallOptions} [options] @returns {Promise<import("./types.js").StateRecord>} */
  async record(options) {
    return this.#once_read("record", [], options);
  }

  /** Other scans than the first, with where they lie. @param {CallOptions} [options] @returns {Promise<import("./types.js").Field[]>} */
  async fields(options) {
    return this.#once_read("fields", [], options);
  }

  /** How bright a map of another scan is against the first, where they overlap.
   * @param {{map: string, first?: string}} settings @param {CallOptions} [options] @returns {Promise<import("./types.js").Overlap>} */
  async compare_scans(settings, options) {
    await this.#opening;
    return this.#client.call("compare_scans", [settings], options, EXPORT_SILENCE_MS);
  }

  /** Lay a map of another scan on the grid of the first, counts kept, for looking. @param {string} map @param {CallOptions} [options]
   * @returns {Promise<MapSummary>} */
  async lay_on_grid(map, options) {
    await this.#opening;
    const recipe = await this.#client.call("laying", [map], options);
    return this.derive({ ...recipe, of: [map] }, options);
  }

  /** Read what is given once earlier openings are through. Calls that come after wait for it from now on.
   * @param {() => Promise<Input[]>} give @param {CallOptions} options @returns {Promise<Opened>} */
  #in_turn(give, options) {
    const mine = this.#opening.then(async () =>
      openAll(await give(), options, (input, decoding) => this.#open_one(input, decoding), this.#notify),
    );
    this.#openings += 1;
    this.#opening = mine.catch(() => undefined).finally(() => {
      this.#openings -= 1;
    });
    return mine;
  }

  /** Do it once all files are read. @param {string} action @param {unknown[]} args @param {CallOptions} [options] @returns {Promise<any>} */
  async #once_read(action, args, options) {
    await this.#opening;
    return this.#client.call(action, args, options);
  }

  /** Do it as soon as possible, and say what has changed. @param {Exclude<LimnerEvent["type"], "read">} type @param {string} action
   * @param {unknown[]} args @param {CallOptions} [options] @returns {Promise<any>} */
  async #changing(type, action, args, options) {
    const made = await this.#as_soon_as_possible(action, args, options);
    this.#notify(/** @type {LimnerEvent} */ ({ type }));
    return made;
  }

  /** Do it now; if that fails while files are still being read, do it again when they are: what it names may be in one of them.
   * @param {string} action @param {unknown[]} args @param {CallOptions} [options]
   * @returns {Promise<any>} */
  async #as_soon_as_possible(action, args, options) {
    const reading = this.#openings > 0 ? this.#opening : null;
    try {
      return await this.#client.call(action, args, options);
    } catch (thrown) {
      if (reading === null || options?.signal?.aborted) throw thrown;
      await reading;
      return this.#client.call(action, args, options);
    }
  }

  /** Null where it was stopped.
   * @param {Input} input @param {AbortSignal} decoding @returns {Promise<Opened | null>} */
  async #open_one(input, decoding) {
    try {
      const opened = await this.#client.open(input, {}, decoding);
      if (input.way !== null) for (const [hash, held] of this.#asked) if (held.input.file === input.file) this.#asked.delete(hash);
      for (const ask of opened.asks) this.#asked.set(ask.sha256, { input, ask });
      return opened;
    } catch (thrown) {
      const { code, message } = saidOfFile(asProblem(thrown));
      if (code === CANCELLED.code) return null;
      return { maps: [], photos: [], notices: [{ severity: "error", code, file: input.name, text: message }], asks: [], is_kept: false };
    }
  }
}

/** A lost worker while reading is said of the file, which is most likely its cause.
 * @param {Problem} trouble */
function saidOfFile(trouble) {
  if (trouble.code !== "core_stopped") return trouble;
  return problem(trouble.code, "Reading this file stopped unexpectedly, so it was left out. Everything else is still open.", trouble.detail);
}
