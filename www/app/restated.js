// An open session made another state of the study: undo and redo.

import { reopened } from "./kept.js";
import { LOST } from "./lost.js";
import { CANCELLED, problem } from "./protocol.js";

/** @typedef {import("./kept.js").Kept} Kept */
/** @typedef {import("./session.js").Session} Session */
/** @typedef {import("./types.js").Input} Input */
/** @typedef {import("./types.js").PhotoRead} PhotoRead */
/** @typedef {import("./types.js").StateRecord} StateRecord */
/** What is told while files are read again. @typedef {(done: number, total: number, name: string) => void} Telling */

/** Files that are open stay open; those of the other state that are not are read. Where that fails, what was there comes back.
 * @param {Session} session @param {Kept} next @param {(input: Input) => Promise<PhotoRead|null>} decode
 * @param {AbortSignal|undefined} signal @param {Telling} tell @param {number} silence how long the session may be silent over the other state, in ms
 * @returns {Promise<StateRecord>} the record as it is then */
export async function restated(session, next, decode, signal, tell, silence) {
  const before = session.kept;
  // A worker that is lost meanwhile is raised there.
  session.kept = next;
  const { raises } = session;
  let record = /** @type {StateRecord} */ (next.record);
  const ask = async (/** @type {string} */ action, /** @type {unknown[]} */ args, silence = session.silence_ms, /** @type {Transferable[]|undefined} */ transfer = undefined) => {
    const { ok, record: now } = await session.enter(action, args, {}, { silence, transfer });
    record = now ?? record;
    return ok;
  };
  const worker = { ask, decode, reading_silence: (/** @type {Input} */ { file }) => session.reading_silence(file) };
  try {
    const { missing } = /** @type {{missing: string[]}} */ (await ask("restate", [record, next.blobs(before.record)], silence));
    // What was missing before is missed already.
    const needed = missing.filter((sha256) => !next.is_gone(sha256) && (next.file(sha256) !== null || !before.names(sha256)));
    for (const [done, sha256] of needed.entries()) {
      if (signal?.aborted) throw CANCELLED;
      const kept = next.file(sha256);
      if (kept === null) throw problem("file_missing", "A file that this step needs is not at hand any more. Open it again.");
      tell(done, needed.length, kept.input.name);
      const opened = await reopened(kept, worker).catch((thrown) => {
        if (thrown !== LOST) throw thrown; // the worker that was raised has read it
      });
      if (session.raises === raises && opened?.sha256 !== sha256) {
        throw problem("file_changed", `${kept.input.name} is not what it was when it was opened, so that the study stays as it is. Open the file again.`);
      }
    }
    return record;
  } catch (thrown) {
    await session.again(before);
    throw thrown;
  }
}
