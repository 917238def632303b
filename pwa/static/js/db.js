// What the phone keeps, in IndexedDB.
//
//   meta     small values by name: "me", "chain", "clock", "settings", "vocabulary"
//   entries  the outbox: entries that the server has not acknowledged, as the exact text that is hashed and sent
//   files    the outbox: bytes of photos, documents and clips whose entry has not been acknowledged
//   journal  entries that are on the server, by id, so that a job can be read and checked without signal
//   jobs     per job: its card, and how much of its journal is here
//   answers  per job: what it looked like last, as the core's text or the server's state and check, for until the core is here; of = at how many entries
//   packs    the rule packs by digest: {digest, id, head, text, at}; head is what picks one for a job, at its place in the server's list
//   thumbs   small pictures by digest
//
// What must not be lost (entries, files, the chain's head) is written with strict durability. What lists need is apart from what is large.
import { openDB } from "../vendor/idb.mjs";

let opening = null;

/** db opens the database, once. */
export function db() {
  opening ??= openDB("kickplate", 2, how).catch((e) => {
    if (e.name !== "VersionError") throw e;
    return openDB("kickplate", undefined, how); // a newer app in another window has only added to it
  });
  opening.catch(() => { opening = null; });
  return opening;
}

const how = {
  async upgrade(d, from, _, tx) {
    if (from < 1) {
      d.createObjectStore("meta");
      const entries = d.createObjectStore("entries", { keyPath: "id" });
      entries.createIndex("job", "job");
      d.createObjectStore("files", { keyPath: "digest" });
      const journal = d.createObjectStore("journal", { keyPath: "id" });
      journal.createIndex("job", "job");
      d.createObjectStore("jobs", { keyPath: "id" });
      d.createObjectStore("thumbs", { keyPath: "digest" });
    }
    const packs = d.createObjectStore("packs", { keyPath: "digest" });
    packs.createIndex("id", "id");
    const answers = d.createObjectStore("answers", { keyPath: "id" });
    // Up to now jobs held the answers and meta the packs.
    for (let at = await tx.objectStore("jobs").openCursor(); at; at = await at.continue()) {
      const { state, check, problem, ...job } = at.value;
      if (state) await answers.put({ id: job.id, state, check, problem });
      await at.update(job);
    }
    const were = (await tx.objectStore("meta").get("packs")) || [];
    for (const [i, p] of were.entries()) if (p.text) await packs.put({ ...p, at: i });
    await tx.objectStore("meta").delete("packs");
  },
  // A newer version of the app waits in another tab: let go, and open again when needed.
  blocking(_, __, event) { event.target.close(); opening = null; },
  terminated() { opening = null; },
};

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
  const stores = ["journal", "jobs", "answers", "thumbs"], tx = (await db()).transaction(stores, "readwrite");
  await Promise.all([...stores.map((s) => tx.objectStore(s).clear()), tx.done]);
}
