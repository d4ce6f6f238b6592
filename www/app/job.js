// One long computation in a worker of its own, so that it can be stopped at any time and cannot hurt the session.

import { isFatal, stopped } from "./lost.js";
import { Caller } from "./messenger.js";
import { CANCELLED, JOB_ACTIONS, asProblem } from "./protocol.js";

/** @typedef {import("./messenger.js").Port} Port */
/** @typedef {import("./types.js").CallOptions} CallOptions */
/** @typedef {Port & {terminate: () => void, onerror: ((event: any) => any) | null}} WorkerLike */
/** @typedef {{make_worker: () => WorkerLike, get_module: () => Promise<unknown>}} WorkerParts */

/** @param {WorkerParts} parts
 * @param {string} action
 * @param {unknown[]} args
 * @param {CallOptions} options
 * @returns {Promise<unknown>} */
export async function runJob({ make_worker, get_module }, action, args, { signal, on_progress }) {
  if (signal?.aborted) throw CANCELLED;
  const module = await get_module();
  const worker = make_worker();
  const caller = new Caller(worker, JOB_ACTIONS);
  worker.onerror = (event) => {
    event.preventDefault?.();
    caller.close(stopped(String(event.message ?? "")));
  };
  try {
    await caller.call("load", [module], { signal });
    return (await caller.call(action, args, { signal, on_progress })).ok;
  } catch (thrown) {
    if (isFatal(thrown)) throw stopped(thrown.message);
    throw asProblem(thrown);
  } finally {
    // Terminating is also what cancels: nothing else can stop a running computation.
    worker.terminate();
  }
}
