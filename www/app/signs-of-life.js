// Whether the worker that is asked still lives: a message is expected in time, and its absence is told.

/** @typedef {{set_timer: (run: () => void, ms: number) => unknown, clear_timer: (timer: any) => void, grace_ms: number}} Clock
 * `grace_ms`: after a sleeping laptop wakes, timers fire before the waiting messages are delivered; these get their turn first. */

export class SignsOfLife {
  #clock;
  #lost;
  /** @type {unknown} */
  #timer = null;
  #allowed_ms = 0;

  /** @param {Clock} clock @param {() => void} lost */
  constructor(clock, lost) {
    this.#clock = clock;
    this.#lost = lost;
  }

  /** Expect a message within `silence` ms, or longer if more was already allowed.
   * @param {number} silence */
  expect(silence) {
    if (this.#timer !== null && silence <= this.#allowed_ms) return;
    this.rest();
    this.#allowed_ms = silence;
    this.#timer = this.#clock.set_timer(() => {
      this.#timer = this.#clock.set_timer(() => this.#lost(), this.#clock.grace_ms);
    }, silence);
  }

  /** Nothing is expected. */
  rest() {
    if (this.#timer !== null) this.#clock.clear_timer(this.#timer);
    this.#timer = null;
    this.#allowed_ms = 0;
  }
}
