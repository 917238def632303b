// Small pictures: made on this phone while it has the photo's bytes, else fetched from the server, and kept.
import * as api from "./api.js";
import { db } from "./db.js";
import { hear } from "./events.js";

// The files just taken in: on a good line the outbox may have sent one, and let it go, before anybody has looked at it.
const recent = new Map();

/** remember keeps a file's bytes at hand for as long as it is one of the last three. */
export function remember(digest, blob) {
  recent.set(digest, blob);
  for (const old of [...recent.keys()].slice(0, -3)) recent.delete(old);
}

/** ownBytes are a photo's bytes while they are on this phone, or undefined. */
export const ownBytes = async (digest) => recent.get(digest) || (await (await db()).get("files", digest))?.blob;

/** shrink draws a bitmap so that its longer side is at most long pixels: {canvas, ctx, w, h}. */
export function shrink(bitmap, long) {
  const scale = Math.min(1, long / Math.max(bitmap.width, bitmap.height));
  const w = Math.max(1, Math.round(bitmap.width * scale)), h = Math.max(1, Math.round(bitmap.height * scale));
  const canvas = Object.assign(document.createElement("canvas"), { width: w, height: h });
  const ctx = canvas.getContext("2d", { willReadFrequently: true });
  ctx.imageSmoothingQuality = "high";
  ctx.drawImage(bitmap, 0, 0, w, h);
  return { canvas, ctx, w, h };
}

/** thumbOf is a bitmap's small picture as a JPEG. */
export const thumbOf = (bitmap) => new Promise((done) => shrink(bitmap, 320).canvas.toBlob(done, "image/jpeg", 0.8));

// ownSmall makes the small picture of a photo whose bytes are here; the app may have been closed before it was made.
async function ownSmall(digest) {
  const blob = await ownBytes(digest);
  if (!blob || !/^image\//.test(blob.type || "image/")) return null;
  try {
    const bitmap = await createImageBitmap(blob, { imageOrientation: "from-image" });
    try { return await thumbOf(bitmap); } finally { bitmap.close(); }
  } catch { return null; } // a kind of file that this browser can't show: the server may
}

/** smallPicture is a photo's small picture. It throws when neither the phone nor the server has the photo yet. */
export async function smallPicture(digest, job) {
  const d = await db();
  const hit = await d.get("thumbs", digest);
  if (hit?.blob) return hit.blob;
  const blob = (await ownSmall(digest)) || (await api.picture(digest, "thumb"));
  keepSmall(digest, { blob, job }).catch(() => {}); // no room for small pictures: no harm
  return blob;
}

/** writtenAt is when a file was last written, in ms, where it was not just before it was kept; else null. */
export const writtenAt = async (digest) => (await (await db()).get("thumbs", digest))?.written ?? null;

/** keepSmall adds to what is kept of a photo's look: {blob, job, facts, written}. What was kept before and is not named stays. */
export async function keepSmall(digest, more) {
  const tx = (await db()).transaction("thumbs", "readwrite");
  await tx.store.put({ ...(await tx.store.get(digest)), ...more, digest });
  await tx.done;
}

/**
 * whenHere hands got what get (async) gives, as soon as it can be had: a photo may still be on its way between phone and server, so
 * get is asked again when news of the job comes, and a few times by itself. missing is called each time it can't be had. It returns
 * what stops that.
 */
export function whenHere(job, get, got, missing) {
  let live = true, busy = false, again = false, timer = null, tries = 0;
  const stop = () => { live = false; clearTimeout(timer); stops.forEach((s) => s()); };
  const run = async () => {
    if (busy) { again = true; return; }
    busy = true;
    clearTimeout(timer);
    const value = await get().catch(() => null);
    busy = false;
    if (!live) return;
    if (value) { stop(); got(value); return; }
    missing?.();
    if (again) { again = false; run(); } else if (tries < 6) timer = setTimeout(run, 2000 * 2 ** tries++);
  };
  const stops = [hear(`journal:${job}`, run), hear(`sent:${job}`, run)];
  run();
  return stop;
}
