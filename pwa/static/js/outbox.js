// Sending what the phone keeps. Nothing leaves the outbox before the server has said that it is durable there; a
// refused entry is set aside with the server's sentence and never holds up the others.
import * as api from "./api.js";
import { db, strictly, getMeta, setMeta } from "./db.js";
import { say, hear } from "./events.js";
import { who, lostSession, measureClock } from "./me.js";
import { dropErased, dropJob } from "./erased.js";

const BATCH = 100, BATCH_BYTES = 400000, PARALLEL = 2;
const sent = new Map(); // bytes sent of each file that is under way
let failures = 0, timer = null, running = false, inRound = false, askedAgain = false;

/** progressOf is how many bytes of a file have been sent, as far as this tab knows. */
export const progressOf = (digest) => sent.get(digest) || 0;

/** waiting lists the outbox by order of making: [{id, job, kind, seq, raw, digest, bytes, refused?}]. */
export async function waiting() {
  return (await (await db()).getAll("entries")).sort((a, b) => a.made - b.made || a.seq - b.seq);
}

/** state sums up the outbox: {count, bytes, done, refused, trouble}. trouble is why sending does not work now, or null. */
export async function state() {
  const all = await waiting();
  const open = all.filter((e) => !e.refused);
  const bytes = open.reduce((n, e) => n + e.bytes + e.raw.length, 0);
  const done = open.reduce((n, e) => n + Math.min(progressOf(e.digest), e.bytes), 0);
  return { count: open.length, bytes, done, refused: all.length - open.length, trouble: open.length ? (await getMeta("trouble")) ?? null : null };
}

/** kick sends now, if anything waits. */
export function kick() {
  if (running) {
    askedAgain = true;
    if (inRound) sendReady().catch(() => {}); // what is small passes a large file; failures are the round's to tell
    hire();
    return;
  }
  clearTimeout(timer);
  running = true;
  askedAgain = false;
  pump().finally(() => {
    running = false;
    if (askedAgain && !failures) kick();
  });
}

async function pump() {
  if (!who() || !isSecureContext) return;
  const alone = async (lock) => {
    if (lock === null) return; // another tab sends
    try {
      if ((await waiting()).some((e) => !e.refused)) {
        if (failures || (await getMeta("trouble"))) {
          await measureClock();
          await trouble(null); // there is an answer: what stood in the way is told anew if it still does
        }
        await dropErased();
        inRound = true;
        await round();
      }
      failures = 0;
      await trouble(null);
    } catch (e) {
      await failed(e);
    } finally {
      inRound = false;
    }
  };
  if (navigator.locks) await navigator.locks.request("kickplate-send", { ifAvailable: true }, alone);
  else await alone();
}

async function trouble(what) {
  const now = (await getMeta("trouble")) ?? null;
  if (JSON.stringify(now) !== JSON.stringify(what)) {
    await setMeta("trouble", what);
    say("outbox");
  }
}

/** pause is how long to wait, in seconds, after so many failures in a row: longer each time, at most three minutes, never shorter than the server asked for, and by chance apart from other phones'. */
export const pause = (failures, retryAfter, chance) => Math.max(retryAfter * (1 + chance / 2), Math.min(120, 2 ** failures) * (0.5 + chance));

async function failed(e) {
  sent.clear();
  if (e instanceof api.ApiError && e.status === 401) {
    lostSession();
    return trouble({ kind: "sign-in", says: e.message });
  }
  failures++;
  timer = setTimeout(kick, pause(failures, e.retryAfter || 0, Math.random()) * 1000);
  return trouble({ kind: e instanceof api.ApiError && e.status === 0 ? "no-answer" : "fault", says: e.message });
}

let crew = null; // the uploads of the round that is under way: {begun, workers, bad}

// round sends everything that can be sent: entries first, then files two at a time, each file's entry right after it.
async function round() {
  await sendReady();
  const mine = (crew = { begun: new Set(), workers: new Set(), bad: null });
  for (let i = 0; i < PARALLEL; i++) hire();
  while (mine.workers.size) await Promise.all(mine.workers);
  crew = null;
  if (mine.bad) throw mine.bad;
  if ((await filesToSend()).length) askedAgain = true; // to be sent once more
}

// hire lets one more file be sent beside the others of this round, as long as fewer than PARALLEL are.
function hire() {
  const mine = crew;
  if (!mine || mine.bad || mine.workers.size >= PARALLEL) return;
  const worker = work(mine).catch((e) => { mine.bad ??= e; }).finally(() => mine.workers.delete(worker));
  mine.workers.add(worker);
}

async function work(mine) {
  while (!mine.bad) {
    const f = (await filesToSend()).find((f) => !mine.begun.has(f.digest));
    if (!f) return;
    mine.begun.add(f.digest);
    await uploadOne(f);
    await sendReady();
  }
}

async function filesToSend() {
  const wanted = new Map((await waiting()).filter((e) => e.digest && !e.refused && e.shop === who().actor.shop).map((e) => [e.digest, e.seq]));
  const files = await (await db()).getAll("files");
  return files.filter((f) => !f.kept && wanted.has(f.digest)).sort((a, b) => a.seq - b.seq);
}

async function uploadOne(f) {
  try {
    await upload(f);
    await strictly(["files"], async (tx) => {
      const now = await tx.objectStore("files").get(f.digest);
      if (now) await tx.objectStore("files").put({ ...now, kept: true });
    });
  } catch (e) {
    if (!(e instanceof api.ApiError) || e.again || e.status === 401) throw e;
    await refuse((w) => w.digest === f.digest, e);
  } finally {
    say("outbox");
  }
}

/** upload sends a file's bytes from where the server has come to. It returns when the server says that they are durable. */
async function upload(f) {
  const path = `/originals/${f.digest}`;
  let offset = 0, misses = 0, step = 256 * 1024;
  try {
    const res = await api.call(path, { method: "HEAD" });
    if (res.status === 200) return void sent.set(f.digest, f.bytes);
    offset = Number(res.headers.get("Upload-Offset")) || 0;
  } catch (e) {
    if (e.status !== 404) throw e;
  }
  for (;;) {
    sent.set(f.digest, offset);
    say("progress");
    const from = performance.now();
    try {
      const res = await api.call(path, {
        method: "PATCH", body: f.blob.slice(offset, Math.min(offset + step, f.bytes)), limit: 90000,
        headers: { "Content-Type": "application/offset+octet-stream", "Upload-Offset": String(offset), "Upload-Length": String(f.bytes) },
      });
      if (res.status !== 204) return void sent.set(f.digest, f.bytes);
      offset = Number(res.headers.get("Upload-Offset"));
    } catch (e) {
      if (e.status !== 409 || e.offset === null || ++misses > 5) throw e;
      offset = e.offset;
    }
    const took = performance.now() - from;
    if (took < 800) step = Math.min(step * 2, 4 * 1024 * 1024);
    else if (took > 4000) step = Math.max(step / 2, 64 * 1024);
  }
}

let sending = Promise.resolve();
// sendReady sends the entries whose bytes are on the server; one batch at a time.
function sendReady() {
  const mine = sending.then(sendReadyNow);
  sending = mine.catch(() => {});
  return mine;
}

async function sendReadyNow() {
  for (;;) {
    const kept = new Set((await (await db()).getAll("files")).filter((f) => f.kept).map((f) => f.digest));
    const ready = (await waiting()).filter((e) => !e.refused && e.shop === who().actor.shop && (!e.digest || kept.has(e.digest)));
    const batch = [];
    let bytes = 0;
    for (const e of ready) {
      if (batch.length === BATCH || (batch.length && bytes + e.raw.length > BATCH_BYTES)) break;
      batch.push(e);
      bytes += e.raw.length;
    }
    if (!batch.length) return;
    await sendBatch(batch);
  }
}

async function sendBatch(batch) {
  try {
    const { results } = await api.append(batch.map((e) => e.raw));
    await acknowledged(batch, results);
  } catch (e) {
    if (!(e instanceof api.ApiError) || e.again || e.status === 401) throw e;
    const at = Number(/^entries\[(\d+)\]/.exec(e.where || "")?.[1] ?? NaN);
    const culprit = batch[at] ?? (batch.length === 1 ? batch[0] : null);
    if (!culprit) {
      for (const one of batch) await sendBatch([one]);
    } else if (e.code === "erased") {
      await dropJob(culprit.job);
      askedAgain = true;
    } else if (e.code === "missing-bytes" && culprit.digest && (await sendBytesAgain(culprit.digest))) {
      askedAgain = true;
    } else {
      await refuse((w) => w.id === culprit.id, e);
    }
  }
}

const sendBytesAgain = (digest) => strictly(["files"], async (tx) => {
  const f = await tx.objectStore("files").get(digest);
  if (f) await tx.objectStore("files").put({ ...f, kept: false });
  return Boolean(f);
});

async function refuse(which, e) {
  await strictly(["entries"], async (tx) => {
    const store = tx.objectStore("entries");
    for (const w of await store.getAll()) {
      if (which(w)) await store.put({ ...w, refused: { says: e.message, where: e.where || "", code: e.code } });
    }
  });
  say("outbox");
}

// acknowledged moves entries from the outbox to the journal, and drops the bytes that nothing waits for any more.
async function acknowledged(batch, results) {
  const leaf = new Map(results.map((r) => [r.id, r.leaf]));
  const done = batch.filter((e) => leaf.has(e.id));
  await strictly(["entries", "files", "journal"], async (tx) => {
    for (const e of done) {
      await tx.objectStore("journal").put({ id: e.id, job: e.job, raw: e.raw, leaf: leaf.get(e.id), received: null });
      await tx.objectStore("entries").delete(e.id);
    }
    const left = new Set((await tx.objectStore("entries").getAll()).map((e) => e.digest).filter(Boolean));
    for (const e of done) {
      if (e.digest && !left.has(e.digest)) await tx.objectStore("files").delete(e.digest);
    }
  });
  for (const e of done) sent.delete(e.digest);
  for (const job of new Set(done.map((e) => e.job))) { say(`journal:${job}`); say(`sent:${job}`); }
  say("outbox");
}

/** sendAgain takes a refused entry back into the queue. */
export async function sendAgain(id) {
  await strictly(["entries"], async (tx) => {
    const e = await tx.objectStore("entries").get(id);
    if (e) { delete e.refused; await tx.objectStore("entries").put(e); }
  });
  say("outbox");
  kick();
}

/** discard deletes a refused entry, with its bytes, from this phone for good. */
export async function discard(id) {
  await strictly(["entries", "files"], async (tx) => {
    const e = await tx.objectStore("entries").get(id);
    await tx.objectStore("entries").delete(id);
    if (e?.digest && !(await tx.objectStore("entries").getAll()).some((x) => x.digest === e.digest)) await tx.objectStore("files").delete(e.digest);
  });
  say("outbox");
}

/** start sends at every sign that sending may work: something new, the app coming to the front, the network coming back. */
export function start() {
  hear("outbox", () => { if (!failures) kick(); }); // while it fails, the timer decides
  hear("session", () => { failures = 0; kick(); });
  for (const sign of ["online", "pageshow", "focus"]) addEventListener(sign, () => { failures = Math.min(failures, 2); kick(); });
  document.addEventListener("visibilitychange", () => { if (!document.hidden) kick(); });
  setInterval(() => { if (!document.hidden && !failures) kick(); }, 60000);
  kick();
}
