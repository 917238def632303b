// Writing down what happened. An entry is on the phone's disk, with the bytes it names, before anybody is told "kept".
//
// The entries of one phone form a chain: each carries its number and the SHA-256 of the exact bytes of the one before, so
// their order is fixed before there is signal. Two tabs can't break it: the head is compared and moved in the same
// transaction that keeps the entry.
import { strictly, getMeta } from "./db.js";
import { sha256, uuid7, zoned } from "./hash.js";
import { who, clockNow, boot } from "./me.js";
import { noteVisit } from "./visit-on.js";
import { say } from "./events.js";
import { t } from "./words.js";

/** MAX_FILE is the largest file that is taken, in bytes. */
export const MAX_FILE = 64 * 1024 * 1024;
const lead = { seq: 0, prev: "" };
const moved = Symbol("the chain moved on");

/** clean leaves out what is empty: an absent field is unknown, an empty one would be a statement. */
export function clean(v) {
  if (Array.isArray(v)) return v.map(clean);
  if (v === null || typeof v !== "object") return v;
  const kept = Object.entries(v).filter(([, x]) => x !== undefined && x !== null && x !== "" && x !== false && !(Array.isArray(x) && x.length === 0));
  return Object.fromEntries(kept.map(([k, x]) => [k, clean(x)]));
}

let turn = Promise.resolve();
let head = null; // of the chain, as this tab saw it last; the transaction finds out when it is the head no longer
/**
 * record keeps one entry and returns {id, job, kind, at, body}. file is {blob, digest} for a photo entry: its bytes are
 * kept in the same transaction. It throws, with a sentence, when the phone has no room; nothing is then kept.
 */
export function record(job, kind, body, more = {}) {
  const mine = turn.then(() => recordNow(job, kind, body, more));
  turn = mine.catch(() => {});
  return mine;
}

async function recordNow(job, kind, body, { file, supersedes, why, id = uuid7(), at = new Date() }) {
  const me = who();
  if (!me) throw new Error(t("record.sign-in"));
  const mine = (chain) => (chain?.device === me.actor.device ? chain : lead); // another device's chain is none to go on from
  for (;;) {
    const { seq, prev } = mine((head ??= await getMeta("chain")));
    const entry = {
      id, shop: me.actor.shop, job, kind, at: zoned(at), by: me.actor.person, device: me.actor.device, seq: seq + 1, ...(prev && { prev }),
      clock: { offsetMs: clockNow()?.offsetMs ?? 0, uncertaintyMs: clockNow()?.uncertaintyMs ?? 86400000, monoMs: Math.round(performance.now()), boot },
      ...(supersedes && { supersedes, why }), body: clean(body),
    };
    const raw = JSON.stringify(entry);
    const next = { device: me.actor.device, seq: seq + 1, prev: await sha256(new TextEncoder().encode(raw)) };
    try {
      await strictly(["meta", "entries", ...(file ? ["files"] : [])], async (tx) => {
        const now = mine(await tx.objectStore("meta").get("chain"));
        if (now.seq !== seq || now.prev !== prev) throw moved;
        const keep = [];
        const put = (store, ...what) => {
          const done = tx.objectStore(store).put(...what);
          done.catch(() => {}); // when one fails all do; the first failure is the one that counts
          keep.push(done);
        };
        put("meta", next, "chain");
        put("entries", { id, shop: me.actor.shop, job, kind, seq: seq + 1, raw, digest: file?.digest, bytes: file?.blob.size ?? 0, made: Date.now() });
        if (file) put("files", { digest: file.digest, blob: file.blob, bytes: file.blob.size, seq: seq + 1, kept: false });
        await Promise.all(keep);
      });
      head = next;
    } catch (e) {
      head = null;
      if (e === moved) continue;
      if (e?.name === "QuotaExceededError") throw new Error(t("record.no-room"));
      throw e;
    }
    noteVisit(job, kind);
    say("outbox");
    say(`journal:${job}`);
    return { id, job, kind, at: entry.at, body: entry.body, digest: file?.digest };
  }
}
