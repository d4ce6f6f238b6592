// Joins state, core and components: actions of the user become calls, results become changes of state.

import { CANCELLED, asProblem, problem } from "./protocol.js";
import { AligningControl, isAligningAction } from "./aligning-control.js";
import { AnswerControl, isAnswerAction } from "./answer-control.js";
import { AskControl } from "./ask-control.js";
import { LightsControl } from "./lights-control.js";
import { START, reduce } from "./state.js";
import { FindingsControl, isFindingsAction } from "./findings-control.js";
import { HandingControl, isHandingAction } from "./handing-control.js";
import { KeepingControl, isKeepingAction } from "./keeping-control.js";
import { newestOnly } from "./newest.js";
import { PointsControl, isPointsAction } from "./points-control.js";
import { RegionControl, isRegionAction } from "./region-control.js";
import { scanOf } from "./scan-words.js";
import { ScansControl } from "./scans-control.js";
import { SheetControl } from "./sheet-control.js";
import { SpectraControl, isSpectraAction } from "./spectra-control.js";
import { lineOf, stepOf } from "./typed.js";
import { isOfUnder } from "./under-state.js";

/** @typedef {import("./core-client.js").CoreClient} CoreClient */
/** @typedef {import("./limner.js").Limner} Limner */
/** @typedef {import("./state.js").State} State */
/** @typedef {import("./state.js").Change} Change */
/** @typedef {import("./types.js").Input} Input */

/** What the user did.
 * @typedef {import("./sheet-control.js").SheetAction | import("./answer-control.js").AnswerAction | import("./region-control.js").RegionAction
 *   | import("./aligning-control.js").AligningAction | import("./points-control.js").PointsAction | import("./spectra-control.js").SpectraAction
 *   | import("./findings-control.js").FindingsAction | import("./handing-control.js").HandingAction | import("./keeping-control.js").KeepingAction
 *   | import("./scans-control.js").ScansAction | import("./under-state.js").UnderChange | {type: "add_files", files: (File|Input)[]} | {type: "open_example"}
 *   | {type: "dismiss", keys: string[]} | {type: "dismiss_all"}
 *   | {type: "choose_map", id: string} | {type: "toggle_light", id: string} | {type: "choose_photo", id: string}
 *   | {type: "choose_mode", mode: import("./state.js").Mode}
 *   | {type: "choose_question", key: string} | {type: "choose_setting", name: string, of?: string, value: import("./asking.js").Value}
 *   | {type: "choose_layout", layout: import("./subjects.js").Layout} | {type: "activate_view", view: number}
 *   | {type: "set_limits", id: string, limits: import("./axis.js").Limits|null}
 *   | {type: "choose_scale", scale: import("./types.js").ToneScale} | {type: "choose_colours", colours: string}
 *   | {type: "choose_light_colour", id: string, colour: string}
 *   | {type: "open_warnings", open: boolean}
 *   | {type: "cancel_ask"} | {type: "ask_again"} | {type: "show_answer", show: string}
 *   | {type: "set_step", text: string} | {type: "set_kind", id: string, kind: string} | {type: "name_map", id: string, text: string}} Action */

/** @typedef {(action: Action) => void} Send */

export class Controller {
  #client;
  #limner;
  #draw;
  /** @type {State} */
  #state = START;
  #stop_reading = () => {};
  #ask;
  #refresh;
  #sheet;
  #scans;
  #answers;
  #regions;
  #aligning;
  #points;
  #spectra;
  #warnings;
  #findings;
  #handing;
  #lights;
  #is_other = false;
  #keeping;

  /** @param {CoreClient} client @param {Limner} limner @param {(state: State) => void} draw @param {import("./keeping-world.js").KeepingWorld|null} [world]
   * without it nothing is kept */
  constructor(client, limner, draw, world = null) {
    this.#client = client;
    this.#limner = limner;
    this.#draw = draw;
    const stack = async () => {
      const is_other = this.#is_other;
      this.#is_other = false;
      const all = await Promise.all([client.call("maps"), client.call("photos"), client.call("grid"), client.call("questions"), client.call("points")]);
      const fields = /** @type {import("./types.js").MapSummary[]} */ (all[0]).some((map) => scanOf(map) > 0) ? await client.call("fields") : [];
      return [...all, fields, is_other];
    };
    this.#refresh = newestOnly(
      (/** @type {null} */ _) => stack(),
      ([maps, photos, grid, questions, points, fields, is_other]) => {
        this.#change({ type: "stack", maps, photos, grid, questions, fields, points });
        this.#sheet.stack_came(maps);
        if (!is_other) return;
        // Not before: lights and words of the question may name maps that are gone.
        this.#lights.renew();
        this.#ask.anew();
      },
      (thrown) => this.#tell(thrown),
    );
    const desk = {
      state: () => this.#state,
      change: (/** @type {Change} */ change) => this.#change(change),
      tell: (/** @type {unknown} */ thrown) => this.#tell(thrown),
      add: (/** @type {Input[]} */ files) => this.send({ type: "add_files", files }),
      ask: () => void this.#ask.ask(),
    };
    this.#ask = new AskControl(client, desk);
    this.#lights = new LightsControl({ ...desk, lights: (ids) => client.call("lights", [ids]) });
    this.#sheet = new SheetControl(limner, desk);
    this.#scans = new ScansControl(limner, desk);
    this.#answers = new AnswerControl(limner, desk);
    this.#aligning = new AligningControl(limner, desk);
    this.#points = new PointsControl(limner, desk);
    this.#spectra = new SpectraControl(limner, { ...desk, spectra: () => client.call("spectra") });
    this.#warnings = newestOnly((/** @type {null} */ _) => client.call("overlaps"), (warnings) => this.#change({ type: "warnings", warnings }), (thrown) => this.#tell(thrown));
    this.#findings = new FindingsControl(limner, { ...desk, findings: () => client.call("findings"), about: () => client.call("about"), ask_as: (ready) => (ready === null ? this.#ask.nothing() : void this.#ask.ask({ again: true, turn: false, ready })) });
    this.#handing = new HandingControl(limner, desk);
    this.#keeping = world && new KeepingControl(limner, { ...desk, set_read_only: (why) => client.set_read_only(why) }, world);
    this.#regions = new RegionControl(limner, {
      ...desk,
      // At once, also while files are read.
      regions: () => client.call("regions"),
      restated: (regions) => {
        // In one that is taken as pure the share of an overlap is measured.
        if (regions.some(({ pure }) => pure)) this.#warnings.ask(null);
        // What the last question was about may be another region by now, or have another name.
        if (this.#ask.names(regions.flatMap(({ id, name }) => [id, name]))) this.#ask.anew();
      },
    });
  }

  get state() {
    return this.#state;
  }

  /** @param {Change} change */
  #change(change) {
    const before = this.#state;
    this.#state = reduce(before, change);
    this.#draw(this.#state);
    this.#answers.changed(before);
    this.#keeping?.state_changed(before);
  }

  /** A failure that belongs to no place on the page. @param {unknown} thrown */
  #tell(thrown) {
    const { code, message } = asProblem(thrown);
    if (code === CANCELLED.code || this.#state.phase === "broken") return;
    this.#change({ type: "notices", notices: [{ severity: "error", code, file: "", text: message }] });
  }

  /** Look for work that is kept. @returns whether the study of this tab is open again */
  look_for_kept = async () => (await this.#keeping?.start()) ?? false;

  /** The core answers: the page can be used. */
  ready() {
    this.#change({ type: "ready" });
    this.#refresh.ask(null);
    this.#regions.refresh();
    this.#spectra.refresh();
    this.#findings.refresh();
    this.#findings.refresh_about();
    this.#handing.ready(() => this.#client.call("exports"), (thrown) => this.#tell(thrown));
    Promise.all([this.#client.call("techniques"), this.#client.call("materials")])
      .then(([techniques, materials]) => this.#change({ type: "choices", techniques, materials }), (thrown) => this.#tell(thrown));
    this.#client.call("scan").then((scan) => this.#change({ type: "scan", scan }), (thrown) => this.#tell(thrown));
  }

  /** @param {unknown} thrown */
  broken(thrown) {
    this.#change({ type: "broken", problem: asProblem(thrown) });
  }

  /** @param {import("./core-client.js").ClientEvent} event */
  client_event(event) {
    if (event.type === "changed") return this.#keeping?.changed(event.snapshot);
    if (event.type === "broken") return this.broken(event.problem);
    const notice = event.type === "restarted"
      ? { severity: /** @type {const} */ ("info"), code: "restarted", file: "", text: "The part that computes stopped and was started again. What was open has been read again from its files." }
      : { severity: /** @type {const} */ ("error"), code: "input_lost", file: event.file, text: `After the restart it is missing. ${event.problem.message} It comes back as it was when it is opened again.` };
    this.#change({ type: "notices", notices: [notice] });
    if (event.type !== "input_lost") return;
    this.#ask.forget();
    this.#refresh.ask(null);
    this.#regions.refresh();
  }

  /** @param {import("./limner.js").LimnerEvent} event */
  limner_event(event) {
    this.#happened(event);
    // What a finding rests on may be otherwise now.
    if (!["reading", "read", "history_changed", "about_changed"].includes(event.type)) this.#findings.ground_changed();
  }

  /** @param {import("./limner.js").LimnerEvent} event */
  #happened(event) {
    switch (event.type) {
      case "reading":
        this.#stop_reading = event.stop;
        return this.#change({ type: "reading", reading: { done: event.done, total: event.total, name: event.name } });
      case "read":
        if (event.opened.notices.length > 0) this.#change({ type: "notices", notices: event.opened.notices, source: "opening" });
        if (event.opened.asks.length > 0) this.#change({ type: "asks", asks: event.opened.asks });
        this.#regions.refresh();
        return this.#refresh.ask(null);
      case "reading_over":
        this.#stop_reading = () => {};
        // They look at every pair of maps, so not after each file.
        this.#warnings.ask(null);
        this.#sheet.inspect_soon();
        return this.#change({ type: "reading", reading: null });
      case "scan_changed":
        this.#change({ type: "scan", scan: event.scan });
        // What can be seen at all, and what overlaps it, depends on how the scan was made; marks of the sheet do too.
        this.#refresh.ask(null);
        this.#warnings.ask(null);
        this.#spectra.refresh();
        return this.#ask.anew();
      case "maps_changed":
      case "grid_changed":
        this.#refresh.ask(null);
        this.#regions.refresh();
        this.#warnings.ask(null);
        this.#sheet.inspect_soon();
        if (event.type === "grid_changed" && this.#state.object !== null) this.#aligning.object_soon();
        if (event.type === "maps_changed") this.#lights.renew();
        // What is answered depends on kinds and on the step, so the last question is asked again, unless it was taken back.
        return this.#ask.anew();
      case "photos_changed":
        // A photo that lies elsewhere is seen elsewhere, and so are regions of its colours.
        this.#refresh.ask(null);
        return this.#regions.refresh(true);
      case "points_changed":
        this.#refresh.ask(null);
        return this.#ask.anew_of_materials();
      case "spectra_changed":
        return this.#spectra.refresh();
      case "object_changed":
        this.#change({ type: "object", object: event.object });
        return this.#ask.anew_of_materials();
      case "findings_changed":
        return this.#findings.refresh();
      case "about_changed":
        return this.#change({ type: "about", about: event.about });
      case "history_changed":
        return this.#change({ type: "history", history: event.history });
      case "study_changed":
        return this.#all_anew();
      case "regions_changed":
        // Sentences offer regions, and name them.
        this.#refresh.ask(null);
        this.#spectra.refresh();
        return this.#regions.refresh(true);
    }
  }

  /** Everything may be otherwise: after undo, redo, another study. */
  #all_anew() {
    this.#is_other = true;
    this.#refresh.ask(null);
    this.#regions.refresh(true);
    this.#warnings.ask(null);
    this.#spectra.refresh();
    this.#findings.refresh();
    this.#findings.refresh_about();
    this.#sheet.inspect_soon();
    this.#client.call("scan").then((scan) => this.#change({ type: "scan", scan }), (thrown) => this.#tell(thrown));
    this.#aligning.object_soon();
  }

  /** @type {Send} */
  send = (action) => {
    switch (action.type) {
      case "add_files":
        return this.#handing.add(action.files);
      case "open_example":
        this.#limner.open_demo().catch((thrown) => this.#tell(thrown));
        return;
      case "stop_reading":
        this.#stop_reading();
        return this.#sheet.send(action);
      case "dismiss":
      case "dismiss_all":
        return this.#change(action);
      case "choose_map":
        return this.#change({ type: "show_map", id: action.id });
      case "choose_photo":
        return this.#change({ type: "show_photo", id: action.id });
      case "choose_mode":
        return this.#change({ type: "mode", mode: action.mode });
      case "choose_layout":
        return this.#change({ type: "layout", layout: action.layout });
      case "activate_view":
        return action.view === this.#state.active ? undefined : this.#change({ type: "activate", view: action.view });
      case "open_warnings":
        return this.#change({ type: "warnings_open", open: action.open });
      case "set_limits":
        this.#change({ type: "limits", id: action.id, limits: action.limits });
        return this.#regions.limits_moved(action.id, action.limits);
      case "choose_scale":
        return this.#change({ type: "scale", scale: action.scale });
      case "choose_colours":
        return this.#change({ type: "colours", colours: action.colours });
      case "choose_light_colour":
        return this.#change({ type: "light_colour", id: action.id, colour: action.colour });
      case "toggle_light":
        return this.#lights.toggle(action.id);
      case "choose_question":
        this.#change({ type: "question", key: action.key });
        return void this.#ask.ask();
      case "choose_setting":
        this.#change({ type: "setting", name: action.name, of: action.of, value: action.value });
        return void this.#ask.ask();
      case "cancel_ask":
        return this.#ask.cancel();
      case "ask_again":
        return void this.#ask.ask({ again: true });
      case "show_answer":
        return this.#change(action);
      case "set_step":
        return void this.#set_step(action.text);
      case "compare_scans":
        return this.#scans.send(action);
      case "set_kind":
        this.#limner.set_map(action.id, { kind: action.kind }).catch((thrown) => this.#tell(thrown));
        return;
      case "name_map":
        this.#limner.set_map(action.id, lineOf(action.text)).catch((thrown) => this.#tell(thrown));
        return;
      default:
        if (isKeepingAction(action)) return this.#keeping?.send(action);
        if (isAligningAction(action)) return this.#aligning.send(action);
        if (isOfUnder(action)) return this.#change(action);
        if (isPointsAction(action)) return this.#points.send(action);
        if (isSpectraAction(action)) return this.#spectra.send(action);
        if (isFindingsAction(action)) return this.#findings.send(action);
        if (isHandingAction(action)) return this.#handing.send(action);
        if (isAnswerAction(action)) return this.#answers.send(action);
        return isRegionAction(action) ? this.#regions.send(action) : this.#sheet.send(action);
    }
  };

  /** @param {string} text as typed */
  async #set_step(text) {
    const step = stepOf(text);
    if (step === null) {
      return this.#change({ type: "step_failed", problem: problem("bad_step", "Give the step in millimetres, for example 0.5 (or 0.5 × 0.4).") });
    }
    try {
      await this.#limner.set_grid(step);
    } catch (thrown) {
      this.#change({ type: "step_failed", problem: asProblem(thrown) });
    }
  }
}
