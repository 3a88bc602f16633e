// The device's own database: visits with what was measured, and every tap as a row of its own.
// A write is done when the transaction is complete, on the disk and not only in memory.

import { upgraded } from "./entry-tally-model.js";

const NAME = "rillmark-tally";
const VERSION = 2;
let opening;

/** Version 2 adds vouchers and new parts of a visit. Visits in progress are completed in place, taps stay. */
function upgrade(request, before) {
  const db = request.result;
  if (before < 1) {
    db.createObjectStore("visits", { keyPath: "key" });
    db.createObjectStore("taps", { keyPath: "id", autoIncrement: true }).createIndex("visit", "visit");
    db.createObjectStore("lists");
  }
  if (before < 2) db.createObjectStore("vouchers", { keyPath: "key" }).createIndex("visit", "visit");
  if (before === 1) {
    request.transaction.objectStore("visits").openCursor().onsuccess = (event) => {
      const cursor = event.target.result;
      if (!cursor) return;
      cursor.update(upgraded(cursor.value));
      cursor.continue();
    };
  }
}

function open() {
  opening ??= new Promise((resolve, reject) => {
    const request = indexedDB.open(NAME, VERSION);
    request.onupgradeneeded = (event) => upgrade(request, event.oldVersion);
    request.onsuccess = () => {
      // A later version in another page may take over; this one opens anew when it is needed.
      request.result.onversionchange = () => {
        request.result.close();
        opening = undefined;
      };
      resolve(request.result);
    };
    // Another open page holds the earlier version. The request goes on by itself once that page is closed.
    request.onblocked = () => dispatchEvent(new Event("tally-blocked"));
    request.onerror = () => {
      opening = undefined;
      reject(request.error);
    };
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

/** Vouchers of a visit, or of all visits; the photograph of each is a blob in it. */
export const vouchers = (key) => run(["vouchers"], "readonly", (t) =>
  (key ? t.objectStore("vouchers").index("visit").getAll(key) : t.objectStore("vouchers").getAll()));
export const keepVoucher = (one) => run(["vouchers"], "readwrite", (t) => t.objectStore("vouchers").put(one));
export const dropVoucher = (key) => run(["vouchers"], "readwrite", (t) => t.objectStore("vouchers").delete(key));

/** Take a visit, all its taps and its vouchers off the device. */
export const dropVisit = (key) => run(["visits", "taps", "vouchers"], "readwrite", (t) => {
  t.objectStore("visits").delete(key);
  for (const name of ["taps", "vouchers"]) {
    const request = t.objectStore(name).index("visit").openKeyCursor(IDBKeyRange.only(key));
    request.onsuccess = () => {
      const cursor = request.result;
      if (!cursor) return;
      t.objectStore(name).delete(cursor.primaryKey);
      cursor.continue();
    };
  }
});
