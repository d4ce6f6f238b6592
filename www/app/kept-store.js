// What is kept in the browser's own database, and nothing of what it means. Each study has one head, which is written last and in the same
// transaction as all it needs: a crash at any moment leaves the head of before with all that this one needs, or the new one.
//
//   studies   id -> head          parts   id/hash -> text       blobs   id/hash -> bytes       inputs   id/hash -> File

/** As much of IndexedDB as is used here.
 * @typedef {{factory: IDBFactory, range: (low: string, high: string) => IDBKeyRange}} Database */
/** @typedef {"studies"|"parts"|"blobs"|"inputs"} StoreName */
/** @typedef {"parts"|"blobs"|"inputs"} Below what lies below a study */
/** @typedef {{id: string, generation: number}} AnyHead */

export const NAME = "limner";
const VERSION = 1;
/** @type {StoreName[]} */
const STORES = ["studies", "parts", "blobs", "inputs"];
/** @type {Below[]} */
const BELOW = ["parts", "blobs", "inputs"];
/** The character behind the slash: where the keys of a study end. */
const BEHIND_SLASH = "0";

/** Another page wrote this study meanwhile. */
export class Overtaken extends Error {}

export class KeptStore {
  #db;
  #range;
  #is_open = true;

  /** @param {IDBDatabase} db @param {Database["range"]} range @param {() => void} closed the browser took the database away, or another page wants
   * to remove it */
  constructor(db, range, closed) {
    this.#db = db;
    this.#range = range;
    const close = () => {
      if (!this.#is_open) return;
      this.close();
      closed();
    };
    db.onversionchange = close;
    db.onclose = close;
  }

  /** @param {Database} database @param {() => void} [closed]
   * @returns {Promise<KeptStore>} */
  static async open({ factory, range }, closed = () => {}) {
    const request = factory.open(NAME, VERSION);
    request.onupgradeneeded = () => {
      for (const name of STORES) if (!request.result.objectStoreNames.contains(name)) request.result.createObjectStore(name, name === "studies" ? { keyPath: "id" } : {});
    };
    return new KeptStore(await ended(request), range, closed);
  }

  /** Remove the database itself. @param {Database} database */
  static async remove({ factory }) {
    await ended(factory.deleteDatabase(NAME));
  }

  close() {
    this.#is_open = false;
    this.#db.close();
  }

  /** All heads as they were written, by whomever.
   * @returns {Promise<unknown[]>} */
  async heads() {
    return this.#transact(["studies"], "readonly", (store) => store("studies").getAll());
  }

  /** @param {string} id
   * @returns {Promise<unknown>} */
  async head(id) {
    return this.#transact(["studies"], "readonly", (store) => store("studies").get(id));
  }

  /** All that lies below a study, as it was written, by hash. Files are handles: their bytes are not read.
   * @param {string} id @param {Below} name
   * @returns {Promise<Map<string, unknown>>} */
  async all(id, name) {
    /** @type {string[]} */
    const hashes = [];
    const values = await this.#transact([name], "readonly", (store) => {
      const keys = store(name).getAllKeys(this.#below(id));
      keys.onsuccess = () => hashes.push(...keys.result.map((key) => hashOf(id, key)));
      return store(name).getAll(this.#below(id));
    });
    return new Map(hashes.map((hash, index) => [hash, values[index]]));
  }

  /** @param {string} id @param {Below} name
   * @returns {Promise<string[]>} hashes */
  async hashes(id, name) {
    const keys = /** @type {IDBValidKey[]} */ (await this.#transact([name], "readonly", (store) => store(name).getAllKeys(this.#below(id))));
    return keys.map((key) => hashOf(id, key));
  }

  /** One whole state: all of it is on the disk when this ends, or nothing of it.
   * @param {AnyHead} head its generation is one more than that of the head that it follows
   * @param {Map<string, string>} parts @param {Map<string, Uint8Array>} blobs */
  async write(head, parts, blobs) {
    const { id, generation } = head;
    await this.#transact(["studies", "parts", "blobs"], "readwrite", (store, give_up) => {
      const before = store("studies").get(id);
      before.onsuccess = () => {
        if ((before.result?.generation ?? 0) !== generation - 1) return give_up(new Overtaken("another page wrote this study"));
        for (const [hash, text] of parts) store("parts").put(text, `${id}/${hash}`);
        for (const [hash, bytes] of blobs) store("blobs").put(bytes, `${id}/${hash}`);
        store("studies").put(head);
      };
      return before;
    });
  }

  /** A file as it came. It has a transaction of its own, so that a large one does not hold up what is stated.
   * @param {string} id @param {string} sha256 @param {File} file */
  async put_input(id, sha256, file) {
    await this.#transact(["inputs"], "readwrite", (store) => store("inputs").put(file, `${id}/${sha256}`));
  }

  /** @param {string} id @param {Below} name @param {string[]} hashes */
  async drop(id, name, hashes) {
    if (hashes.length === 0) return;
    await this.#transact([name], "readwrite", (store) => {
      for (const hash of hashes) store(name).delete(`${id}/${hash}`);
      return null;
    });
  }

  /** A study and all below it. @param {string} id */
  async remove(id) {
    await this.#transact(STORES, "readwrite", (store) => {
      store("studies").delete(id);
      for (const name of BELOW) store(name).delete(this.#below(id));
      return null;
    });
  }

  /** @param {string} id */
  #below(id) {
    return this.#range(`${id}/`, `${id}${BEHIND_SLASH}`);
  }

  /** One transaction; it ends when all of it is on the disk.
   * @template Found
   * @param {StoreName[]} names @param {IDBTransactionMode} mode
   * @param {(store: (name: StoreName) => IDBObjectStore, give_up: (why: Error) => void) => IDBRequest<Found>|null} work the request whose result is given
   * @returns {Promise<Found>} */
  #transact(names, mode, work) {
    return new Promise((resolve, reject) => {
      // Whatever is thrown here rejects.
      const transaction = this.#db.transaction(names, mode, { durability: mode === "readwrite" ? "strict" : "default" });
      /** @type {unknown} */
      let why = null;
      const give_up = (/** @type {unknown} */ reason) => {
        why ??= reason;
        transaction.abort();
      };
      transaction.onabort = () => reject(why ?? transaction.error ?? new Error("the browser gave the transaction up"));
      try {
        const request = work((name) => transaction.objectStore(name), give_up);
        transaction.oncomplete = () => resolve(/** @type {Found} */ (request === null ? null : request.result));
      } catch (thrown) {
        give_up(thrown);
      }
    });
  }
}

/** @param {string} id @param {IDBValidKey} key */
const hashOf = (id, key) => String(key).slice(id.length + 1);

/** @template Found
 * @param {IDBRequest<Found>} request
 * @returns {Promise<Found>} */
function ended(request) {
  return new Promise((resolve, reject) => {
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error);
  });
}
