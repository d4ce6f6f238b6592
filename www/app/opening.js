// Files one after the other, with what the page is told meanwhile and how it is stopped.

import { CANCELLED } from "./protocol.js";

/** @typedef {import("./types.js").CallOptions} CallOptions */
/** @typedef {import("./types.js").Input} Input */
/** @typedef {import("./types.js").Opened} Opened */
/** @typedef {import("./limner.js").LimnerEvent} LimnerEvent */

/** Reads them one after the other; `open_one` gives null where it was stopped.
 * @param {Input[]} inputs @param {CallOptions} options @param {(input: Input, decoding: AbortSignal) => Promise<Opened|null>} open_one
 * @param {(event: LimnerEvent) => void} notify @returns {Promise<Opened>} */
export async function openAll(inputs, { signal, on_progress }, open_one, notify) {
  /** @type {Opened} */
  const all = { maps: [], photos: [], notices: [], asks: [], is_kept: false };
  let stopped = false;
  // What is read by the session is read to its end; a photo that is decoded elsewhere ends at once.
  const decoding = new AbortController();
  const stop = () => {
    stopped = true;
    decoding.abort();
  };
  signal?.addEventListener("abort", stop, { once: true });
  try {
    for (const [done, input] of inputs.entries()) {
      if (signal?.aborted) throw CANCELLED;
      if (stopped) break;
      notify({ type: "reading", done, total: inputs.length, name: input.name, stop });
      on_progress?.({ fraction: done / inputs.length, text: input.name });
      const opened = await open_one(input, decoding.signal);
      if (opened === null) {
        if (signal?.aborted) throw CANCELLED;
        break;
      }
      all.maps.push(...opened.maps);
      all.photos.push(...opened.photos);
      all.notices.push(...opened.notices);
      all.asks.push(...opened.asks);
      all.is_kept ||= opened.is_kept;
      notify({ type: "read", opened });
    }
    on_progress?.({ fraction: 1, text: "" });
  } finally {
    signal?.removeEventListener("abort", stop);
    notify({ type: "reading_over" });
  }
  return all;
}
