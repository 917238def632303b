// Taking in a file: its bytes are never changed. Only its name (the SHA-256), a small picture and a look at its sharpness
// are made here; the look comes after "kept" has been said.
import { sha256 } from "./hash.js";
import { MAX_FILE, record } from "./record.js";
import { remember, ownBytes, shrink, thumbOf, keepSmall } from "./small.js";
import { say } from "./events.js";
import { placeNow } from "./place.js";
import { LONGEST, clipOf } from "./clip.js";
import * as core from "./core.js";
import { t, size } from "./words.js";

// takeFile reads and names a file: {blob, digest, clip}, clip being the kind of file that a clip is. It throws with a sentence when the file can't be taken.
async function takeFile(file) {
  if (!file.size) throw new Error(t("intake.empty"));
  if (file.size > MAX_FILE) throw new Error(t("intake.too-large", { size: size(file.size), most: size(MAX_FILE) }));
  // Each reading of a file is a way to another process and back: what it is and its bytes are asked for together.
  const [clip, bytes] = await Promise.all([clipOf(file).catch(() => ({ kind: "" })), file.arrayBuffer().catch(() => null)]);
  if (!bytes) throw new Error(t("intake.unreadable"));
  if (clip.kind === "other") throw new Error(t("clip.kind"));
  if (clip.seconds > LONGEST + 1) throw new Error(t("clip.too-long", { n: Math.round(clip.seconds), most: LONGEST }));
  const digest = sha256(bytes); // goes on beside the copy
  // A copy in our own store: a file that the phone only lends (its photo library) may be gone later.
  return { blob: new Blob([bytes], { type: file.type }), digest: await digest, clip: clip.kind === "clip" && (clip.type || file.type.split(";")[0] || "video/mp4") };
}

// With the first photo of a start there is something to lose: the browser is asked not to throw it away. Chromium and Safari answer by themselves.
let asked = false;
function askOnce() {
  if (asked) return;
  asked = true;
  navigator.storage?.persist?.().catch(() => {});
}

/** keepPhoto keeps a file as a photo of a job and returns the entry. body says what it shows; camera whether it was taken just now. */
export async function keepPhoto(job, file, body, camera) {
  const at = new Date(), from = performance.now();
  const { blob, digest, clip } = await takeFile(file);
  remember(digest, blob);
  const fresh = camera && Math.abs(at.getTime() - file.lastModified) < 120000;
  const entry = await record(job, "photo", {
    digest, bytes: blob.size, name: file.name?.slice(0, 150), source: camera ? "camera" : /^image\//.test(file.type) ? "gallery" : "file",
    position: camera ? placeNow() : undefined, ...body,
  }, { file: { blob, digest }, at: fresh ? new Date(Math.min(at.getTime(), file.lastModified)) : at });
  askOnce();
  if (!fresh && file.lastModified > 0) await keepSmall(digest, { job, written: file.lastModified }).catch(() => {}); // the screen says that it is no picture of just now
  performance.measure("photo-kept", { start: from, end: performance.now() });
  // What kind of clip it is, before it is called kept: lists then show it as one before the server has seen it. No room for that is no harm.
  if (clip) await keepSmall(digest, { job, facts: { digest, bytes: blob.size, type: clip, examiner: "phone" } }).catch(() => {});
  return entry;
}

/**
 * lookAt makes the small picture of a kept photo and measures it. It returns the facts ({sharp, dark, bright, alike, …}), or
 * null when this browser can't show the file. others are the job's photos it may repeat, digest → fingerprint.
 */
export async function lookAt(digest, job, others = {}) {
  const blob = await ownBytes(digest);
  if (!blob || !/^image\//.test(blob.type || "image/")) return null;
  let bitmap;
  try { bitmap = await createImageBitmap(blob, { imageOrientation: "from-image" }); } catch { return null; }
  try {
    const thumb = await thumbOf(bitmap);
    const facts = { digest, bytes: blob.size, type: blob.type || "image/jpeg", width: bitmap.width, height: bitmap.height, examiner: "phone" };
    // Just after the start the core may still be coming: the small picture shows at once, the look follows.
    if (!core.ready()) {
      await keepSmall(digest, { blob: thumb, job });
      say(`journal:${job}`);
      if (!(await core.whenReady(30000))) return facts;
    }
    const work = shrink(bitmap, 1600);
    const { alike, ...measured } = await core.measure(work.ctx.getImageData(0, 0, work.w, work.h).data, work.w, work.h, others);
    await keepSmall(digest, { blob: thumb, job, facts: { ...facts, ...measured } });
    say(`journal:${job}`);
    return { ...facts, ...measured, alike };
  } finally {
    bitmap.close();
  }
}
