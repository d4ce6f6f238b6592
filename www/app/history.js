// The states that the study went through, for undo and redo. Pure: no worker, no clock.
//
// A record is kept as the texts of its parts, and a list or table in it as the texts of its entries. Equal texts are kept once,
// whichever steps they belong to, so that a step costs about as much as what it changed.

/** @typedef {import("./types.js").StateRecord} StateRecord */
/** @typedef {import("./types.js").History} HistoryWords */
/** @typedef {import("./types.js").KeptHistory} KeptHistory */
/** @typedef {import("./types.js").KeptStep} KeptStep */

/** What led to a step: in words, and what it may be one with: a step after one of the same `key` replaces it, `within_ms` of it
 * where that is given.
 * @typedef {{text: string, key?: string|null, within_ms?: number}} Cause */
/** A text with how often it is named, and the texts that it names itself, by number.
 * @typedef {{text: string, uses: number, of: number[]}} Held */

const STEPS = 400;
/** Letters of all texts together. Past it the oldest steps are given up. */
const LETTERS = 64e6;
/** A list and a table of texts; JSON begins with neither. */
const LIST = "l";
const TABLE = "t";

export class History {
  #most_steps;
  #most_letters;
  /** @type {KeptStep[]} */
  #steps = [];
  #position = -1;
  /** @type {Map<number, Held>} */
  #held = new Map();
  /** @type {Map<string, number>} */
  #numbers = new Map();
  #next = 1;
  #letters = 0;

  /** @param {{steps?: number, letters?: number}} [most] */
  constructor({ steps = STEPS, letters = LETTERS } = {}) {
    this.#most_steps = steps;
    this.#most_letters = letters;
  }

  /** How many steps there are either way, and what they would undo and redo. @returns {HistoryWords} */
  get words() {
    const [undo, redo] = [Math.max(0, this.#position), Math.max(0, this.#steps.length - 1 - this.#position)];
    return { undo, redo, undo_text: undo > 0 ? this.#steps[this.#position].text : "", redo_text: redo > 0 ? this.#steps[this.#position + 1].text : "" };
  }

  /** Letters that are held at present. */
  get letters() {
    return this.#letters;
  }

  /** Forget all and begin with this record. @param {StateRecord} record */
  begin(record) {
    for (const step of this.#steps) this.#release(step);
    this.#steps = [this.#step(record, { text: "" }, 0)];
    this.#position = 0;
  }

  /** Take in the record after a change. One that changed nothing is no step; what was undone can be redone no longer.
   * @param {StateRecord} record @param {Cause} cause @param {number} now in ms
   * @returns {boolean} whether anything is otherwise than before */
  push(record, cause, now) {
    if (this.#position < 0) {
      this.begin(record);
      return true;
    }
    const step = this.#step(record, cause, now);
    const top = this.#steps[this.#position];
    if (isSame(step, top)) {
      this.#release(step);
      return false;
    }
    for (const undone of this.#steps.splice(this.#position + 1)) this.#release(undone);
    if (this.#position > 0 && isOne(top, step, cause)) {
      this.#release(top);
      this.#steps.pop();
      this.#position -= 1;
      // Typed back to what it was before: then nothing is left to undo.
      if (isSame(step, this.#steps[this.#position])) {
        this.#release(step);
        return true;
      }
    }
    this.#steps.push(step);
    this.#position += 1;
    while (this.#steps.length > this.#most_steps + 1 || (this.#letters > this.#most_letters && this.#steps.length > 2)) {
      this.#release(/** @type {KeptStep} */ (this.#steps.shift()));
      this.#position -= 1;
    }
    return true;
  }

  /** The record `by` steps from here; null where there is none.
   * @param {-1|1} by @returns {{record: StateRecord, text: string, is_whole: boolean}|null} `text` of the step that is taken back or done again;
   * `is_whole`: another study lies on the other side of it */
  seen(by) {
    const step = this.#steps[this.#position + by];
    if (step === undefined) return null;
    const { text, is_whole = false } = by < 0 ? this.#steps[this.#position] : step;
    return { record: this.#record(step), text, is_whole };
  }

  /** Go there. @param {-1|1} by */
  move(by) {
    if (this.#steps[this.#position + by] !== undefined) this.#position += by;
  }

  /** Begin with another study. The one that was open is one step back, unless nothing was in it.
   * @param {StateRecord} record @param {string} text @param {boolean} is_back whether it can be undone */
  replace(record, text, is_back) {
    if (!is_back || this.#position < 0) return this.begin(record);
    const [before] = this.#steps.splice(this.#position, 1);
    for (const step of this.#steps) this.#release(step);
    this.#steps = [{ ...before, text: "", key: null, is_whole: false }, { ...this.#step(record, { text }, 0), is_whole: true }];
    this.#position = 1;
  }

  /** Whether a text, such as the hash of a file, stands in any step. @param {string} text */
  names(text) {
    for (const held of this.#held.values()) if (held.text.includes(text)) return true;
    return false;
  }

  /** All of it, to be kept: small steps, and the texts that they name by number. A number means the same text for good. @returns {KeptHistory} */
  export() {
    return { position: this.#position, steps: [...this.#steps], texts: new Map([...this.#held].map(([number, { text }]) => [number, text])) };
  }

  /** What was kept. Throws where it is damaged; then nothing is changed.
   * @param {KeptHistory} kept */
  import({ position, steps, texts }) {
    const read = new History({ steps: this.#most_steps, letters: this.#most_letters });
    for (const [number, text] of texts) {
      read.#held.set(number, { text, uses: 0, of: partsOf(text) });
      read.#numbers.set(text, number);
      read.#letters += text.length;
      read.#next = Math.max(read.#next, number + 1);
    }
    for (const { of } of read.#held.values()) for (const number of of) read.#use(number);
    for (const step of steps) {
      for (const [, number] of step.parts) read.#use(number);
      read.#record(step);
    }
    if (steps[position] === undefined) throw new Error("the history has no such place");
    [this.#held, this.#numbers, this.#next, this.#letters] = [read.#held, read.#numbers, read.#next, read.#letters];
    [this.#steps, this.#position] = [[...steps], position];
  }

  /** @param {StateRecord} record @param {Cause} cause @param {number} now @returns {KeptStep} */
  #step(record, { text, key = null }, now) {
    const parts = Object.entries(record).map(([name, part]) => /** @type {[string, number]} */ ([name, this.#take(part)]));
    return { text, key, at: now, parts };
  }

  /** @param {unknown} part @returns {number} */
  #take(part) {
    if (typeof part !== "object" || part === null) return this.#hold(JSON.stringify(part), []);
    const of = Object.values(part).map((entry) => this.#hold(JSON.stringify(entry), []));
    const table = Object.keys(part).map((key, at) => [key, of[at]]);
    return this.#hold(Array.isArray(part) ? LIST + JSON.stringify(of) : TABLE + JSON.stringify(table), of);
  }

  /** @param {string} text @param {number[]} of what it names, counted for it already @returns {number} */
  #hold(text, of) {
    const known = this.#numbers.get(text);
    if (known !== undefined) {
      this.#use(known);
      for (const number of of) this.#give_up(number);
      return known;
    }
    const number = this.#next++;
    this.#held.set(number, { text, uses: 1, of });
    this.#numbers.set(text, number);
    this.#letters += text.length;
    return number;
  }

  /** @param {number} number */
  #use(number) {
    this.#of(number).uses += 1;
  }

  /** @param {number} number */
  #give_up(number) {
    const held = this.#of(number);
    held.uses -= 1;
    if (held.uses > 0) return;
    this.#held.delete(number);
    this.#numbers.delete(held.text);
    this.#letters -= held.text.length;
    for (const part of held.of) this.#give_up(part);
  }

  /** @param {KeptStep} step */
  #release(step) {
    for (const [, number] of step.parts) this.#give_up(number);
  }

  /** @param {number} number @returns {Held} */
  #of(number) {
    const held = this.#held.get(number);
    if (held === undefined) throw new Error("the history lacks a text");
    return held;
  }

  /** @param {KeptStep} step @returns {StateRecord} */
  #record({ parts }) {
    return Object.fromEntries(parts.map(([name, number]) => [name, this.#value(this.#of(number).text)]));
  }

  /** @param {string} text @returns {unknown} */
  #value(text) {
    const entry = (/** @type {number} */ number) => JSON.parse(this.#of(number).text);
    if (text.startsWith(LIST)) return partsOf(text).map(entry);
    if (!text.startsWith(TABLE)) return JSON.parse(text);
    const table = /** @type {[string, number][]} */ (JSON.parse(text.slice(1)));
    return Object.fromEntries(table.map(([key, number]) => [key, entry(number)]));
  }
}

/** @param {string} text @returns {number[]} */
function partsOf(text) {
  if (text.startsWith(LIST)) return JSON.parse(text.slice(1));
  return text.startsWith(TABLE) ? JSON.parse(text.slice(1)).map((/** @type {[string, number]} */ [, number]) => number) : [];
}

/** Whether both are the same record: equal texts have the same number. @param {KeptStep} a @param {KeptStep} b */
function isSame(a, b) {
  return a.parts.length === b.parts.length && a.parts.every(([name, number], at) => name === b.parts[at][0] && number === b.parts[at][1]);
}

/** Whether a step goes on with what the one before began. @param {KeptStep} before @param {KeptStep} step @param {Cause} cause */
function isOne(before, step, { within_ms = Infinity }) {
  return step.key !== null && step.key === before.key && step.at - before.at <= within_ms;
}
