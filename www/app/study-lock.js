// One tab at a time writes a kept study: a lock of the browser that ends with its tab, whichever way that ends.

/** `freed` gives the lock when no other tab has it any more. @typedef {{held: true, release: () => void}|{held: false, freed: Promise<{release: () => void}>, stop: () => void}} StudyLock */

/** A page that is loaded again may ask before the browser has ended what it was before. */
const PATIENCE_MS = 1200;

/** @param {string} id */
const nameOf = (id) => `limner study ${id}`;

/** @param {LockManager|undefined} locks none where the browser has none: then only the order of writing guards the study
 * @param {string} id @param {{patience_ms?: number}} [how]
 * @returns {Promise<StudyLock>} */
export async function takeLock(locks, id, { patience_ms = PATIENCE_MS } = {}) {
  if (locks === undefined) return { held: true, release: () => {} };
  const stop = new AbortController();
  const taken = request(locks, id, stop.signal);
  // Refused for good, as in a page without an origin: nobody else can have it either.
  const first = await Promise.race([taken.catch(() => ({ release: () => {} })), new Promise((resolve) => setTimeout(() => resolve(null), patience_ms))]);
  if (first !== null) return { held: true, release: first.release };
  return { held: false, freed: taken, stop: () => stop.abort() };
}

/** @param {LockManager} locks @param {string} id @param {AbortSignal} signal
 * @returns {Promise<{release: () => void}>} */
function request(locks, id, signal) {
  return new Promise((resolve, reject) => {
    locks.request(nameOf(id), { signal }, () => new Promise((release) => resolve({ release: () => release(undefined) }))).catch(reject);
  });
}

/** Whether some tab has it now. @param {LockManager|undefined} locks @param {string} id */
export async function isLocked(locks, id) {
  if (locks === undefined) return false;
  return locks.request(nameOf(id), { ifAvailable: true }, async (lock) => lock === null).catch(() => false);
}
