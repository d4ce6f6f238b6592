// Runs before any script of a page. Keeps what goes wrong, keeps the workers within reach, and puts a listener into each worker
// that does what no part of the program would: reach an address from in there, or spoil the memory of the core.

globalThis.e2e = {
  violations: [],
  errors: [],
  workers: [],
  /** The worker that now holds the session: the newest that was asked for more than one long question. */
  session: () => e2e.workers.findLast((worker) => [...worker.e2e_actions].some((action) => action !== "load" && action !== "run")),
  /** Sends a message to a worker's listener and gives its reply. */
  tell: (worker, message) =>
    new Promise((resolve) => {
      const { port1, port2 } = new MessageChannel();
      port1.onmessage = (event) => resolve(event.data);
      worker.postMessage({ e2e: message, port: port2 }, [port2]);
    }),
  /** Files as `limner.open` takes them. */
  files: (list) => list.map(({ name, base64 }) => ({ name, bytes: Uint8Array.fromBase64(base64) })),
};

addEventListener("securitypolicyviolation", (e) => e2e.violations.push(`${e.effectiveDirective} ${e.blockedURI}`));
addEventListener("error", (e) => {
  if (e.message) e2e.errors.push(String(e.message));
});
addEventListener("unhandledrejection", (e) => e2e.errors.push(`unhandled: ${JSON.stringify(e.reason)} ${String(e.reason)}`));

globalThis.Worker = class extends Worker {
  constructor(...parts) {
    super(...parts);
    this.e2e_actions = new Set();
    e2e.workers.push(this);
  }
  postMessage(message, transfer) {
    if (message?.action) this.e2e_actions.add(message.action);
    super.postMessage(message, transfer);
  }
};

function listener() {
  let memory = null;
  const Original = WebAssembly.Instance;
  WebAssembly.Instance = function (module, imports) {
    const instance = new Original(module, imports);
    memory = instance.exports.memory;
    return instance;
  };
  addEventListener("message", async (event) => {
    const wish = event.data?.e2e;
    if (!wish) return;
    event.stopImmediatePropagation();
    if (wish.reach) {
      const end = await fetch(wish.reach, { mode: "no-cors" }).then(() => "answered", () => "refused");
      event.data.port.postMessage(end);
    } else if (wish.spoil) {
      // Every address that the core holds now points far outside its memory, so its next call traps.
      if (memory) new Uint8Array(memory.buffer).fill(0x7f);
      event.data.port.postMessage(memory ? "spoiled" : "there is no memory to spoil");
    }
  });
}

globalThis.Blob = class extends Blob {
  constructor(parts, options) {
    super(options?.type === "text/javascript" ? [`(${listener})();\n`, ...parts] : parts, options);
  }
};
