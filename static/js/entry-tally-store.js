// The device's own database: visits with what was measured, and every tap as a row of its own.
// A write is done when the transaction is complete, on the disk and not only in memory.

const NAME = "rillmark-tally";
let opening;

function open() {
  opening ??= new Promise((resolve, reject) => {
    const request = indexedDB.open(NAME, 1);
    request.onupgradeneeded = () => {
      const db = request.result;
      db.createObjectStore("visits", { keyPath: "key" });
      db.createObjectStore("taps", { keyPath: "id", autoIncrement: true }).createIndex("visit", "visit");
      db.createObjectStore("lists");
    };
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error);
  });
  return opening;
}

/** Run one transaction and wait until it is complete; gives the result of the request made in it. */
async function run(stores, mode, work) {
  const db = await open();
  return new Promise((resolve, reject) => {
    const transaction = db.transaction(stores, mode, { durability: "strict" });
    const request = work(transaction);
    transaction.oncomplete = () => resolve(request?.result);
    transaction.onabort = () => reject(transaction.error ?? new Error("The device refused to write."));
    transaction.onerror = () => reject(transaction.error);
  });
}

export const visits = () => run(["visits"], "readonly", (t) => t.objectStore("visits").getAll());
export const visit = (key) => run(["visits"], "readonly", (t) => t.objectStore("visits").get(key));
export const keepVisit = (one) => run(["visits"], "readwrite", (t) => t.objectStore("visits").put(one));
export const taps = (key) => run(["taps"], "readonly", (t) => t.objectStore("taps").index("visit").getAll(key));
export const keepTap = (tap) => run(["taps"], "readwrite", (t) => t.objectStore("taps").add(tap));
export const dropTap = (id) => run(["taps"], "readwrite", (t) => t.objectStore("taps").delete(id));
export const lists = () => run(["lists"], "readonly", (t) => t.objectStore("lists").get("lists"));
export const keepLists = (all) => run(["lists"], "readwrite", (t) => t.objectStore("lists").put(all, "lists"));

/** Change a visit as it is stored now, so that two open pages do not overwrite each other. */
export async function changeVisit(key, change) {
  let changed;
  await run(["visits"], "readwrite", (t) => {
    const store = t.objectStore("visits");
    const request = store.get(key);
    request.onsuccess = () => {
      if (!request.result) return;
      changed = request.result;
      change(changed);
      store.put(changed);
    };
  });
  return changed;
}

/** Take a visit and all its taps off the device. */
export const dropVisit = (key) => run(["visits", "taps"], "readwrite", (t) => {
  t.objectStore("visits").delete(key);
  const request = t.objectStore("taps").index("visit").openKeyCursor(IDBKeyRange.only(key));
  request.onsuccess = () => {
    const cursor = request.result;
    if (!cursor) return;
    t.objectStore("taps").delete(cursor.primaryKey);
    cursor.continue();
  };
});
