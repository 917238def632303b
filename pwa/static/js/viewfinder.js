// The camera inside the page: for quick series, and for matching an earlier picture by its outline. The system's own camera stays the
// dependable way; this one is offered where the browser has it. Where the browser hands over the camera's own bytes they are kept as they are.
import { html, useEffect, useRef, useState } from "./view.js";
import { Do, Pick, Notice, tell } from "./parts.js";
import { keepPhoto } from "./intake.js";
import { nameOf } from "./photos.js";
import { smallPicture, whenHere } from "./small.js";
import { findPlace } from "./place.js";
import { t } from "./words.js";

/** canView is true where the browser lets a page show the camera. */
export const canView = () => isSecureContext && Boolean(navigator.mediaDevices?.getUserMedia);

/** useCamera is the page's camera: {on, problem, open, close, video, shot}. on is its stream, video the ref of what shows it; shot gives a File. */
export function useCamera() {
  const video = useRef(), held = useRef({}).current, [on, set] = useState(null), [problem, fail] = useState("");
  useEffect(() => { held.gone = false; return () => { held.gone = true; }; }, []);
  useEffect(() => () => stop(on), [on]);
  useEffect(() => { if (on && video.current) video.current.srcObject = on; }, [on]);
  const show = (stream) => set((held.stream = stream));
  const begin = async () => {
    findPlace();
    try {
      const stream = await navigator.mediaDevices.getUserMedia({ video: { facingMode: "environment", width: { ideal: 4032 }, height: { ideal: 3024 } } });
      if (held.gone) return stop(stream); // the screen was left meanwhile: nothing keeps the camera
      stream.getVideoTracks()[0].onended = () => held.stream === stream && show(null); // another app took it
      show(stream);
      fail("");
    } catch (e) { fail(t(e.name === "NotAllowedError" ? "view.refused" : "view.none")); }
  };
  // A screen may open it by itself while a person asks for it too: a second stream would end the first in the middle of a picture.
  const open = () => { if (!held.stream) return (held.opening ??= begin().finally(() => { held.opening = null; })); };
  const shot = async () => {
    const blob = await photoOf(on.getVideoTracks()[0], video.current);
    return new File([blob], `camera.${blob.type === "image/png" ? "png" : "jpg"}`, { type: blob.type, lastModified: Date.now() });
  };
  return { on, problem, open, close: () => show(null), video, shot };
}
const stop = (stream) => stream?.getTracks().forEach((x) => x.stop());

/** Finder is what the camera sees, with the outline of an earlier photo (its digest) over it when there is one. */
export const Finder = ({ camera, ghost, job }) => html`<div class="finder"><video ref=${camera.video} autoplay playsinline muted aria-label=${t("view.name")}></video>${ghost && html`<${Outline} key=${ghost} digest=${ghost} job=${job} />`}</div>`;

/** Viewfinder shows the camera, with the outline of an earlier photo of the job over it when one is picked. */
export function Viewfinder({ id, job, body, onKept }) {
  const camera = useCamera(), [before, match] = useState("");
  const earlier = (job?.photos || []).filter((p) => !/^(video|audio|application)/.test(job.facts?.[p.body.digest]?.type || ""));
  const ghost = earlier.find((p) => p.entry === before);
  const take = async () => {
    const entry = await keepPhoto(id, await camera.shot(), { ...body, ...(ghost && { pairedWith: ghost.entry, pair: "before-after" }) }, true);
    tell(t("shoot.kept", { n: 1 }));
    await onKept?.(entry);
  };
  if (!camera.on) return html`<div class="sheet stack"><p>${t("view.what")}</p>${camera.problem && html`<${Notice} kind="care"><p>${camera.problem}</p><//>`}<${Do} act=${camera.open} kind="wide" icon="camera">${t("view.open")}<//></div>`;
  return html`<section class="sheet stack" aria-label=${t("view.name")}>
    <${Finder} camera=${camera} ghost=${ghost?.body.digest} job=${id} />
    <${Do} act=${take} kind="main big wide" icon="camera">${t("view.take")}<//>
    ${earlier.length > 0 && html`<${Pick} label=${t("view.match")} hint=${t("view.match-hint")} none=${t("view.match-none")} options=${earlier.map((p) => ({ id: p.entry, title: `${p.number} ${nameOf(p.body)}` }))} value=${before} onPick=${match} />`}
    <div class="btn-row"><button type="button" class="btn quiet" onClick=${camera.close}>${t("view.close")}</button></div>
  </section>`;
}

// photoOf asks the camera for a photo of its own; where the browser can't, the picture on the screen is taken.
async function photoOf(track, video) {
  if (window.ImageCapture) {
    try {
      const blob = await new ImageCapture(track).takePhoto();
      if (/^image\/(jpeg|png)$/.test(blob.type)) return blob;
    } catch { /* this camera only streams */ }
  }
  if (video.readyState < video.HAVE_CURRENT_DATA) await new Promise((done) => { video.addEventListener("loadeddata", done, { once: true }); setTimeout(done, 3000); });
  const canvas = Object.assign(document.createElement("canvas"), { width: video.videoWidth, height: video.videoHeight });
  canvas.getContext("2d").drawImage(video, 0, 0);
  return new Promise((done, refuse) => canvas.toBlob((b) => (b ? done(b) : refuse(new Error(t("view.none")))), "image/jpeg", 0.95));
}

/** Outline draws the edges of an earlier photo, so that the new one is taken from the same place. */
function Outline({ digest, job }) {
  const ref = useRef(), [missing, lack] = useState(false);
  useEffect(() => whenHere(job, async () => createImageBitmap(await smallPicture(digest, job), { imageOrientation: "from-image" }), (bitmap) => {
    lack(false);
    if (ref.current) edges(ref.current, bitmap);
    bitmap.close();
  }, () => lack(true)), [digest]);
  return html`<canvas ref=${ref} aria-hidden="true"></canvas>${missing && html`<p class="no-outline" role="status">${t("view.no-outline")}</p>`}`;
}

// What share of the picture the outline may cover, and how steep (in levels of brightness, as Sobel's operator counts them) a place must be at least.
const SHARE = 0.09, FLOOR = 12;

// edges draws the gradient of a picture's brightness (Sobel's operator): light lines where it is steepest, clear elsewhere. How steep is
// steep enough goes by the picture itself: a pale wall has an outline as well as a control board.
function edges(canvas, bitmap) {
  const w = (canvas.width = bitmap.width), h = (canvas.height = bitmap.height), g = canvas.getContext("2d");
  g.drawImage(bitmap, 0, 0);
  const pic = g.getImageData(0, 0, w, h), from = pic.data, grey = new Float32Array(w * h), slopes = new Uint16Array(w * h), out = g.createImageData(w, h);
  for (let i = 0; i < grey.length; i++) grey[i] = 0.299 * from[4 * i] + 0.587 * from[4 * i + 1] + 0.114 * from[4 * i + 2];
  for (let y = 1; y < h - 1; y++) {
    for (let x = 1; x < w - 1; x++) {
      const i = y * w + x, a = grey[i - w - 1], b = grey[i - w], c = grey[i - w + 1], d = grey[i - 1], e = grey[i + 1], f = grey[i + w - 1], k = grey[i + w], l = grey[i + w + 1];
      slopes[i] = Math.hypot(c + 2 * e + l - a - 2 * d - f, f + 2 * k + l - a - 2 * b - c);
    }
  }
  const sorted = slopes.slice().sort(), steep = Math.max(FLOOR, sorted[Math.floor(sorted.length * (1 - SHARE))]);
  for (let i = 0; i < slopes.length; i++) if (slopes[i] >= steep) out.data.set([255, 226, 92, Math.min(230, 120 + slopes[i] / 2)], 4 * i);
  g.putImageData(out, 0, 0);
}
