// What is said and known of a worker that was lost.

import { asProblem, problem } from "./protocol.js";

/** @typedef {import("./types.js").Problem} Problem */

/** @param {string} detail */
export function stopped(detail) {
  return problem("core_stopped", "This computation stopped unexpectedly and was given up. Everything that was open is still open.", detail);
}

/** @param {unknown} thrown
 * @returns {thrown is Problem & {fatal: true}} */
export function isFatal(thrown) {
  return typeof thrown === "object" && thrown !== null && "fatal" in thrown && thrown.fatal === true;
}

/** Calls of a worker that is given up fail with this. */
export const LOST = Object.freeze({ lost: true });

/** Whether a failure while a session is brought back ends this try; any other costs only the one thing that failed.
 * @param {unknown} thrown */
export function endsTheTry(thrown) {
  return isFatal(thrown) || thrown === LOST || asProblem(thrown).code === "core_stopped";
}
