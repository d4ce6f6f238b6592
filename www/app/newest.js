// One request in flight; of those made meanwhile only the newest is sent. Keeps a slow worker from falling behind the pointer.

/** @template Asked, Got
 * @param {(asked: Asked) => Promise<Got>} run
 * @param {(got: Got, asked: Asked) => void} arrived
 * @param {(thrown: unknown, asked: Asked) => void} failed
 * @returns {{ask: (asked: Asked) => void, forget: () => void}} `forget` drops what is under way and what waits */
export function newestOnly(run, arrived, failed) {
  let busy = false;
  let round = 0;
  /** @type {{asked: Asked} | null} */
  let waiting = null;

  async function work() {
    busy = true;
    while (waiting !== null) {
      const { asked } = waiting;
      waiting = null;
      const mine = round;
      try {
        const got = await run(asked);
        if (mine === round) arrived(got, asked);
      } catch (thrown) {
        if (mine === round) failed(thrown, asked);
      }
    }
    busy = false;
  }

  return {
    ask(asked) {
      waiting = { asked };
      if (!busy) void work();
    },
    forget() {
      waiting = null;
      round += 1;
    },
  };
}
