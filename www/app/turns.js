// What is called in which turn: openings one after the other, and what must wait for them.

/** @typedef {import("./core-client.js").CoreClient} CoreClient */
/** @typedef {import("./limner.js").LimnerEvent} LimnerEvent */
/** @typedef {import("./types.js").CallOptions} CallOptions */

export class Turns {
  /** The last opening, so that the next one starts after it. @type {Promise<unknown>} */
  #opening = Promise.resolve();
  #openings = 0;

  /** @param {CoreClient} client @param {(event: LimnerEvent) => void} notify what the page is told, whoever made the call */
  constructor(client, notify) {
    this.client = client;
    this.notify = notify;
  }

  /** Ends when everything that was to be opened until now is read. */
  get opening() {
    return this.#opening;
  }

  /** Read what is given once earlier openings are through. Calls that come after wait for it from now on.
   * @template Got
   * @param {() => Promise<Got>} read @returns {Promise<Got>} */
  in_turn(read) {
    const mine = this.#opening.then(read);
    this.#openings += 1;
    this.#opening = mine.catch(() => undefined).finally(() => {
      this.#openings -= 1;
    });
    return mine;
  }

  /** Do it once all files are read. @param {string} action @param {unknown[]} args @param {CallOptions} [options] @param {number} [silence]
   * @returns {Promise<any>} */
  async once_read(action, args, options, silence) {
    await this.#opening;
    return this.client.call(action, args, options, silence);
  }

  /** Do it now; if that fails while files are still being read, do it again when they are: what it names may be in one of them.
   * @param {string} action @param {unknown[]} args @param {CallOptions} [options] @param {number} [silence]
   * @returns {Promise<any>} */
  async as_soon_as_possible(action, args, options, silence) {
    const reading = this.#openings > 0 ? this.#opening : null;
    try {
      return await this.client.call(action, args, options, silence);
    } catch (thrown) {
      if (reading === null || options?.signal?.aborted) throw thrown;
      await reading;
      return this.client.call(action, args, options, silence);
    }
  }

  /** Do it as soon as possible, and say what has changed. @param {Exclude<LimnerEvent["type"], "read">} type @param {string} action
   * @param {unknown[]} args @param {CallOptions} [options] @param {number} [silence] @returns {Promise<any>} */
  async changing(type, action, args, options, silence) {
    const made = await this.as_soon_as_possible(action, args, options, silence);
    this.notify(/** @type {LimnerEvent} */ ({ type }));
    return made;
  }
}
