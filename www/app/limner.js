// The public object: the page's own calls, and those of the console, notebooks and tests.

import { asProblem, problem, CANCELLED } from "./protocol.js";
import { textsOf } from "./copying.js";
import { asInput } from "./files.js";
import { openAll } from "./opening.js";
import { Sharing } from "./sharing.js";
import { StudyCalls, restoreStudy } from "./study-calls.js";
import { Turns } from "./turns.js";

/** @typedef {import("./core-client.js").CoreClient} CoreClient */
/** @typedef {import("./types.js").CallOptions} CallOptions */
/** @typedef {import("./types.js").Opened} Opened */
/** @typedef {import("./types.js").Input} Input */
/** @typedef {import("./types.js").Scan} Scan */
/** @typedef {import("./types.js").Result} Result */
/** @typedef {import("./types.js").Grid} Grid */
/** @typedef {import("./types.js").Question} Question */
/** @typedef {import("./types.js").Problem} Problem */

/** What the page is told, whoever made the call. `study_changed`: everything may be otherwise.
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
 *   | {type: "object_changed", object: import("./types.js").ObjectText|null}
 *   | {type: "findings_changed"}
 *   | {type: "about_changed", about: import("./types.js").About}
 *   | {type: "study_changed"}
 *   | {type: "history_changed", history: import("./types.js").History}} LimnerEvent */

const ALONE = "This is a study file: a whole study, which takes the place of what is open. It was left out here; open it alone.";
/** A large picture is drawn, lettered and packed in one go. */
const EXPORT_SILENCE_MS = 20000;

export class Limner extends StudyCalls {
  #turns;
  #demo_files;
  #sharing;
  #openings = 0;
  /** Files that can be read in several ways, until one is chosen, by their hash.
   * @type {Map<string, {input: Input, ask: import("./types.js").AskToRead}>} */
  #asked = new Map();

  /** @param {CoreClient} client
   * @param {() => Promise<File[]>} demo_files
   * @param {(event: LimnerEvent) => void} notify
   * @param {() => import("./copying.js").PageTexts} [page_texts] what a copy of this page is made of */
  constructor(client, demo_files, notify, page_texts = () => textsOf(document)) {
    const turns = new Turns(client, notify);
    super(turns);
    this.#turns = turns;
    this.#demo_files = demo_files;
    this.#sharing = new Sharing({
      save: (options) => this.save(options),
      reduce: async (study, what, options) => /** @type {Blob} */ (await client.job("leave_out", [study, what], options)),
      expect: (what, options) => turns.once_read("copy_size", [what], options, EXPORT_SILENCE_MS),
      texts: page_texts,
    });
    client.on_history = (history) => notify({ type: "history_changed", history });
  }

  /** The version of the core; empty until the page is ready. */
  get version() {
    return this.#turns.client.version;
  }

  /** Read files, one after the other. A bad one gives a notice and never stops the rest.
   * @param {Iterable<File | {name: string, bytes: Uint8Array, way?: string} | Input>} files
   * @param {CallOptions} [options]
   * @returns {Promise<Opened>} */
  async open(files, options = {}) {
    if (typeof files?.[Symbol.iterator] !== "function") throw problem("bad_call", "Give a list of files, also if it is only one.");
    const list = [...files].map(asInput);
    return this.#read(async () => list, options);
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
    this.#turns.notify({ type: "read", opened: { maps: [], photos: [], notices: [], asks: left, is_kept: false } });
    return { ...opened, asks: [...opened.asks, ...left] };
  }

  /** Open the example that this page carries.
   * @param {CallOptions} [options] */
  async open_demo(options = {}) {
    return this.#read(async () => (await this.#demo_files()).map(asInput), options);
  }

  /** The questions, with their sentences in parts and whether they can be asked of what is open.
   * @param {CallOptions} [options] @returns {Promise<Question[]>} */
  async questions(options) {
    return this.#turns.once_read("questions", [], options);
  }

  /** Ask a question. Abort stops the computation itself.
   * @param {string} question @param {Record<string, unknown>} [settings] @param {CallOptions} [options] @returns {Promise<Result>} */
  async ask(question, settings = {}, options = {}) {
    await this.#turns.opening;
    return this.#turns.client.ask(question, settings, options);
  }

  /** What can be exported, with words for each, and what has to be named for it.
   * @param {CallOptions} [options] @returns {Promise<import("./types.js").ExportOffer[]>} */
  async exports(options) {
    return this.#turns.client.call("exports", [], options);
  }

  /** A file to keep, with a name and with what it was made with in it: a "picture", a "map" or the "raster" of an answer as numbers, the "mask" of
   * a region, an "answer", its "table" or "profile", lists of all regions, points and files, a "spectrum", the settings "record".
   * @param {import("./types.js").ExportWhat} what @param {import("./types.js").ExportOptions} [settings] @param {CallOptions} [options] @returns {Promise<File>} */
  async export(what, settings, options) {
    await this.#turns.opening;
    const { bytes, type, name } = await this.#turns.client.call("export", [what, settings ?? {}], options, EXPORT_SILENCE_MS);
    return new File([bytes], name, { type });
  }

  /** One HTML file with this program and the study in it, which opens by a double click. What is left out of it ("photo", "file names",
   * "notes", "coordinates", "object") is gone from it; `findings_only` holds neither maps nor photos.
   * @param {import("./sharing.js").ShareOptions} [what] @param {CallOptions} [options] @returns {Promise<Blob>} */
  async share(what, options) {
    return this.#sharing.share(what, options);
  }

  /** How large that file will be, before it is made. @param {import("./sharing.js").ShareOptions} [what] @param {CallOptions} [options]
   * @returns {Promise<{bytes: number, text: string}>} */
  async share_size(what, options) {
    return this.#sharing.share_size(what, options);
  }

  /** The state record: with the inputs, all that is needed to come back to this state.
   * @param {CallOptions} [options] @returns {Promise<import("./types.js").StateRecord>} */
  async record(options) {
    return this.#turns.once_read("record", [], options);
  }

  /** @param {() => Promise<Input[]>} give @param {CallOptions} options @returns {Promise<Opened>} */
  #read(give, options) {
    return this.#turns.in_turn(async () => {
      const { client, notify } = this.#turns;
      const inputs = await give();
      const studies = await studiesAmong(inputs, (file) => client.call("is_study", [file]));
      const [study] = studies;
      if (inputs.length === 1 && study !== undefined) return { ...(await restoreStudy(this.#turns, study.file, options)), asks: [], is_kept: true };
      if (client.read_only) throw problem("read_only", client.read_only);
      this.#openings += 1;
      const step = { key: `opening ${this.#openings}` };
      const all = await openAll(inputs.filter((input) => !studies.includes(input)), options, (input, decoding) => this.#open_one(input, decoding, step), notify);
      // How the step is called is not worth an opening that went well.
      if (inputs.length > 1) await client.retell(step.key).catch(() => undefined);
      if (studies.length === 0) return all;
      const notices = studies.map(({ name }) => ({ severity: /** @type {const} */ ("warning"), code: "study_among_files", file: name, text: ALONE }));
      notify({ type: "read", opened: { maps: [], photos: [], notices, asks: [], is_kept: false } });
      return { ...all, notices: [...all.notices, ...notices] };
    });
  }

  /** Null where it was stopped.
   * @param {Input} input @param {AbortSignal} decoding @param {{key: string}} step @returns {Promise<Opened | null>} */
  async #open_one(input, decoding, step) {
    try {
      const opened = await this.#turns.client.open(input, {}, decoding, step);
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

/** Those that are study files, which are ZIP files of a certain beginning.
 * @param {Input[]} inputs @param {(file: File) => Promise<unknown>} is_study
 * @returns {Promise<Input[]>} */
async function studiesAmong(inputs, is_study) {
  const found = await Promise.all(inputs.map(async ({ file }) => {
    const start = await file.slice(0, 2).text().catch(() => ""); // whoever reads it says that it cannot be read
    return start === "PK" && (await is_study(file)) === true;
  }));
  return inputs.filter((_, at) => found[at]);
}
