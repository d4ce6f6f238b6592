// The part of the controller that belongs to the sheet: folders, files that are asked about, offers, names, the scan, maps that are made.

import { CANCELLED, asProblem } from "./protocol.js";
import { inOrder, walked } from "./folders.js";
import { laidAfter } from "./laying.js";
import { rowOf } from "./naming.js";
import { newestOnly } from "./newest.js";
import { FIELDS, stepSettings, withField } from "./scan-fields.js";

/** @typedef {import("./limner.js").Limner} Limner */
/** @typedef {import("./state.js").State} State */
/** @typedef {import("./state.js").Change} Change */
/** @typedef {import("./noticed.js").Act} Act */
/** @typedef {import("./scan-fields.js").ScanKey} ScanKey */
/** @typedef {import("./sheet-state.js").ScanField} ScanField */
/** @typedef {import("./types.js").Input} Input */
/** @typedef {import("./types.js").MapSummary} MapSummary */

/** @typedef {{type: "walk_folders", entries: FileSystemEntry[]} | {type: "stop_reading"}
 *   | {type: "read_as", sha256s: string[], way: string} | {type: "leave_out", sha256s: string[]}
 *   | {type: "act", act: Act} | {type: "cancel_act"}
 *   | {type: "open_naming"} | {type: "close_naming"} | {type: "name_maps", changes: ({id: string} & Record<string, unknown>)[]}
 *   | {type: "set_scan", field: ScanKey, text: string} | {type: "set_scan_step", text: string} | {type: "lay", how: "left"|"right"|"mirror"}
 *   | {type: "make", calls: Record<string, unknown>[]} | {type: "cancel_make"} | {type: "lay_on_grid", map: string} | {type: "remove_map", id: string}} SheetAction */

/** @typedef {{state: () => State, change: (change: Change) => void, tell: (thrown: unknown) => void, add: (files: Input[]) => void}} Desk */

/** Looking through the whole stack takes the core a while, so it waits until nothing more has changed for this long. */
const INSPECT_AFTER_MS = 400;
/** As often as anybody can read it. */
const LOOKING_MS = 100;

export class SheetControl {
  #limner;
  #desk;
  #inspect;
  /** @type {ReturnType<typeof setTimeout>|undefined} */
  #inspect_timer;
  #walking = new AbortController();
  /** @type {AbortController|null} */
  #acting = null;
  /** @type {AbortController|null} */
  #making = null;
  #stating_scan = Promise.resolve();
  /** The map that was just made, until it is on the sheet. @type {string|null} */
  #show_next = null;

  /** @param {Limner} limner @param {Desk} desk */
  constructor(limner, desk) {
    this.#limner = limner;
    this.#desk = desk;
    this.#inspect = newestOnly(
      (/** @type {null} */ _) => limner.inspect(),
      (notices) => desk.change({ type: "inspected", notices }),
      (thrown) => desk.tell(thrown),
    );
  }

  // ---- what happened elsewhere ----

  /** Look through the whole stack, once it rests. */
  inspect_soon() {
    clearTimeout(this.#inspect_timer);
    this.#inspect_timer = setTimeout(() => {
      const { maps, reading, phase } = this.#desk.state();
      // At the end of what is being read now, it is asked for again.
      if (phase === "ready" && reading === null && maps.length > 0) this.#inspect.ask(null);
    }, INSPECT_AFTER_MS);
  }

  /** @param {MapSummary[]} maps that are on the sheet now */
  stack_came(maps) {
    const next = this.#show_next;
    if (next === null || !maps.some(({ id }) => id === next)) return;
    this.#show_next = null;
    this.#desk.change({ type: "show_map", id: next });
  }

  // ---- what the user did ----

  /** @param {SheetAction} action */
  send(action) {
    switch (action.type) {
      case "walk_folders":
        return void this.#walk(action.entries);
      case "stop_reading":
        return this.#walking.abort();
      case "read_as":
        this.#desk.change({ type: "asks_over", sha256s: action.sha256s });
        this.#limner.read_as(action.sha256s, action.way).catch((thrown) => this.#desk.tell(thrown));
        return;
      case "leave_out":
        return this.#desk.change({ type: "asks_over", sha256s: action.sha256s });
      case "act":
        return void this.#act(action.act);
      case "cancel_act":
        return this.#acting?.abort();
      case "open_naming":
        return this.#desk.change({ type: "naming", naming: { busy: false, trouble: null } });
      case "close_naming":
        return this.#desk.change({ type: "naming", naming: null });
      case "name_maps":
        return void this.#name(action.changes);
      case "set_scan":
        // One after the other: the scan is stated as a whole, each time with what was stated before.
        this.#stating_scan = this.#stating_scan.then(() => this.#set_scan(action.field, action.text));
        return;
      case "set_scan_step":
        return void this.#set_step(action.text);
      case "lay":
        return void this.#lay(action.how);
      case "make":
        return void this.#make(action.calls.map((call) => (options) => this.#limner.derive(call, options)));
      case "lay_on_grid":
        return void this.#make([(options) => this.#limner.lay_on_grid(action.map, options)]);
      case "cancel_make":
        return this.#making?.abort();
      case "remove_map":
        return void this.#remove(action.id);
    }
  }

  /** @param {FileSystemEntry[]} entries */
  async #walk(entries) {
    const { change } = this.#desk;
    this.#walking.abort();
    const mine = (this.#walking = new AbortController());
    change({ type: "looking", found: 0 });
    let told = performance.now();
    const { files, troubles } = await walked(entries, (found) => {
      if (performance.now() - told < LOOKING_MS || mine.signal.aborted) return;
      told = performance.now();
      change({ type: "looking", found });
    }, mine.signal);
    if (this.#walking === mine) change({ type: "looking", found: null });
    if (mine.signal.aborted) return;
    const notices = troubles.map(({ name, message }) => ({ severity: /** @type {const} */ ("error"), code: "file_unreadable", file: name, text: message }));
    if (files.length === 0 && troubles.length === 0) notices.push({ severity: "error", code: "no_files", file: "", text: "No files were found in what was dropped." });
    if (notices.length > 0) change({ type: "notices", notices });
    if (files.length > 0) this.#desk.add(inOrder(files));
  }

  /** Makes exactly the calls that were offered. @param {Act} act */
  async #act({ key, of, calls }) {
    if (this.#acting !== null) return;
    const mine = (this.#acting = new AbortController());
    const { change } = this.#desk;
    change({ type: "doing", doing: { key, progress: null } });
    const options = { signal: mine.signal, on_progress: (/** @type {import("./types.js").Progress} */ progress) => change({ type: "doing", doing: { key, progress } }) };
    try {
      for (const call of calls) await this.#call(call, options);
      change({ type: "done", keys: of, calls });
    } catch (thrown) {
      const { code, message } = asProblem(thrown);
      if (code === CANCELLED.code) change({ type: "doing", doing: null });
      else change({ type: "act_failed", key, message });
    } finally {
      this.#acting = null;
    }
  }

  /** @param {Act["calls"][number]} call @param {import("./types.js").CallOptions} options
   * @returns {Promise<unknown>} */
  #call({ call, args }, options) {
    const [first, second] = /** @type {any[]} */ (args);
    switch (call) {
      case "set_map":
        return this.#limner.set_map(first, second, options);
      case "set_maps":
        return this.#limner.set_maps(first, options);
      case "set_grid":
        return this.#limner.set_grid(first, options);
      case "derive":
        return this.#limner.derive(first, options);
      case "add_region":
        return this.#limner.add_region(first, options);
    }
  }

  /** @param {({id: string} & Record<string, unknown>)[]} changes */
  async #name(changes) {
    const { change } = this.#desk;
    change({ type: "naming", naming: { busy: true, trouble: null } });
    try {
      await this.#limner.set_maps(changes);
      change({ type: "naming", naming: null });
    } catch (thrown) {
      const failed = asProblem(thrown);
      change({ type: "naming", naming: { busy: false, trouble: { map: rowOf(failed, changes), message: failed.message } } });
    }
  }

  /** @param {ScanKey} key @param {string} text */
  async #set_scan(key, text) {
    const field = FIELDS.find((one) => one.key === key);
    const { scan } = this.#desk.state();
    if (field === undefined || scan === null) return;
    const next = withField(scan, field, text);
    if ("message" in next) return this.#desk.change({ type: "scan_failed", trouble: { field: key, text, message: next.message } });
    await this.#in_scan(key, text, () => this.#limner.set_scan(next.scan));
  }

  /** @param {string} text */
  async #set_step(text) {
    const step = stepSettings(text);
    if (step === null) {
      return this.#desk.change({ type: "scan_failed", trouble: { field: "step", text, message: "Give the step in millimetres, for example 0.5 (or 0.5 × 0.4)." } });
    }
    await this.#in_scan("step", text, () => this.#limner.set_grid(step));
  }

  /** @param {"left"|"right"|"mirror"} how */
  async #lay(how) {
    const { grid } = this.#desk.state();
    if (grid === null) return;
    const laid = laidAfter(grid, how);
    await this.#in_scan("lying", "", () => this.#limner.set_grid(laid));
  }

  /** @param {ScanField} field @param {string} text @param {() => Promise<unknown>} run */
  async #in_scan(field, text, run) {
    try {
      await run();
      // What was refused elsewhere still waits to be mended.
      if (this.#desk.state().scan_trouble?.field === field) this.#desk.change({ type: "scan_failed", trouble: null });
    } catch (thrown) {
      this.#desk.change({ type: "scan_failed", trouble: { field, text, message: asProblem(thrown).message } });
    }
  }

  /** One after the other; one that cannot be made is said and does not stop the rest.
   * @param {((options: import("./types.js").CallOptions) => Promise<MapSummary>)[]} calls */
  async #make(calls) {
    if (this.#making !== null) return;
    const mine = (this.#making = new AbortController());
    const { change } = this.#desk;
    /** @type {string[]} */
    const ids = [];
    /** @type {string[]} */
    const troubles = [];
    for (const [index, call] of calls.entries()) {
      const text = calls.length > 1 ? `Making map ${index + 1} of ${calls.length}` : "Making the map";
      const tell = (/** @type {number} */ fraction) => change({ type: "making", progress: { fraction: (index + fraction) / calls.length, text } });
      tell(0);
      try {
        ids.push((await call({ signal: mine.signal, on_progress: ({ fraction }) => tell(fraction) })).id);
      } catch (thrown) {
        const { code, message } = asProblem(thrown);
        if (code === CANCELLED.code) break;
        if (!troubles.includes(message)) troubles.push(message);
      }
    }
    this.#making = null;
    this.#show_next = ids.at(-1) ?? null;
    change({ type: "made", ids, troubles });
    this.stack_came(this.#desk.state().maps);
  }

  /** @param {string} id */
  async #remove(id) {
    try {
      await this.#limner.remove(id);
    } catch (thrown) {
      this.#desk.change({ type: "map_failed", trouble: { map: id, message: asProblem(thrown).message } });
    }
  }
}
