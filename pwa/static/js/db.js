// What the phone keeps, in IndexedDB.
//
//   meta     small values by name: "me", "chain", "clock", "settings", "vocabulary", "packs"
//   entries  the outbox: entries that the server has not acknowledged, as the exact text that is hashed and sent
//   files    the outbox: bytes of photos, documents and clips whose entry has not been acknowledged
//   journal  entries that are on the server, by id, so that a job can be read and checked without signal
//   jobs     per job: its card, how much of its journal is here, and the server's last state and check of it
//   thumbs   small pictures by digest
//
// What must not be lost (entries, files, the chain's head) is written with strict durability.
import { openDB } from "../vendor/idb.mjs";

let opening = null;

/** db opens the database, once. */
export function db() {
  opening ??= openDB("kickplate", 1, {
    upgrade(d) {
      d.createObjectStore("meta");
      const entries = d.createObjectStore("entries", { keyPath: "id" });
      entries.createIndex("job", "job");
      d.createObjectStore("files", { keyPath: "digest" });
      const journal = d.createObjectStore("journal", { keyPath: "id" });
      journal.createIndex("job", "job");
      d.createObjectStore("jobs", { keyPath: "id" });
      d.createObjectStore("thumbs", { keyPath: "digest" });
    },
    // A newer version of the app waits in another tab: let go, and open again when needed.
    blocking(_, __, event) { event.target.close(); opening = null; },
    terminated() { opening = null; },
  });
  opening.catch(() => { opening = null; });
  return opening;
}

export const getMeta = async (name) => (await db()).get("meta", name);
export const setMeta = async (name, value) => (await db()).put("meta", value, name);

/** strictly runs f in a read-write transaction that is on disk when this returns. f must only await requests of tx. */
export async function strictly(stores, f) {
  const tx = (await db()).transaction(stores, "readwrite", { durability: "strict" });
  try {
    const result = await f(tx);
    await tx.done;
    return result;
  } catch (e) {
    try { tx.abort(); } catch { /* it has ended already */ }
    tx.done.catch(() => {});
    throw e;
  }
}

/** forget takes what came from the server off this phone; the outbox stays. */
export async function forget() {
  const tx = (await db()).transaction(["journal", "jobs", "thumbs"], "readwrite");
  await Promise.all([tx.objectStore("journal").clear(), tx.objectStore("jobs").clear(), tx.objectStore("thumbs").clear(), tx.done]);
}
