// Runs before any script of a page. Keeps what goes wrong, keeps the workers within reach, and puts a listener into each worker
// that does what no part of the program would: reach an address from in there, or spoil the memory of the core.

globalThis.e2e = {
  violations: [],
  errors: [],
  workers: [],
  /** The settings of every picture that was asked for, in the order of asking. */
  asked_pictures: [],
  /** Pictures that the page handed over as files. */
  saved: [],
  /** The worker that now holds the session: the newest that was asked for more than one long computation. */
  session: () => e2e.workers.findLast((worker) => [...worker.e2e_actions].some((action) => !["load", "run", "derive", "read_photo", "find_alignment", "report", "reproduce", "leave_out"].includes(action))),
  /** Sends a message to a worker's listener and gives its reply. */
  tell: (worker, message) =>
    new Promise((resolve) => {
      const { port1, port2 } = new MessageChannel();
      port1.onmessage = (event) => resolve(event.data);
      worker.postMessage({ e2e: message, port: port2 }, [port2]);
    }),
  /** Files as `limner.open` takes them. */
  files: (list) => list.map(({ name, base64 }) => ({ name, bytes: Uint8Array.fromBase64(base64) })),
  /** A hash of what a canvas shows. */
  look: (canvas) => {
    const copy = Object.assign(document.createElement("canvas"), { width: canvas.width, height: canvas.height });
    const pen = copy.getContext("2d", { willReadFrequently: true });
    pen.drawImage(canvas, 0, 0);
    const { data } = pen.getImageData(0, 0, canvas.width, canvas.height);
    return String(new Uint32Array(data.buffer).reduce((sum, one) => (Math.imul(sum, 31) + one) | 0, 7));
  },
  /** The canvases of the views that are seen, in their order. */
  views: () => [...document.querySelectorAll(".view-canvas")].filter((one) => one.checkVisibility()),
  /** Every small picture in sight on the sheet is drawn; those below or above are drawn when they come into sight. */
  sheet_is_drawn: () => {
    const { top, bottom } = document.querySelector(".sheet").getBoundingClientRect();
    return [...document.querySelectorAll(".sheet-canvas")].every((one) => {
      const box = one.getBoundingClientRect();
      return one.dataset.state === "drawn" || box.bottom < top || box.top > bottom;
    });
  },
  /** An NPY file (format 1.0 of its specification, version 1.0 header) of a two-dimensional array, little-endian. */
  npy: (name, width, height, data) => {
    const code = { Uint8Array: "|u1", Uint16Array: "<u2", Float32Array: "<f4", Float64Array: "<f8" }[data.constructor.name];
    const words = `{'descr': '${code}', 'fortran_order': False, 'shape': (${height}, ${width}), }`;
    const text = `${words.padEnd(117, " ")}\n`;
    const head = new Uint8Array([0x93, 78, 85, 77, 80, 89, 1, 0, text.length, 0, ...new TextEncoder().encode(text)]);
    return new File([head, data], name);
  },
};

{
  const hand_over = URL.createObjectURL.bind(URL);
  URL.createObjectURL = (blob) => {
    if (blob.type === "image/png") e2e.saved.push(blob);
    return hand_over(blob);
  };
}

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
    if (message?.action === "picture") e2e.asked_pictures.push(message.args[0]);
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
    } else if (wish.measure) {
      event.data.port.postMessage(memory ? memory.buffer.byteLength : null);
    }
  });
}

const AnyBlob = Blob;
globalThis.Blob = class extends Blob {
  /** Files are of it too, as they are elsewhere. */
  static [Symbol.hasInstance](one) {
    return one instanceof AnyBlob;
  }
  constructor(parts, options) {
    super(options?.type === "text/javascript" ? [`(${listener})();\n`, ...parts] : parts, options);
  }
};
