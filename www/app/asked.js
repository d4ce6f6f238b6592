// Files that can be read in several ways: those with the same question and the same ways are asked about once. Pure.

/** @typedef {import("./types.js").AskToRead} AskToRead */
/** @typedef {{key: string, question: string, ways: AskToRead["ways"], asks: AskToRead[]}} AskGroup */

/** A file that is asked about again is asked about once.
 * @param {AskToRead[]} asks @param {AskToRead[]} more
 * @returns {AskToRead[]} */
export function withAsks(asks, more) {
  const again = new Set(more.map(({ sha256 }) => sha256));
  return [...asks.filter(({ sha256 }) => !again.has(sha256)), ...more];
}

/** @param {AskToRead[]} asks
 * @returns {AskGroup[]} in the order in which they came; the samples are those of the first file */
export function groupedAsks(asks) {
  /** @type {Map<string, AskToRead[]>} */
  const groups = new Map();
  for (const ask of asks) {
    const key = JSON.stringify([ask.question, ask.ways.map((way) => [way.key, way.text])]);
    groups.set(key, [...(groups.get(key) ?? []), ask]);
  }
  return [...groups].map(([key, asks]) => {
    const { question, ways } = /** @type {AskToRead} */ (asks[0]);
    return { key, question, ways, asks };
  });
}
