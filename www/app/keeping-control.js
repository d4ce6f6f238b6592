// The part of the controller that belongs to keeping: what is kept in this browser, going on with it, forgetting it, and which tab writes.

import { Keeper } from "./keeping.js";
import { entryOf, isNothing, looksAlike, summaryOf } from "./keeping-state.js";
import { headOf, idOf, newId, readStudy } from "./kept-study.js";
import { KeptStore } from "./kept-store.js";
import { CANCELLED, asProblem, problem } from "./protocol.js";
import { isLocked, takeLock } from "./study-lock.js";

/** @typedef {import("./keeping-state.js").Keeping} Keeping */
/** @typedef {import("./keeping-world.js").KeepingWorld} KeepingWorld */
/** @typedef {import("./keeping.js").Told} Told */
/** @typedef {import("./kept-study.js").ReadStudy} ReadStudy */
/** @typedef {import("./limner.js").Limner} Limner */
/** @typedef {import("./state.js").State} State */
/** @typedef {import("./state.js").Change} Change */
/** @typedef {import("./types.js").Snapshot} Snapshot */

/** `forget_kept` without an id forgets all. @typedef {{type: "keep_here"} | {type: "go_on", id: string} | {type: "forget_kept", id?: string}
 *   | {type: "stop_keeping"} | {type: "take_over"} | {type: "open_keeping", open: boolean}} KeepingAction */
/** @typedef {{state: () => State, change: (change: Change) => void, set_read_only: (why: string|null) => void}} KeepingDesk */

/** @type {KeepingAction["type"][]} */
const ACTIONS = ["keep_here", "go_on", "forget_kept", "stop_keeping", "take_over", "open_keeping"];
/** Sooner than this, "Keeping" would only flicker. */
const SHOW_KEEPING_MS = 400;
/** What the browser itself needs beside a file. */
const SPARE_BYTES = 8e6;
/** In the tab: the study that it has open. */
export const STUDY = "limner study";
const CONSENT = "limner keeps";
const READ_ONLY = "This study is open in another tab, which keeps it: here it can only be read. Change it there, or close that tab and go on here.";

/** @template {{type: string}} Any
 * @param {Any} action
 * @returns {action is Extract<Any, KeepingAction>} */
export function isKeepingAction(action) {
  return ACTIONS.some((one) => one === action.type);
}

export class KeepingControl {
  #limner;
  #desk;
  #world;
  /** @type {KeptStore|null} */
  #store = null;
  /** @type {Keeper|null} */
  #keeper = null;
  /** The study as it was last told, whether it is kept or not. @type {Snapshot|null} */
  #snapshot = null;
  #release = () => {};
  /** A study that another tab has: its id, and the lock when it comes. @type {{id: string, stop: () => void, release: (() => void)|null}|null} */
  #foreign = null;
  /** While a study is begun or gone on with, changes wait. */
  #is_busy = false;
  /** @type {unknown} */
  #flicker = null;
  #has_asked_to_stay = false;

  /** @param {Pick<Limner, "resume">} limner @param {KeepingDesk} desk @param {KeepingWorld} world */
  constructor(limner, desk, world) {
    this.#limner = limner;
    this.#desk = desk;
    this.#world = world;
  }

  /** Look for what is kept. Goes on by itself only where this very tab was loaded again.
   * @returns {Promise<boolean>} whether it went on */
  async start() {
    this.#show({ where: this.#world.where });
    if (!(await this.#is_wanted()) || !(await this.#open())) return false;
    const id = this.#world.tab.get(STUDY);
    const went_on = id !== null && this.#snapshot_is_nothing && this.#kept.studies.some((one) => one.id === id) && (await this.#go_on(id));
    if (!went_on) await this.#begin();
    return went_on;
  }

  /** @param {KeepingAction} action */
  send(action) {
    switch (action.type) {
      case "open_keeping":
        return this.#show({ is_open: action.open, trouble: "" });
      case "keep_here":
        return this.#do(() => this.#keep_here());
      case "go_on":
        return this.#do(() => this.#go_on(action.id));
      case "forget_kept":
        return this.#do(() => this.#forget(action.id === undefined ? null : [action.id]));
      case "stop_keeping":
        return this.#do(() => this.#stop_keeping());
      case "take_over":
        return this.#do(() => this.#take_over());
    }
  }

  /** The study is otherwise now. @param {Snapshot} snapshot */
  changed(snapshot) {
    this.#snapshot = snapshot;
    if (this.#is_busy || this.#foreign !== null) return;
    if (this.#keeper === null) return this.#do(() => this.#begin());
    this.#keeper.describe(summaryOf(this.#desk.state(), snapshot));
    this.#keeper.changed(snapshot);
  }

  /** What the list says of the open study follows what the page shows of it. @param {State} before */
  state_changed(before) {
    const now = this.#desk.state();
    if (this.#keeper !== null && this.#snapshot !== null && (before.maps !== now.maps || before.photos !== now.photos)) this.#keeper.describe(summaryOf(now, this.#snapshot));
  }

  // ---- beginning and going on ----

  /** Whether work is to be kept: on a site always, elsewhere where the user said so. A crash may have taken that word with it, but not what was
   * kept after it. @returns {Promise<boolean>} */
  async #is_wanted() {
    const { where, browser, database, copy } = this.#world;
    if (where === "site" || browser.get(this.#consent) !== null) return true;
    if (database === null) {
      this.#show({ how: "none" });
      return false;
    }
    try {
      if (await KeptStore.exists(database)) {
        const store = await KeptStore.open(database);
        const heads = await store.heads();
        store.close();
        if (heads.some((any) => headOf(any)?.copy === copy)) return true;
      }
      this.#show({ how: "asks" });
    } catch {
      this.#show({ how: "none" });
    }
    return false;
  }

  /** @returns {Promise<boolean>} whether there is a database */
  async #open() {
    const { database } = this.#world;
    try {
      if (database === null) throw problem("no_database", "The browser keeps nothing for this page. Save the study file before you close it.");
      this.#store = await KeptStore.open(database, () => this.#lost_database());
      this.#show({ how: "on" });
      await this.#list();
      return true;
    } catch {
      this.#store = null;
      this.#show({ how: "none" });
      return false;
    }
  }

  /** The browser took the database away, or all was forgotten in another tab. */
  #lost_database() {
    this.#store = null;
    void this.#keeper?.stop();
    this.#keeper = null;
    this.#show({ how: "off", studies: [], unreadable: [], told: null, trouble: "What this browser kept was removed, in another tab or by the browser itself. Nothing is kept any more." });
  }

  async #list() {
    const heads = (await this.#store?.heads()) ?? [];
    const studies = heads.flatMap((any) => headOf(any) ?? []).filter(({ copy }) => copy === this.#world.copy).sort((a, b) => b.updated - a.updated).map(entryOf);
    const unreadable = this.#world.copy === "" ? heads.filter((any) => headOf(any) === null).flatMap((any) => idOf(any) ?? []) : [];
    this.#show({ studies, unreadable });
  }

  /** Keep what is open, under a name of its own. */
  async #begin() {
    if (this.#store === null || this.#keeper !== null || this.#foreign !== null || this.#is_busy || this.#snapshot_is_nothing) return;
    this.#is_busy = true;
    try {
      const id = newId();
      const lock = await takeLock(this.#world.locks, id);
      this.#release = lock.held ? lock.release : () => {};
      this.#keep(id, null);
    } finally {
      this.#is_busy = false;
    }
  }

  /** @param {string} id @param {ReadStudy|null} read */
  #keep(id, read) {
    const { store, now } = { store: this.#store, now: this.#world.now };
    if (store === null) return;
    this.#keeper = new Keeper({ store, id, copy: this.#world.copy, now, told: (told) => this.#told(told), room: (bytes) => this.#has_room(bytes) }, read);
    this.#world.tab.set(STUDY, id);
    if (this.#snapshot === null) return;
    // What is gone on with is not on the page yet.
    if (read === null) this.#keeper.describe(summaryOf(this.#desk.state(), this.#snapshot));
    this.#keeper.changed(this.#snapshot);
  }

  /** @param {string} id
   * @returns {Promise<boolean>} whether it is open now */
  async #go_on(id) {
    if (this.#store === null || this.#is_busy || this.#keeper !== null) return false;
    this.#is_busy = true;
    this.#show({ going_on: id, trouble: "" });
    let release = () => {};
    try {
      const lock = await takeLock(this.#world.locks, id);
      if (lock.held) release = lock.release;
      const read = await readStudy(this.#store, id);
      this.#desk.set_read_only(lock.held ? null : READ_ONLY);
      await this.#limner.resume(read.snapshot);
      this.#say(read);
      if (lock.held) {
        this.#release = release;
        this.#keep(id, read);
      } else this.#only_read(id, lock);
      this.#world.tab.set(STUDY, id);
      return true;
    } catch (thrown) {
      release();
      this.#desk.set_read_only(null);
      this.#world.tab.remove(STUDY);
      this.#trouble(thrown);
      await this.#list();
      return false;
    } finally {
      this.#is_busy = false;
      this.#show({ going_on: null });
    }
  }

  /** @param {string} id @param {{freed: Promise<{release: () => void}>, stop: () => void}} lock */
  #only_read(id, { freed, stop }) {
    const foreign = { id, stop, release: /** @type {(() => void)|null} */ (null) };
    this.#foreign = foreign;
    this.#show({ is_read_only: true, is_free: false });
    freed.then(({ release }) => {
      if (this.#foreign !== foreign) return release();
      foreign.release = release;
      this.#show({ is_free: true });
    }, () => {});
  }

  /** The other tab has closed: go on from where it left the study. */
  async #take_over() {
    const foreign = this.#foreign;
    if (this.#store === null || foreign === null || foreign.release === null || this.#is_busy) return;
    this.#is_busy = true;
    try {
      const read = await readStudy(this.#store, foreign.id);
      await this.#limner.resume(read.snapshot);
      this.#foreign = null;
      this.#desk.set_read_only(null);
      this.#release = foreign.release;
      this.#show({ is_read_only: false, is_free: false });
      this.#say(read);
      this.#keep(foreign.id, read);
    } finally {
      this.#is_busy = false;
    }
  }

  /** What did not come back. @param {ReadStudy} read */
  #say({ missing, is_before }) {
    const notices = missing.map((file) => ({ severity: /** @type {const} */ ("warning"), code: "not_kept", file, text: "It had not been kept. Open it again, and all that was made of it comes back." }));
    const older = { severity: /** @type {const} */ ("warning"), code: "kept_before", file: "", text: "The last state that was kept is damaged; the one before it is open." };
    if (missing.length > 0 || is_before) this.#desk.change({ type: "notices", notices: [...notices, ...(is_before ? [older] : [])] });
  }

  // ---- wanting and forgetting ----

  get #consent() {
    return `${CONSENT} ${this.#world.copy}`.trim();
  }

  async #keep_here() {
    this.#world.browser.set(this.#consent, "yes");
    this.#show({ trouble: "", is_open: false });
    if (await this.#open()) await this.#begin();
  }

  /** @param {string[]|null} ids all where there are none */
  async #forget(ids) {
    const store = this.#store;
    if (store === null) return;
    const { studies, unreadable } = this.#kept;
    for (const id of ids ?? [...studies.map((one) => one.id), ...unreadable]) {
      if (id !== this.#keeper?.id && (await isLocked(this.#world.locks, id))) {
        this.#trouble(problem("kept_elsewhere", "A study that is open in another tab was not forgotten. Close it there first."));
        continue;
      }
      if (id === this.#keeper?.id) await this.#let_go();
      await store.remove(id);
    }
    await this.#list();
  }

  /** On a site only the open study is forgotten, elsewhere all that is kept. */
  async #stop_keeping() {
    const own = this.#keeper?.id;
    if (this.#world.where === "site") {
      if (own !== undefined) await this.#forget([own]);
      this.#show({ how: "off", is_open: true });
    } else {
      await this.#forget(null);
      this.#world.browser.remove(this.#consent);
      this.#show({ how: "asks", is_open: !this.#is_empty });
    }
    const store = this.#store;
    this.#store = null;
    store?.close();
    // Of a page on disk nothing at all is left; what copies kept stays theirs.
    if (this.#world.where === "disk" && this.#world.database !== null && this.#kept.studies.length === 0) await this.#remove_database();
  }

  async #remove_database() {
    const { database } = this.#world;
    if (database === null) return;
    const store = await KeptStore.open(database);
    const is_bare = (await store.heads()).length === 0;
    store.close();
    if (is_bare) await KeptStore.remove(database);
  }

  /** The open study is kept no longer. */
  async #let_go() {
    const keeper = this.#keeper;
    this.#keeper = null;
    await keeper?.stop();
    this.#release();
    this.#release = () => {};
    this.#world.tab.remove(STUDY);
    this.#show({ told: null });
  }

  // ---- what is told ----

  get #kept() {
    return this.#desk.state().stored;
  }

  get #is_empty() {
    const { maps, photos, findings } = this.#desk.state();
    return maps.length + photos.length + findings.length === 0;
  }

  get #snapshot_is_nothing() {
    return this.#snapshot === null || isNothing(this.#snapshot);
  }

  /** @param {Partial<Keeping>} stored */
  #show(stored) {
    this.#desk.change({ type: "stored", stored });
  }

  /** @param {unknown} thrown */
  #trouble(thrown) {
    const { code, message } = asProblem(thrown);
    if (code !== CANCELLED.code) this.#show({ trouble: message });
  }

  /** @param {() => Promise<unknown>} run */
  #do(run) {
    run().catch((thrown) => this.#trouble(thrown));
  }

  /** @param {Told} told */
  #told(told) {
    clearTimeout(/** @type {number|undefined} */ (this.#flicker ?? undefined));
    this.#flicker = null;
    const show = () => {
      if (this.#keeper !== null && !looksAlike(this.#kept.told, told)) this.#show({ told });
    };
    if (told.status === "keeping" && this.#kept.told !== null) this.#flicker = setTimeout(show, SHOW_KEEPING_MS);
    else show();
    if (told.status === "kept" && !this.#has_asked_to_stay) this.#ask_to_stay();
  }

  /** What is kept should not be the first to go when the disk fills up. */
  #ask_to_stay() {
    this.#has_asked_to_stay = true;
    // If the browser would rather not, all is as it was.
    if (this.#world.where === "site" && this.#world.asks_nothing) this.#world.storage?.persist?.().catch(() => {});
  }

  /** @param {number} bytes */
  async #has_room(bytes) {
    // A browser that does not tell says so when it is full.
    const { quota, usage } = (await this.#world.storage?.estimate?.().catch(() => null)) ?? {};
    return quota === undefined || usage === undefined || usage + bytes + SPARE_BYTES <= quota;
  }
}
