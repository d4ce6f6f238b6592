// Plain data as small texts, each under the hash of itself: of something that changed in one place only few of them are new. Pure.
//
//   a text is    {"o": [[name, part], ...]}   {"a": [part, ...]}   {"c": [list, ...]}, one after the other   {"s": text}
//   a part is    {"v": value}, as it is       {"r": hash}, the text of that hash
//
// What is read back is untrusted: a text that has not its hash, or is of no such shape, is not believed.

import { sha256OfText } from "./sha256.js";

/** @typedef {{v: unknown, r?: undefined}|{r: string, v?: undefined}} Part */
/** `text` is let go once it is stored. @typedef {{text: string|null, refs: string[]}} Leaf */

/** What is shorter as JSON stands within the text that it belongs to. */
const ALONE = 512;
/** A longer list is kept in runs. A run ends at an entry that its own text singles out, so that what is added or taken away at either end of
 * the list leaves the other runs as they were. */
const LONG = 32;
const RUN_ENDS = 16;
const LONGEST_RUN = 128;
/** Deeper than any record: what is read back may be made up. */
const DEEPEST = 60;
/** Longer than this, with what is there twice counted twice, no state of a study is. */
const LARGEST = 1 << 30;

/** What was kept is not as it was written. */
export class Damaged extends Error {}

export class KeptTree {
  /** Objects that were seen before: whatever is handed in is never changed afterwards. @type {WeakMap<object, Part>} */
  #seen = new WeakMap();
  /** The same for long texts. @type {Map<string, Part>} */
  #texts = new Map();
  /** @type {Map<string, Leaf>} */
  #leaves = new Map();

  /** @param {unknown} value plain data
   * @returns {Part} */
  pack(value) {
    if (typeof value === "string") return value.length > ALONE ? this.#pack_text(value) : { v: value };
    if (typeof value !== "object" || value === null) return { v: value ?? null };
    const before = this.#seen.get(value);
    if (before !== undefined && (before.r === undefined || this.#leaves.has(before.r))) return before;
    const part = this.#pack_whole(value);
    this.#seen.set(value, part);
    return part;
  }

  /** @param {string} value
   * @returns {Part} */
  #pack_text(value) {
    const before = this.#texts.get(value);
    if (before?.r !== undefined && this.#leaves.has(before.r)) return before;
    const part = this.#leaf(JSON.stringify({ s: value }), []);
    this.#texts.set(value, part);
    return part;
  }

  /** @param {object} value
   * @returns {Part} */
  #pack_whole(value) {
    const is_list = Array.isArray(value);
    const names = is_list ? [] : Object.keys(value).filter((name) => /** @type {Record<string, unknown>} */ (value)[name] !== undefined);
    const parts = is_list ? value.map((one) => this.pack(one)) : names.map((name) => this.pack(/** @type {Record<string, unknown>} */ (value)[name]));
    if (is_list) return parts.length > LONG ? this.#pack_runs(parts) : this.#pack_list(parts);
    const refs = refsOf(parts);
    const plain = refs.length > 0 ? "" : JSON.stringify(value);
    if (plain !== "" && plain.length <= ALONE) return { v: JSON.parse(plain) };
    return this.#leaf(JSON.stringify({ o: parts.map((part, index) => [names[index], part]) }), refs);
  }

  /** @param {Part[]} parts
   * @returns {Part} */
  #pack_list(parts) {
    const refs = refsOf(parts);
    const values = refs.length > 0 ? [] : parts.map(({ v }) => v);
    if (refs.length === 0 && JSON.stringify(values).length <= ALONE) return { v: values };
    return this.#leaf(JSON.stringify({ a: parts }), refs);
  }

  /** @param {Part[]} parts
   * @returns {Part} */
  #pack_runs(parts) {
    /** @type {Part[]} */
    const runs = [];
    /** @type {Part[]} */
    let run = [];
    for (const part of parts) {
      run.push(part);
      if (run.length < LONGEST_RUN && !endsRun(JSON.stringify(part))) continue;
      runs.push(this.#pack_list(run));
      run = [];
    }
    if (run.length > 0) runs.push(this.#pack_list(run));
    return this.#leaf(JSON.stringify({ c: runs }), refsOf(runs));
  }

  /** @param {string} text @param {string[]} refs
   * @returns {Part} */
  #leaf(text, refs) {
    const hash = sha256OfText(text);
    if (!this.#leaves.has(hash)) this.#leaves.set(hash, { text, refs: [...new Set(refs)] });
    return { r: hash };
  }

  /** The texts that are not stored yet and are needed for a part; where one is stored, all below it are.
   * @param {Part[]} parts
   * @returns {Map<string, string>} */
  unstored(parts) {
    /** @type {Map<string, string>} */
    const found = new Map();
    this.#walk(parts, (hash, { text }) => {
      if (text === null || found.has(hash)) return false;
      found.set(hash, text);
      return true;
    });
    return found;
  }

  /** @param {Iterable<string>} hashes of texts that are on the disk now */
  stored(hashes) {
    for (const hash of hashes) {
      const leaf = this.#leaves.get(hash);
      if (leaf) leaf.text = null;
    }
  }

  /** Every text that these parts need.
   * @param {Part[]} parts
   * @returns {Set<string>} */
  needed(parts) {
    /** @type {Set<string>} */
    const found = new Set();
    this.#walk(parts, (hash) => !found.has(hash) && Boolean(found.add(hash)));
    return found;
  }

  /** Only these are still known. @param {Set<string>} hashes */
  retain(hashes) {
    for (const hash of [...this.#leaves.keys()]) if (!hashes.has(hash)) this.#leaves.delete(hash);
    for (const [text, { r }] of [...this.#texts]) if (r !== undefined && !hashes.has(r)) this.#texts.delete(text);
  }

  /** @param {Part[]} parts @param {(hash: string, leaf: Leaf) => boolean} visit whether to go on below it */
  #walk(parts, visit) {
    const open = refsOf(parts);
    for (let hash = open.pop(); hash !== undefined; hash = open.pop()) {
      const leaf = this.#leaves.get(hash);
      if (leaf === undefined) throw new Error(`the text ${hash} is not known`);
      if (visit(hash, leaf)) open.push(...leaf.refs);
    }
  }

  /** The plain data of parts that were read back. What is there twice becomes one object, and is not written again.
   * @param {unknown[]} parts @param {(hash: string) => unknown} text_of
   * @returns {unknown[]} throws `Damaged` where anything is missing or otherwise than it was written */
  unpack(parts, text_of) {
    /** @type {Map<string, {value: unknown, size: number, depth: number}>} */
    const read = new Map();
    /** @type {Map<string, Leaf>} */
    const leaves = new Map();
    const one = (/** @type {unknown} */ part, /** @type {number} */ depth) => {
      if (depth > DEEPEST) throw new Damaged("too deep");
      const { v, r } = /** @type {{v?: unknown, r?: unknown}} */ (asObject(part));
      if (r === undefined) return { value: v ?? null, size: 8, depth: 0, ref: null };
      if (typeof r !== "string") throw new Damaged("no hash");
      const known = read.get(r);
      if (known !== undefined) {
        if (depth + known.depth > DEEPEST) throw new Damaged("too deep");
        return { ...known, ref: r };
      }
      const text = text_of(r);
      if (typeof text !== "string") throw new Damaged("a part is missing");
      if (sha256OfText(text) !== r) throw new Damaged("a part was changed");
      const whole = below(text, depth, r);
      read.set(r, whole);
      return { ...whole, ref: r };
    };
    const below = (/** @type {string} */ text, /** @type {number} */ depth, /** @type {string} */ hash) => {
      const { o, a, c, s } = /** @type {{o?: unknown, a?: unknown, c?: unknown, s?: unknown}} */ (asObject(parsed(text)));
      let size = text.length;
      let deepest = 0;
      /** @type {string[]} */
      const refs = [];
      const take = (/** @type {unknown} */ part) => {
        const { value, size: more, depth: under, ref } = one(part, depth + 1);
        size += more;
        deepest = Math.max(deepest, under + 1);
        if (size > LARGEST) throw new Damaged("too large");
        if (ref !== null) refs.push(ref);
        return value;
      };
      /** @type {unknown} */
      let value;
      if (typeof s === "string") value = s;
      else if (Array.isArray(a)) value = a.map(take);
      else if (Array.isArray(c)) value = c.flatMap((part) => {
        const run = take(part);
        if (!Array.isArray(run)) throw new Damaged("no list");
        return run;
      });
      else if (Array.isArray(o)) value = Object.fromEntries(o.map((pair) => {
        if (!Array.isArray(pair) || typeof pair[0] !== "string") throw new Damaged("no name");
        return [pair[0], take(pair[1])];
      }));
      else throw new Damaged("no such shape");
      if (typeof value === "string") this.#texts.set(value, { r: hash });
      else this.#seen.set(/** @type {object} */ (value), { r: hash });
      leaves.set(hash, { text: null, refs: [...new Set(refs)] });
      return { value, size, depth: deepest };
    };
    const values = parts.map((part) => one(part, 0).value);
    for (const [hash, leaf] of leaves) this.#leaves.set(hash, leaf);
    return values;
  }
}

/** @param {Part[]} parts */
function refsOf(parts) {
  return parts.flatMap(({ r }) => (r === undefined ? [] : [r]));
}

/** @param {string} text */
function endsRun(text) {
  let sum = 0;
  for (let at = 0; at < text.length; at += 1) sum = (sum * 31 + text.charCodeAt(at)) | 0;
  // The low bits of such a sum alone would follow the last letters.
  return ((sum ^ (sum >>> 15)) >>> 3) % RUN_ENDS === 0;
}

/** @param {unknown} value */
function asObject(value) {
  if (typeof value !== "object" || value === null) throw new Damaged("no object");
  return value;
}

/** @param {string} text
 * @returns {unknown} */
function parsed(text) {
  try {
    return JSON.parse(text);
  } catch (thrown) {
    throw new Damaged(String(thrown));
  }
}
