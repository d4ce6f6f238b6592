// The states that the study went through, for undo and redo. Pure: no worker, no clock.
//
// A step holds a whole record, and what is equal to the record before it is the same object, entry by entry and text by text: it
// costs about as much as what it changed. Records are never changed once they are handed in.

/** @typedef {import("./types.js").StateRecord} StateRecord */
/** @typedef {import("./types.js").History} HistoryWords */
/** @typedef {import("./types.js").KeptHistory} KeptHistory */
/** @typedef {import("./types.js").KeptStep} KeptStep */

/** What led to a step: in words, and what it may be one with: a step after one of the same `key` takes its place, `within_ms` of it
 * where that is given.
 * @typedef {{text: string, key?: string|null, within_ms?: number}} Cause */

const STEPS = 400;
/** Letters of all that the steps hold beside the state that they begin with. Past it the oldest steps are given up. */
const LETTERS = 64e6;
/** Of a number or a name, roughly. */
const SMALL = 8;
const HASH = /^[0-9a-f]{64}$/;

export class History {
  #most_steps;
  #most_letters;
  /** @type {KeptStep[]} */
  #steps = [];
  /** Letters that a step holds and the one before it does not. @type {WeakMap<KeptStep, number>} */
  #costs = new WeakMap();
  #position = -1;

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

  /** The present record; null before there is one. @returns {StateRecord|null} */
  get record() {
    return this.#steps[this.#position]?.record ?? null;
  }

  /** Letters that the steps hold beside the state that they begin with. */
  get letters() {
    return this.#steps.slice(1).reduce((sum, step) => sum + this.#cost(step), 0);
  }

  /** Forget all and begin with this record. @param {StateRecord} record */
  begin(record) {
    this.#steps = [{ text: "", key: null, at: 0, record }];
    this.#position = 0;
  }

  /** Take in the record after a change. One that changed nothing is no step; what was undone can be redone no longer.
   * @param {StateRecord} record @param {Cause} cause @param {number} now in ms
   * @returns {boolean} whether anything is otherwise than before */
  push(record, { text, key = null, within_ms = Infinity }, now) {
    if (this.#position < 0) {
      this.begin(record);
      return true;
    }
    const top = this.#steps[this.#position];
    let { value, cost } = shared(record, top.record);
    if (value === top.record) return false;
    this.#steps.length = this.#position + 1;
    if (this.#position > 0 && key !== null && key === top.key && now - top.at <= within_ms) {
      this.#steps.pop();
      this.#position -= 1;
      const before = this.#steps[this.#position];
      ({ value, cost } = shared(record, before.record));
      // Typed back to what it was before: then nothing is left to undo.
      if (value === before.record) return true;
    }
    const step = { text, key, at: now, record: /** @type {StateRecord} */ (value) };
    this.#costs.set(step, cost);
    this.#steps.push(step);
    this.#position += 1;
    let letters = this.letters;
    while (this.#steps.length > this.#most_steps + 1 || (letters > this.#most_letters && this.#steps.length > 2)) {
      this.#steps.shift();
      letters -= this.#cost(this.#steps[0]);
      this.#position -= 1;
    }
    return true;
  }

  /** The present state is this record: what is said of the same state may differ in what nobody stated, as numbers that are given away.
   * @param {StateRecord} record */
  settle(record) {
    const step = this.#steps[this.#position];
    if (step === undefined) return this.begin(record);
    const settled = { ...step, record: /** @type {StateRecord} */ (shared(record, step.record).value) };
    this.#costs.set(settled, this.#cost(step));
    this.#steps[this.#position] = settled;
  }

  /** Say what led to the present state in other words: those of a whole group.
   * @param {string} text */
  retell(text) {
    if (this.#position < 1) return;
    const step = this.#steps[this.#position];
    const told = { ...step, text };
    this.#costs.set(told, this.#cost(step));
    this.#steps[this.#position] = told;
  }

  /** The record `by` steps from here; null where there is none.
   * @param {-1|1} by @returns {{record: StateRecord, is_whole: boolean}|null} `is_whole`: another study lies there */
  seen(by) {
    const step = this.#steps[this.#position + by];
    if (step === undefined) return null;
    return { record: step.record, is_whole: (by < 0 ? this.#steps[this.#position] : step).is_whole ?? false };
  }

  /** Go there. @param {-1|1} by */
  move(by) {
    if (this.#steps[this.#position + by] !== undefined) this.#position += by;
  }

  /** Begin with another study. The one that was open is one step back where `is_back`.
   * @param {StateRecord} record @param {string} text @param {boolean} is_back */
  replace(record, text, is_back) {
    const before = this.record;
    this.begin(is_back && before !== null ? before : record);
    if (!is_back || before === null) return;
    this.#steps.push({ text, key: null, at: 0, record, is_whole: true });
    this.#position = 1;
  }

  /** Every hash that stands in any step: of files, kept answers and kept pictures.
   * @returns {Set<string>} */
  hashes() {
    /** @type {Set<string>} */
    const found = new Set();
    /** @type {Set<object>} */
    const walked = new Set();
    const walk = (/** @type {unknown} */ value) => {
      if (typeof value === "string" && value.length === 64 && HASH.test(value)) found.add(value);
      if (typeof value !== "object" || value === null || walked.has(value)) return;
      walked.add(value);
      for (const one of Object.values(value)) walk(one);
    };
    for (const { record } of this.#steps) walk(record);
    return found;
  }

  /** What the present step is one with. @returns {string|null} */
  get key() {
    return this.#steps[this.#position]?.key ?? null;
  }

  /** The record before the present one. @returns {StateRecord|null} */
  get before() {
    return this.#steps[this.#position - 1]?.record ?? null;
  }

  /** @param {KeptStep} step */
  #cost(step) {
    return this.#costs.get(step) ?? 0;
  }

  /** All of it, to be kept, as plain data in which equal parts are one object. @returns {KeptHistory} */
  export() {
    return { position: this.#position, steps: [...this.#steps] };
  }

  /** What was kept. Throws where it is damaged; then nothing is changed.
   * @param {KeptHistory} kept */
  restore({ position, steps }) {
    const read = steps.map(({ text, key, at, record, is_whole }, index) => {
      const plain = typeof text === "string" && (key === null || typeof key === "string") && typeof at === "number";
      if (!plain || typeof record !== "object" || record === null) throw new Error(`step ${index} of the history is damaged`);
      const step = { text, key, at, record, ...(is_whole === true ? { is_whole } : {}) };
      this.#costs.set(step, shared(record, index > 0 ? steps[index - 1].record : {}).cost);
      return step;
    });
    if (read[position] === undefined) throw new Error("the history has no such place");
    [this.#steps, this.#position] = [read, position];
  }
}

/** The same value, in which everything that is equal in `before` is that of `before`; `before` itself where all is. `cost`: letters of
 * what is not.
 * @param {unknown} now @param {unknown} before
 * @returns {{value: unknown, cost: number}} */
function shared(now, before) {
  if (now === before) return { value: before, cost: 0 };
  if (typeof now !== "object" || now === null) return { value: now, cost: typeof now === "string" ? now.length : SMALL };
  if (Array.isArray(now)) return sharedList(now, Array.isArray(before) ? before : []);
  const old = /** @type {Record<string, unknown>} */ (typeof before === "object" && before !== null && !Array.isArray(before) ? before : {});
  const parts = Object.entries(now).map(([name, part]) => ({ name, ...shared(part, Object.hasOwn(old, name) ? old[name] : undefined) }));
  const names = Object.keys(old);
  const is_same = typeof before === "object" && before !== null && !Array.isArray(before)
    && names.length === parts.length && parts.every(({ name, value }, at) => name === names[at] && value === old[name]);
  if (is_same) return { value: before, cost: 0 };
  return { value: Object.fromEntries(parts.map(({ name, value }) => [name, value])), cost: parts.reduce((sum, { cost }) => sum + SMALL + cost, 0) };
}

/** What was put in or taken out leaves a beginning and an end that are as before.
 * @param {unknown[]} now @param {unknown[]} before
 * @returns {{value: unknown[], cost: number}} */
function sharedList(now, before) {
  const shift = before.length - now.length;
  const ahead = now.map((one, at) => shared(one, before[at]));
  const from_end = shift === 0 ? ahead : now.map((one, at) => shared(one, before[at + shift]));
  const parts = ahead.map((one, at) => (from_end[at].cost < one.cost ? from_end[at] : one));
  const is_same = shift === 0 && parts.every(({ value }, at) => value === before[at]);
  return is_same ? { value: before, cost: 0 } : { value: parts.map(({ value }) => value), cost: parts.reduce((sum, { cost }) => sum + SMALL + cost, 0) };
}
