// What this phone holds until the bench has it: IndexedDB, or localStorage
// where that is refused. An entry goes only after the bench named it as kept,
// and its key is made once, so that sending it again changes nothing.

const NAME = "knownwater";

const result = (req) => new Promise((ok, no) => {
  req.onsuccess = () => ok(req.result);
  req.onerror = () => no(req.error);
});

/** @returns {Promise<void>} */
const ended = (tx) => new Promise((ok, no) => {
  tx.oncomplete = () => ok();
  tx.onerror = tx.onabort = () => no(tx.error);
});

async function openDatabase() {
  const req = indexedDB.open(NAME, 1);
  req.onupgradeneeded = () => {
    req.result.createObjectStore("state");
    req.result.createObjectStore("queue", { keyPath: "key" });
  };
  const db = await result(req);
  const write = (store, act) => {
    const tx = db.transaction(store, "readwrite", { durability: "strict" });
    act(tx.objectStore(store));
    return ended(tx);
  };
  return {
    photos: true,
    get: (key) => result(db.transaction("state").objectStore("state").get(key)),
    put: (key, value) => write("state", (s) => s.put(value, key)),
    add: (entry) => write("queue", (s) => s.put(entry)),
    drop: (key) => write("queue", (s) => s.delete(key)),
    queue: () => result(db.transaction("queue").objectStore("queue").getAll()),
  };
}

function openPlain() {
  const at = (k) => `${NAME}/${k}`;
  const parse = (text) => (text === null ? undefined : JSON.parse(text));
  const set = (k, v) => localStorage.setItem(at(k), JSON.stringify(v));
  const queued = () => Object.keys(localStorage).filter((k) => k.startsWith(at("queue/")));
  return {
    photos: false, // too large for this store
    get: async (k) => parse(localStorage.getItem(at(k))),
    put: async (k, v) => set(k, v),
    add: async (e) => set(`queue/${e.key}`, e),
    drop: async (k) => localStorage.removeItem(at(`queue/${k}`)),
    queue: async () => queued().map((k) => parse(localStorage.getItem(k))),
  };
}

export async function open() {
  try {
    return await openDatabase();
  } catch {
    return openPlain();
  }
}

/** A name for an entry that no other phone can make; works on plain http too. */
export function newKey() {
  const b = crypto.getRandomValues(new Uint8Array(16));
  return Array.from(b, (x) => x.toString(16).padStart(2, "0")).join("");
}
