// As much of IndexedDB as the page uses, in memory. What a transaction did is there only when it has ended; a crash between any two
// operations leaves what had ended before. Values are cloned on their way in and out, files excepted, as the browser keeps them.

const cloned = (value) => (value instanceof Blob ? value : structuredClone(value));

/** The disk, which outlives pages. */
export function fakeDisk() {
  const disk = {
    /** @type {Map<string, Map<string, any>>|null} null where there is no database */
    stores: null,
    key_paths: {},
    /** Bytes that find room. */
    quota: Infinity,
    operations: 0,
    /** The disk stops before this operation, and does nothing any more. */
    crash_at: Infinity,
    crashed: false,
    writes: [],
    get used() {
      return [...(disk.stores?.values() ?? [])].flatMap((store) => [...store]).reduce((sum, [key, value]) => sum + key.length + sizeOf(value), 0);
    },
    /** The browser is started again. */
    restart() {
      disk.crash_at = Infinity;
      disk.operations = 0;
      disk.crashed = false;
    },
  };
  return disk;
}

function sizeOf(value) {
  if (value instanceof Blob) return value.size;
  if (ArrayBuffer.isView(value)) return value.byteLength;
  return typeof value === "string" ? value.length : JSON.stringify(value).length;
}

/** One page's way to the disk. `meddle(operation)` may give the name of an error, with which the operation fails.
 * @param {ReturnType<typeof fakeDisk>} disk */
export function fakeDatabase(disk, { meddle = () => null, slow = 0 } = {}) {
  const page = { meddle, slow, open: new Set() };
  /** The last transaction of each store. @type {Map<string, Promise<void>>} */
  const turns = new Map();
  const step = () => new Promise((resolve) => (page.slow > 0 ? setTimeout(resolve, page.slow) : setImmediate(resolve)));
  /** Whether the machine still runs at this operation. */
  const runs = () => {
    if (disk.operations >= disk.crash_at) disk.crashed = true;
    disk.operations += 1;
    return !disk.crashed;
  };
  const failed = (name) => Object.assign(new Error(`the browser says ${name}`), { name });

  function request(work) {
    const one = { result: undefined, error: null, onsuccess: null, onerror: null, onupgradeneeded: null };
    void step().then(() => {
      if (!runs()) return;
      try {
        work(one);
        one.onsuccess?.({});
      } catch (thrown) {
        one.error = thrown;
        one.onerror?.({});
      }
    });
    return one;
  }

  function database() {
    const db = {
      objectStoreNames: { contains: (name) => disk.stores.has(name) },
      createObjectStore(name, { keyPath = null } = {}) {
        disk.stores.set(name, new Map());
        disk.key_paths[name] = keyPath;
      },
      close: () => page.open.delete(db),
      transaction,
      onversionchange: null,
      onclose: null,
    };
    page.open.add(db);
    return db;
  }

  function transaction(names, mode, { durability } = {}) {
    const one = { error: null, oncomplete: null, onabort: null, onerror: null };
    /** Made when its turn has come: transactions of the same stores run one after the other. */
    const layers = new Map();
    const queue = [];
    const before = names.map((name) => turns.get(name));
    let pass_on = () => {};
    const mine = new Promise((resolve) => (pass_on = resolve));
    for (const name of names) turns.set(name, mine);
    let over = false;
    const abort = (error) => {
      if (over) return;
      over = true;
      one.error = error;
      pass_on();
      void step().then(() => runs() && one.onabort?.({}));
    };
    one.abort = () => abort(null);
    const enter = (kind, name, work) => {
      if (over) throw failed("TransactionInactiveError");
      if (mode === "readonly" && ["put", "delete"].includes(kind)) throw failed("ReadOnlyError");
      const request = { result: undefined, error: null, onsuccess: null, onerror: null };
      queue.push({ kind, name, work, request });
      return request;
    };
    one.objectStore = (name) => {
      if (!names.includes(name)) throw failed("NotFoundError");
      const store = () => layers.get(name);
      const within = (query) => [...store()].filter(([key]) => typeof query === "string" ? key === query : query === undefined || (key >= query.low && key <= query.high)).sort(([a], [b]) => (a < b ? -1 : 1));
      return {
        get: (key) => enter("get", name, () => cloned(store().get(key))),
        getAll: (query) => enter("getAll", name, () => within(query).map(([, value]) => cloned(value))),
        getAllKeys: (query) => enter("getAllKeys", name, () => within(query).map(([key]) => key)),
        put: (value, key) => {
          const held = cloned(value);
          return enter("put", name, () => {
            const path = disk.key_paths[name];
            store().set(path === null ? key : held[path], held);
          });
        },
        delete: (query) => enter("delete", name, () => {
          for (const [key] of within(query)) store().delete(key);
        }),
      };
    };
    void (async () => {
      await Promise.all(before);
      await step();
      for (const name of names) layers.set(name, new Map(disk.stores.get(name)));
      while (queue.length > 0 && !over) {
        const { kind, name, work, request } = queue.shift();
        if (!runs()) return;
        const trouble = page.meddle({ kind, name });
        if (trouble) {
          request.error = failed(trouble);
          request.onerror?.({});
          abort(request.error);
          return;
        }
        request.result = work();
        request.onsuccess?.({});
        if (queue.length === 0) await step();
      }
      if (over || !runs()) return;
      const trouble = page.meddle({ kind: "commit", name: names.join(" ") });
      const after = new Map([...disk.stores, ...layers]);
      const size = [...after.values()].flatMap((store) => [...store]).reduce((sum, [key, value]) => sum + key.length + sizeOf(value), 0);
      if (trouble || (mode === "readwrite" && size > disk.quota && size > disk.used)) return abort(failed(trouble ?? "QuotaExceededError"));
      if (mode === "readwrite") {
        // Of other transactions only what they changed: those of other stores run at the same time.
        for (const [name, layer] of layers) disk.stores.set(name, layer);
        disk.writes.push({ names, durability });
      }
      over = true;
      pass_on();
      one.oncomplete?.({});
    })();
    return one;
  }

  return {
    page,
    factory: {
      open() {
        const one = request((it) => {
          if (page.meddle({ kind: "open", name: "" })) throw failed("InvalidStateError");
          const is_new = disk.stores === null;
          disk.stores ??= new Map();
          it.result = database();
          if (is_new) it.onupgradeneeded?.({});
        });
        return one;
      },
      databases: async () => (disk.stores === null ? [] : [{ name: "limner", version: 1 }]),
      deleteDatabase() {
        return request(() => {
          for (const db of [...page.open]) db.onversionchange?.({});
          disk.stores = null;
        });
      },
    },
    range: (low, high) => ({ low, high }),
  };
}
