// How large a picture can be asked for while something moves. Pure.

/** A picture that takes longer than this is felt as a jerk. */
const SMOOTH_MS = 40;
/** Shares of the full width, the largest first. */
const SHARES = [1, 1 / 2, 1 / 4];

/** @typedef {{share: () => number, took: (ms: number, share: number) => void}} Pace */

/** Remembers what the last picture cost. `share` is the share of the full width that would have come in time: cost goes with the area.
 * @returns {Pace} */
export function createPace() {
  let full_ms = 0;
  return {
    share: () => SHARES.find((share) => full_ms * share * share <= SMOOTH_MS) ?? /** @type {number} */ (SHARES.at(-1)),
    took(ms, share) {
      full_ms = ms / (share * share);
    },
  };
}
