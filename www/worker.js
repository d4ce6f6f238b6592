// The worker of Limner, for the session and for single long questions. The only file that knows the wasm package.

import * as core from "./pkg/core.js";
import { Desk } from "./app/messenger.js";
import { ALL_ACTIONS, problem } from "./app/protocol.js";
import { readThrough } from "./app/restoring.js";
import { kept } from "./app/room.js";

/** @typedef {import("./app/messenger.js").Port} Port */
/** @typedef {import("./app/messenger.js").Handled} Handled */
/** @typedef {import("./app/types.js").Raster} Raster */

/** The core takes a file as one array, and one array of a 32-bit core holds less than 2 GiB. */
const LARGEST_FILE = 0x7fff0000;

/** @type {core.Session | null} */
let session = null;
const state = () => (session ??= new core.Session());

/** A result with the state that it led to, what changed in words, and the bytes that the state names newly.
 * @template T @param {T} ok */
function changed(ok) {
  const { record, change, blobs } = state().changed();
  return { ok, record, change, blobs, transfer: owned(blobs.map((/** @type {import("./app/types.js").KeptBlob} */ { bytes }) => bytes)) };
}

// After a trap the core's memory is in an unknown state, and after a stack overflow every further call fails.
const fatal = (/** @type {unknown} */ thrown) =>
  thrown instanceof WebAssembly.RuntimeError || (thrown instanceof RangeError && /call stack/i.test(thrown.message));

/** Hand an array over instead of copying it, if it owns its buffer (a view of the core's memory must not leave).
 * @param {ArrayBufferView[]} arrays
 * @returns {Transferable[]} */
function owned(arrays) {
  return arrays
    .filter((array) => array.buffer instanceof ArrayBuffer && array.buffer.byteLength === array.byteLength)
    .map((array) => /** @type {ArrayBuffer} */ (array.buffer));
}

/** @param {File} file */
async function bytesOf(file) {
  if (file.size > LARGEST_FILE) {
    throw problem("file_too_large", "This file is larger than 2 GB, which is more than can be read at once. Save fewer maps in one file.");
  }
  try {
    return new Uint8Array(await file.arrayBuffer());
  } catch (thrown) {
    throw problem("file_unreadable", "The browser could not read this file. If it is a folder, drop the files in it; if it was moved or changed, add it again.", String(thrown));
  }
}

const desk = new Desk(/** @type {Port} */ (/** @type {unknown} */ (globalThis)), ALL_ACTIONS, fatal);

desk.on("load", ([module]) => {
  core.initSync({ module });
  return { ok: core.version(), record: state().record() };
});

// These change the session, so their results carry the record that would bring it back.
desk.on("open", async ([input]) => {
  const bytes = await bytesOf(input.file);
  const ok = state().open(input.name, bytes, input.way ?? undefined);
  return changed(ok);
});
desk.on("open_photo", ([input, read]) => {
  const ok = state().open_photo(input.name, read, input.way ?? undefined);
  return changed(ok);
});
desk.on("set_map", ([id, settings]) => {
  const ok = state().set_map(id, settings);
  return changed(ok);
});
desk.on("set_photo", ([id, settings]) => {
  const ok = state().set_photo(id, settings);
  return changed(ok);
});
desk.on("align", ([settings]) => {
  const ok = state().align(settings);
  return changed(ok);
});
desk.on("set_object", ([settings]) => {
  const ok = state().set_object(settings);
  return changed(ok);
});
desk.on("set_grid", ([settings]) => {
  const ok = state().set_grid(settings);
  return changed(ok);
});
desk.on("set_scan", ([settings]) => {
  const ok = state().set_scan(settings);
  return changed(ok);
});
desk.on("apply", ([record, blobs]) => {
  state().give_blobs(blobs ?? []);
  state().apply(record);
  return changed(null);
});
desk.on("restate", ([record, blobs]) => {
  state().give_blobs(blobs ?? []);
  return changed(state().restate(record));
});
desk.on("difference", ([before, after]) => ({ ok: core.difference_of(before, after) }));
desk.on("set_about", ([about]) => changed(state().set_about(about)));
desk.on("keep", ([settings]) => changed(state().keep(settings)));
desk.on("set_finding", ([id, settings]) => changed(state().set_finding(id, settings)));
desk.on("renew_finding", ([id, answer]) => changed(state().renew_finding(id, answer ?? undefined)));
desk.on("about", () => ({ ok: state().about() }));
desk.on("findings", () => ({ ok: state().findings() }));
desk.on("finding", ([id]) => ({ ok: state().finding(id) }));

desk.on("fields", () => ({ ok: state().fields() }));
desk.on("compare_scans", ([settings]) => ({ ok: state().compare_scans(settings) }));
desk.on("laying", ([map]) => ({ ok: state().laying(map) }));
desk.on("maps", () => ({ ok: state().maps() }));
desk.on("photos", () => ({ ok: state().photos() }));
desk.on("grid", () => ({ ok: state().grid() }));
desk.on("object", () => ({ ok: state().object() }));
desk.on("scan", () => ({ ok: state().scan() }));
desk.on("record", () => ({ ok: state().record() }));
desk.on("questions", () => ({ ok: state().questions() }));
desk.on("lights", ([ids]) => ({ ok: state().lights(ids) }));
desk.on("read_out", ([x, y, of]) => ({ ok: state().read_out(x, y, of ?? {}) }));
desk.on("histogram", ([id, settings]) => ({ ok: state().histogram(id, settings) }));
desk.on("colours", () => ({ ok: state().colours() }));
desk.on("exports", () => ({ ok: state().exports() }));
desk.on("export", ([what, options]) => {
  const ok = state().export(what, options);
  return { ok, transfer: owned([ok.bytes]) };
});
desk.on("map", ([id]) => {
  const ok = state().map(id);
  return { ok, transfer: owned([ok.data]) };
});
desk.on("picture", ([settings]) => {
  const ok = state().picture(settings);
  return { ok, transfer: owned([ok.rgba]) };
});
desk.on("joint", ([answer, region]) => {
  const ok = state().joint(answer, region);
  return { ok, transfer: owned([ok.data]) };
});
desk.on("subject", ([question, settings]) => ({ ok: state().subject(question, settings) }));
desk.on("adopt", ([result]) => ({ ok: state().adopt(result) }));

desk.on("subject_to_derive", ([settings]) => ({ ok: state().subject_to_derive(settings) }));
desk.on("subject_to_align", ([photo]) => ({ ok: state().subject_to_align(photo) }));
desk.on("adopt_derived", ([settings, made]) => {
  const ok = state().adopt_derived(settings, made);
  return changed(ok);
});
desk.on("add_region", ([settings]) => {
  const ok = state().add_region(settings);
  return changed(ok);
});
desk.on("set_region", ([id, settings]) => {
  const ok = state().set_region(id, settings);
  return changed(ok);
});
desk.on("preview_region", ([settings]) => {
  const ok = state().preview_region(settings);
  return { ok, transfer: owned([ok.mask.data]) };
});
desk.on("regions", () => ({ ok: state().regions() }));
desk.on("region", ([id]) => {
  const ok = state().region(id);
  return { ok, transfer: owned([ok.mask.data]) };
});
desk.on("rename", ([id, name]) => {
  const ok = state().rename(id, name);
  return changed(ok);
});
desk.on("remove", ([id]) => {
  const ok = state().remove(id);
  return changed(ok);
});
desk.on("add_point", ([settings]) => {
  const ok = state().add_point(settings);
  return changed(ok);
});
desk.on("set_point", ([id, settings]) => {
  const ok = state().set_point(id, settings);
  return changed(ok);
});
desk.on("add_spectrum", ([settings]) => {
  const ok = state().add_spectrum(settings);
  return changed(ok);
});
desk.on("spectra", () => ({ ok: state().spectra() }));
desk.on("spectrum", ([id, view]) => ({ ok: state().spectrum(id, view) }));
desk.on("points", () => ({ ok: state().points() }));
desk.on("techniques", () => ({ ok: state().techniques() }));
desk.on("materials", () => ({ ok: state().materials() }));
desk.on("layers", () => ({ ok: state().layers() }));
desk.on("set_maps", ([changes]) => {
  const ok = state().set_maps(changes);
  return changed(ok);
});
desk.on("overlaps", () => ({ ok: state().overlaps() }));
desk.on("inspect", () => ({ ok: state().inspect() }));

/** More often than this nobody can see, and the page would be busy with nothing else.
 * @param {(fraction: number, text: string) => void} progress */
function calmed(progress) {
  let last = -Infinity;
  return (/** @type {number} */ fraction, /** @type {string} */ text) => {
    if (performance.now() - last < 50) return;
    last = performance.now();
    progress(fraction, text);
  };
}

desk.on("run", ([question, settings, subject], progress) => {
  const ok = core.run(question, settings, subject, calmed(progress));
  const rasters = /** @type {Raster[]} */ (Object.values(ok.rasters));
  return { ok, transfer: owned(rasters.map((raster) => raster.data)) };
});

desk.on("derive", ([settings, subject]) => {
  const ok = core.derive(settings, subject);
  return { ok, transfer: owned([ok.values.data, ...(ok.sigma ? [ok.sigma.data] : [])]) };
});

desk.on("find_alignment", ([subject], progress) => ({ ok: core.find_alignment(subject, calmed(progress)) }));

desk.on("read_photo", async ([input]) => {
  const ok = core.read_photo(input.name, await bytesOf(input.file), input.way ?? undefined);
  return { ok, transfer: ok?.photo ? owned([ok.photo.pixels]) : [] };
});

/** The study of a study file, in a session of its own: whatever is open stays as it is.
 * @param {Blob} file
 * @param {(fraction: number, text: string) => void} progress */
async function restored(file, progress) {
  const reader = new core.StudyReader(file.size);
  try {
    await readThrough(reader, file, calmed(progress));
    const back = reader.finish();
    const { maps, photos, notices } = back.opened();
    const inputs = back.inputs();
    return { session: back.session(), opened: { maps, photos, notices }, inputs };
  } finally {
    reader.free();
  }
}

desk.on("is_study", async ([file]) => ({ ok: core.is_study(new Uint8Array(await file.slice(0, 64).arrayBuffer())) }));

// In pieces: who asks has the files that belong between them.
desk.on("save", () => {
  const ok = /** @type {(Uint8Array | {source: string, size: number})[]} */ (state().save());
  return { ok, transfer: owned(ok.filter((piece) => piece instanceof Uint8Array)) };
});

desk.on("restore", async ([file], progress) => {
  const back = await restored(file, progress);
  session?.free();
  session = back.session;
  return { ...changed(back.opened), inputs: back.inputs };
});

// What follows is made of a copy, in a worker of its own.

/** Parts of what such a worker does, as shares of the whole: reading the study, then the work.
 * @param {(fraction: number, text: string) => void} progress
 * @param {number} reading */
function parted(progress, reading) {
  return {
    /** @param {number} fraction @param {string} text */
    reading: (fraction, text) => progress(reading * fraction, text),
    /** @param {number} fraction @param {string} text */
    working: (fraction, text) => progress(reading + (1 - reading) * fraction, text),
  };
}

desk.on("reproduce", async ([file], progress) => {
  const part = parted(progress, 0.2);
  const { session: copy } = await restored(file, part.reading);
  return { ok: copy.reproduce(calmed(part.working)) };
});

desk.on("report", async ([file, settings], progress) => {
  const part = parted(progress, 0.2);
  const { session: copy } = await restored(file, part.reading);
  return { ok: copy.report(settings, calmed(part.working)) };
});

desk.on("copy_size", ([what]) => ({ ok: state().copy_size(what) }));

// The reduced study as a file: what was kept as it came is a part of the old file, what was written anew comes from the core, one by one.
desk.on("leave_out", async ([file, what], progress) => {
  const part = parted(progress, 0.2);
  const back = await restored(file, part.reading);
  const copy = /** @type {core.Session} */ (back.session);
  copy.leave_out(what, calmed(part.working));
  const pieces = /** @type {(Uint8Array<ArrayBuffer> | {source: string, size: number})[]} */ (copy.save());
  const parts = pieces.map((piece) => {
    if (piece instanceof Uint8Array) return piece;
    const bytes = /** @type {Uint8Array<ArrayBuffer> | null} */ (copy.rewritten(piece.source));
    if (bytes !== null) return new Blob([bytes]);
    const input = back.inputs.find((/** @type {import("./app/types.js").InputInFile} */ { sha256 }) => sha256 === piece.source);
    if (input === undefined) throw problem("unexpected", "A file of the copy is not at hand, so that it was not written.", piece.source);
    return file.slice(input.from, input.to);
  });
  return { ok: await kept(new Blob(parts, { type: "application/zip" })) };
});

desk.start();
