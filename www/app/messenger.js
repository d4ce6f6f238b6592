// Numbered messages over any port: who asked what, what is still open, and abort. Knows neither workers nor the core.

import { CANCELLED, asProblem } from "./protocol.js";

/** @typedef {import("./protocol.js").Request} Request */
/** @typedef {import("./protocol.js").Reply} Reply */
/** @typedef {import("./protocol.js").Gave} Gave */
/** @typedef {import("./types.js").Progress} Progress */

/** The part of a Worker, MessagePort or worker scope that is needed.
 * @typedef {{postMessage: (message: any, transfer: Transferable[]) => void, onmessage: ((event: MessageEvent) => any) | null}} Port */

/** @typedef {{signal?: AbortSignal, on_progress?: (progress: Progress) => void, on_started?: () => void,
 *   transfer?: Transferable[]}} SendOptions */
/** @typedef {{resolve: (gave: Gave) => void, reject: (reason: unknown) => void,
 *   on_progress?: (progress: Progress) => void, on_started?: () => void, forget: () => void}} Waiting */

/** The asking side. */
export class Caller {
  #port;
  #actions;
  #heard;
  #next = 1;
  #closed = false;
  /** @type {Map<number, Waiting>} */
  #waiting = new Map();

  /** @param {Port} port
   * @param {readonly string[]} actions the only actions that may be asked
   * @param {() => void} [heard] told of every message, before it is handled: a sign of life */
  constructor(port, actions, heard = () => {}) {
    this.#port = port;
    this.#actions = new Set(actions);
    this.#heard = heard;
    port.onmessage = (event) => this.#receive(/** @type {Reply} */ (event.data));
  }

  /** How many calls are open. */
  get pending() {
    return this.#waiting.size;
  }

  /** Whether nothing more can be asked. */
  get is_closed() {
    return this.#closed;
  }

  /** Ask. Throws at once for an unknown action, which is a fault of the page and not of the data.
   * @param {string} action
   * @param {unknown[]} args
   * @param {SendOptions} [options]
   * @returns {Promise<Gave>} */
  call(action, args, { signal, on_progress, on_started, transfer = [] } = {}) {
    if (!this.#actions.has(action)) throw new Error(`unknown action: ${action}`);
    if (this.#closed) throw new Error(`${action} asked of a closed port`);
    return new Promise((resolve, reject) => {
      if (signal?.aborted) return reject(CANCELLED);
      const id = this.#next++;
      // The other side cannot be stopped in the middle of a synchronous computation, so abort means: stop waiting, drop the reply.
      const abort = () => {
        this.#waiting.delete(id);
        reject(CANCELLED);
      };
      signal?.addEventListener("abort", abort, { once: true });
      this.#waiting.set(id, { resolve, reject, on_progress, on_started, forget: () => signal?.removeEventListener("abort", abort) });
      try {
        this.#port.postMessage({ id, action, args }, transfer);
      } catch (thrown) {
        // An argument that cannot be cloned never left; nobody will reply to it.
        this.#waiting.delete(id);
        signal?.removeEventListener("abort", abort);
        reject(asProblem(thrown));
      }
    });
  }

  /** Stop listening. Every open call fails with `reason`.
   * @param {unknown} reason */
  close(reason) {
    this.#closed = true;
    this.#port.onmessage = null;
    const open = [...this.#waiting.values()];
    this.#waiting.clear();
    for (const call of open) {
      call.forget();
      call.reject(reason);
    }
  }

  /** @param {Reply} reply */
  #receive(reply) {
    this.#heard();
    const call = this.#waiting.get(reply.id);
    if (!call) return; // the reply to an aborted call
    if ("started" in reply) return call.on_started?.();
    if ("progress" in reply) return call.on_progress?.(reply.progress);
    this.#waiting.delete(reply.id);
    call.forget();
    if ("error" in reply) return call.reject(reply.error);
    const { id: _, ...gave } = reply;
    call.resolve(gave);
  }
}

/** What a handler gives back.
 * @typedef {Gave & {transfer?: Transferable[]}} Handled */
/** @typedef {(args: any[], progress: (fraction: number, text: string) => void) => Handled | Promise<Handled>} Handler */

/** The answering side. */
export class Desk {
  #port;
  #actions;
  #fatal;
  /** @type {Map<string, Handler>} */
  #handlers = new Map();

  /** @param {Port} port
   * @param {readonly string[]} actions every action that needs a handler
   * @param {(thrown: unknown) => boolean} [fatal] whether what a handler threw means that this side is finished */
  constructor(port, actions, fatal = () => false) {
    this.#port = port;
    this.#actions = new Set(actions);
    this.#fatal = fatal;
  }

  /** Register the handler of one action. Throws for an unknown action and for a second handler.
   * @param {string} action
   * @param {Handler} handler */
  on(action, handler) {
    if (!this.#actions.has(action)) throw new Error(`unknown action: ${action}`);
    if (this.#handlers.has(action)) throw new Error(`registered twice: ${action}`);
    this.#handlers.set(action, handler);
  }

  /** Begin to answer. Throws if an action has no handler, so that a missing one is seen at the start and not in use. */
  start() {
    const missing = [...this.#actions].filter((action) => !this.#handlers.has(action));
    if (missing.length > 0) throw new Error(`no handler for: ${missing.join(", ")}`);
    this.#port.onmessage = (event) => {
      void this.#answer(/** @type {Request} */ (event.data));
    };
  }

  /** @param {Request} request */
  async #answer({ id, action, args }) {
    this.#port.postMessage({ id, started: true }, []);
    try {
      const handler = this.#handlers.get(action);
      if (!handler) throw new Error(`unknown action: ${action}`);
      const progress = (/** @type {number} */ fraction, /** @type {string} */ text) =>
        this.#port.postMessage({ id, progress: { fraction, text } }, []);
      const { transfer = [], ...gave } = await handler(args, progress);
      this.#port.postMessage({ id, ...gave }, transfer);
    } catch (thrown) {
      this.#port.postMessage({ id, error: { ...asProblem(thrown), fatal: this.#fatal(thrown) } }, []);
    }
  }
}
