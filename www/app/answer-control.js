// The part of the controller that belongs to answers: other forms of a question, brushing in the joint plot, lines over the picture, tables.

import { CANCELLED, asProblem } from "./protocol.js";
import { download } from "./download.js";
import { newestOnly } from "./newest.js";
import { seeGrid } from "./see-grid.js";
import { tableFileName } from "./words.js";

/** @typedef {import("./limner.js").Limner} Limner */
/** @typedef {import("./state.js").State} State */
/** @typedef {import("./state.js").Change} Change */
/** @typedef {import("./asking.js").Line} Line */
/** @typedef {import("./brush.js").Brush} Brush */

/** `brush`: null takes the rectangle away.
 * @typedef {{type: "choose_form", question: string, key: string} | {type: "ask_pair", a: string, b: string}
 *   | {type: "draw_line", setting: string|null} | {type: "line_drawn", setting: string, line: Line}
 *   | {type: "brush", answer: string, brush: Brush|null} | {type: "keep_brush"}
 *   | {type: "show_place", answer: string, index: number}
 *   | {type: "save_csv", what: "table"|"profile", answer: string}} AnswerAction */

/** @typedef {{state: () => State, change: (change: Change) => void, tell: (thrown: unknown) => void, ask: () => void}} Desk */

/** @type {AnswerAction["type"][]} */
const ACTIONS = ["choose_form", "ask_pair", "draw_line", "line_drawn", "brush", "keep_brush", "show_place", "save_csv"];

/** @param {{type: string}} action
 * @returns {action is AnswerAction} */
export function isAnswerAction(action) {
  return ACTIONS.some((one) => one === action.type);
}

export class AnswerControl {
  #limner;
  #desk;
  #lighting;
  #marking;

  /** @param {Limner} limner @param {Desk} desk */
  constructor(limner, desk) {
    this.#limner = limner;
    this.#desk = desk;
    this.#lighting = newestOnly(
      (/** @type {{answer: string, from: [number, number], to: [number, number]}} */ cloud) => limner.preview_region({ cloud }),
      ({ mask, text, area_text }, cloud) => this.#brushed(cloud, { lit: { mask, text: area_text ? `${text}: ${area_text}` : text }, trouble: "" }),
      (thrown, cloud) => this.#brushed(cloud, { lit: null, trouble: asProblem(thrown).message }),
    );
    this.#marking = newestOnly(
      (/** @type {{answer: string, region: string, label: string}} */ { answer, region }) => limner.joint(answer, region),
      (bins, asked) => {
        if (desk.state().answer?.id === asked.answer) desk.change({ type: "marked", marked: { ...asked, bins } });
      },
      // That a region cannot be marked is no answer lost: it is told nowhere, and nothing is marked.
      () => desk.change({ type: "marked", marked: null }),
    );
  }

  /** The region that is pointed at, else the one that is unfolded in the list, is marked in the joint plot. @param {State} before */
  changed(before) {
    const now = this.#desk.state();
    if (before.lit === now.lit && before.unfolded === now.unfolded && before.regions === now.regions && before.answer === now.answer) return;
    // What was marked may be another set of pixels by now.
    if (now.marked !== null && (before.regions !== now.regions || before.answer !== now.answer)) this.#desk.change({ type: "marked", marked: null });
    this.#mark(now.lit ?? now.unfolded);
  }

  /** @param {AnswerAction} action */
  send(action) {
    const { change, ask } = this.#desk;
    switch (action.type) {
      case "choose_form":
        change({ type: "form", question: action.question, key: action.key });
        return ask();
      case "ask_pair":
        change({ type: "question", key: "together" });
        change({ type: "form", question: "together", key: "" });
        change({ type: "setting", name: "a", value: action.a });
        change({ type: "setting", name: "b", value: action.b });
        return ask();
      case "draw_line":
        return change({ type: "drawing_line", setting: action.setting });
      case "line_drawn":
        change({ type: "drawing_line", setting: null });
        change({ type: "setting", name: action.setting, value: action.line });
        return ask();
      case "brush":
        return this.#brush(action.answer, action.brush);
      case "keep_brush":
        return void this.#keep_brush();
      case "show_place":
        seeGrid(this.#desk);
        return change({ type: "place", place: { answer: action.answer, index: action.index } });
      case "save_csv":
        this.#save_csv(action.what, action.answer).catch((thrown) => this.#desk.tell(thrown));
        return;
    }
  }

  /** @param {string} answer @param {Brush|null} brush */
  #brush(answer, brush) {
    if (brush === null) {
      this.#lighting.forget();
      return this.#desk.change({ type: "brush", brush: null });
    }
    // What was lit stays lit until the new rectangle's pixels are there, so that nothing flickers.
    const { lit = null } = this.#desk.state().brush ?? {};
    this.#desk.change({ type: "brush", brush: { answer, ...brush, lit, trouble: "", name: "" } });
    this.#lighting.ask({ answer, ...brush });
  }

  /** @param {{answer: string, from: [number, number], to: [number, number]}} cloud @param {Partial<import("./answer-state.js").BrushState>} more */
  #brushed(cloud, more) {
    const { brush } = this.#desk.state();
    if (brush !== null && brush.answer === cloud.answer) this.#desk.change({ type: "brush", brush: { ...brush, ...more } });
  }

  async #keep_brush() {
    const { brush } = this.#desk.state();
    if (brush === null || brush.lit === null) return;
    const cloud = { answer: brush.answer, from: brush.from, to: brush.to };
    try {
      const { id, name } = await this.#limner.add_region({ cloud });
      this.#brushed(cloud, { name, trouble: "" });
      this.#desk.change({ type: "region_made", id });
    } catch (thrown) {
      this.#brushed(cloud, { trouble: asProblem(thrown).message });
    }
  }

  /** @param {string|null} region */
  #mark(region) {
    const { answer, marked, regions } = this.#desk.state();
    const found = regions.find(({ id }) => id === region);
    if (answer === null || found === undefined || !(answer.plots ?? []).some(({ kind }) => kind === "joint")) {
      this.#marking.forget();
      if (marked !== null) this.#desk.change({ type: "marked", marked: null });
      return;
    }
    if (marked?.answer !== answer.id || marked.region !== found.id) this.#marking.ask({ answer: answer.id, region: found.id, label: found.name });
  }

  /** @param {"table"|"profile"} what @param {string} answer */
  async #save_csv(what, answer) {
    try {
      const file = await this.#limner.export(what, { answer });
      download(file, tableFileName(this.#desk.state(), answer, what));
    } catch (thrown) {
      if (asProblem(thrown).code !== CANCELLED.code) throw thrown;
    }
  }
}
