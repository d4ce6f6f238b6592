// Starts the page: wires core, state and components together, and nothing else.

import { find } from "./app/dom.js";
import { unpacked } from "./app/base64.js";
import { begin, beginningOf, isNewLink } from "./app/beginning.js";
import { demoFiles } from "./app/demo.js";
import { acceptChoice, acceptDrops } from "./app/files.js";
import { ofFolder } from "./app/folders.js";
import { CoreClient } from "./app/core-client.js";
import { Limner } from "./app/limner.js";
import { Controller } from "./app/controller.js";
import { asProblem } from "./app/protocol.js";
import { createTopBar } from "./app/components/top-bar.js";
import { createCopyNote } from "./app/components/copy-note.js";
import { createAsks } from "./app/components/asks.js";
import { createNamingTable } from "./app/components/naming-table.js";
import { createNotices } from "./app/components/notices.js";
import { createEmpty } from "./app/components/empty.js";
import { createSheet } from "./app/components/sheet.js";
import { createView } from "./app/components/view.js";
import { createAligning } from "./app/components/aligning/workspace.js";
import { createAsk } from "./app/components/ask.js";
import { createColumnSwitch } from "./app/components/column-switch.js";
import { createFindings } from "./app/components/findings/findings.js";
import { createStudyWaits } from "./app/components/findings/study-waits.js";
import { createKeepingStrip, createKeptStudies } from "./app/components/keeping.js";
import { STUDY } from "./app/keeping-control.js";
import { keepingWorld } from "./app/keeping-world.js";
import { createKeys } from "./app/keys.js";

/** @typedef {import("./app/state.js").State} State */

const held = (/** @type {string} */ id) => document.getElementById(id)?.textContent ?? "";

/** The worker starts from a blob, so that it inherits the page's policy against connections. The one place where a script's
 * address is made, and so the one policy of Trusted Types. */
function workerAddress() {
  const address = URL.createObjectURL(new Blob([held("worker-source")], { type: "text/javascript" }));
  const types = /** @type {{trustedTypes?: {createPolicy: (name: string, rules: object) => {createScriptURL: (url: string) => any}}}} */ (
    /** @type {unknown} */ (globalThis)
  ).trustedTypes;
  if (!types) return address;
  return types.createPolicy("limner-worker", {
    createScriptURL: (/** @type {string} */ url) => {
      if (url !== address) throw new Error("only the page's own worker");
      return url;
    },
  }).createScriptURL(address);
}

/** Compiled once and kept: a new worker then starts in a few milliseconds. @type {Promise<WebAssembly.Module> | null} */
let compiled = null;
const getModule = () => (compiled ??= unpacked(held("wasm-base64")).then((bytes) => WebAssembly.compile(bytes)));

function start() {
  const root = document.documentElement;
  const input = find(document, "#file-input", HTMLInputElement);
  const folder_input = find(document, "#folder-input", HTMLInputElement);
  const address = workerAddress();
  const client = new CoreClient({
    make_worker: () => new Worker(address),
    get_module: getModule,
    notify: (event) => controller.client_event(event),
  });
  const limner = new Limner(client, () => demoFiles(held("demo-base64")), (event) => {
    controller.limner_event(event);
    if (event.type === "study_changed") left_out();
  });
  const world = keepingWorld();
  const controller = new Controller(client, limner, (state) => draw(state), world);
  const { send } = controller;
  const services = {
    picture: (/** @type {import("./app/types.js").PictureSettings} */ settings) => client.call("picture", [settings]),
    read_out: (/** @type {number} */ x, /** @type {number} */ y, /** @type {{answer?: string, show?: string, map?: string}} */ of) => client.call("read_out", [x, y, of]),
    histogram: (/** @type {string} */ id, /** @type {{scale: import("./app/types.js").ToneScale, bins: number}} */ how) => client.call("histogram", [id, how]),
    colours: () => client.call("colours"),
    lights: (/** @type {string[]} */ ids) => client.call("lights", [ids]),
    region: (/** @type {string} */ id) => client.call("region", [id]),
    preview_region: (/** @type {import("./app/types.js").RegionSettings} */ settings) => client.call("preview_region", [settings]),
    finding_picture: (/** @type {string} */ id) => limner.finding(id).then(({ picture }) => picture),
    save_picture: (/** @type {import("./app/types.js").PictureFile} */ settings) => limner.export("picture", settings),
  };
  const choose = { files: () => input.click(), folder: () => folder_input.click() };
  const has_example = held("demo-base64").trim() !== "";
  const skips = [
    { text: "To the picture", go: () => [.../** @type {NodeListOf<HTMLElement>} */ (document.querySelectorAll(".view-canvas"))].find((one) => one.checkVisibility())?.focus() },
    { text: "To the questions", go: () => {
      send({ type: "choose_column", column: "ask" });
      find(document, ".ask-question[aria-pressed=true]", HTMLElement).focus();
    } },
    { text: "To the findings", go: () => {
      send({ type: "choose_column", column: "findings" });
      (/** @type {HTMLElement|null} */ (document.querySelector(".finding-title")) ?? find(document, "[data-column=findings]", HTMLElement)).focus();
    } },
  ];
  const beginning = beginningOf(document, location.hash);
  if (isNewLink(beginning, world.tab)) world.tab.remove(STUDY);
  // A study with something left out says so wherever it is opened.
  const left_out = () => void limner.record().then((record) => copy_note.show(/** @type {string[]} */ (record.left_out ?? [])), (thrown) => console.error(thrown));
  const view = createView(find(document, ".view", HTMLElement), send, services);
  const ask = createAsk(find(document, ".ask", HTMLElement), send, view.seen);
  const components = [
    createTopBar(find(document, ".top-bar", HTMLElement), send, choose, skips),
    createKeepingStrip(find(document, ".keeping", HTMLElement), send),
    createAsks(find(document, ".asks", HTMLElement), send),
    createStudyWaits(find(document, ".waits", HTMLElement), send),
    createNotices(find(document, ".notices", HTMLElement), send),
    createEmpty(find(document, ".empty", HTMLElement), send, choose, has_example),
    createKeptStudies(find(document, ".empty", HTMLElement), send),
    createSheet(find(document, ".sheet", HTMLElement), send, services),
    createNamingTable(find(document, ".naming", HTMLElement), send, services),
    view,
    createAligning(find(document, ".aligning", HTMLElement), send, services),
    createColumnSwitch(find(document, ".beside-head", HTMLElement), send),
    ask,
    createFindings(find(document, ".findings", HTMLElement), send, services),
  ];

  function draw(/** @type {State} */ state) {
    root.dataset.state = state.phase;
    root.dataset.stack = state.maps.length + state.photos.length > 0 ? "open" : state.findings.length > 0 ? "findings" : "empty";
    root.dataset.sheet = state.aligning !== null ? "aligning" : state.naming === null ? "" : "naming";
    for (const component of components) component.update(state);
  }

  const copy_note = createCopyNote(find(document, ".top-bar", HTMLElement), beginning.is_copy);
  draw(controller.state);
  createKeys(document, send, () => (controller.state.column === "ask" && controller.state.answer !== null ? ask.keep() : view.keep()));
  acceptChoice(input, (files) => send({ type: "add_files", files }));
  acceptChoice(folder_input, (files) => send({ type: "add_files", files: ofFolder(files) }));
  acceptDrops(document, (files, entries) => send(entries.length > 0 ? { type: "walk_folders", entries } : { type: "add_files", files }), (over) => {
    root.dataset.drag = over ? "over" : "";
  });
  // The scripting calls wait until the core answers, so the object is there from the first moment.
  Object.defineProperty(globalThis, "limner", { value: limner, enumerable: true });
  client.start().then(
    async () => {
      root.dataset.begin = beginning.is_copy || beginning.path !== null ? "opening" : "";
      controller.ready();
      // A page that is loaded again goes on, also where it is a copy or was opened by a link.
      if (await controller.look_for_kept()) {
        root.dataset.begin = "";
        return;
      }
      const has_begun = await begin(beginning, {
        page: document,
        address: document.URL,
        restore: (study) => limner.restore(study),
        getting: (progress, name) => controller.limner_event(progress === null ? { type: "reading_over" } : { type: "reading", done: progress.fraction, total: 1, name, stop: () => {} }),
        read: (opened) => controller.limner_event({ type: "read", opened }),
      });
      // Of a copy without maps the findings are all there is to see.
      if (has_begun && (await limner.maps()).length === 0) send({ type: "choose_column", column: "findings" });
      root.dataset.begin = "";
    },
    (thrown) => controller.broken(thrown),
  );
}

try {
  start();
} catch (thrown) {
  document.documentElement.dataset.state = "broken";
  find(document, ".empty", HTMLElement).textContent = `Limner could not start. ${asProblem(thrown).message}`;
  throw thrown;
}
