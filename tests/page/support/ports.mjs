// Two ends of a port, as page and worker have them: what passes is cloned, and it arrives when the test says, in the order it says.

/** @returns the two ends, what is on its way, and how to let it arrive */
export function portPair() {
  /** On the way: which end it goes to and what it is. */
  const under_way = [];
  const end = () => ({
    onmessage: null,
    other: null,
    postMessage(message, transfer) {
      under_way.push({ to: this.other, data: structuredClone(message, { transfer }) });
    },
  });
  const [page, worker] = [end(), end()];
  page.other = worker;
  worker.other = page;

  function arrive({ to, data }) {
    to.onmessage?.({ data });
  }

  return {
    page,
    worker,
    under_way,
    /** Everything now on its way arrives; `order` may turn it around. */
    async deliver(order = (list) => list) {
      for (const one of order(under_way.splice(0))) arrive(one);
      await settled();
    },
    /** Until nothing is on its way any more. */
    async deliver_all() {
      while (under_way.length > 0) await this.deliver();
    },
  };
}

/** Everything that waits for promises and messages has had its turn; the longest chain here is a session that is brought back. */
export async function settled() {
  for (let turn = 0; turn < 60; turn += 1) await new Promise((resolve) => setImmediate(resolve));
}

/** How a promise ends: `{value}` or `{reason}`. Taken at once, so that a rejection is never left unhandled. */
export function end_of(promise) {
  return promise.then((value) => ({ value }), (reason) => ({ reason }));
}

/** Whether a promise is still open after everything has had its turn. */
export async function still_open(promise) {
  let open = true;
  void end_of(promise).then(() => (open = false));
  await settled();
  return open;
}
