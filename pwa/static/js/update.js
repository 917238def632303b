// A new version of the app: fetched in the background, taken only when the person says so. Work on the screen and in the
// outbox is never dropped by it.
import { html, useState, useEffect } from "./view.js";
import { hear, say } from "./events.js";
import { t } from "./words.js";

let ready = null; // the worker that waits
let asked = false, elsewhere = false; // whether the new version was wanted here, or taken in another window

/** watchUpdates registers the service worker and looks for a new version now and whenever the app comes to the front. */
export async function watchUpdates() {
  if (!("serviceWorker" in navigator) || !isSecureContext) return;
  let had = Boolean(navigator.serviceWorker.controller);
  navigator.serviceWorker.addEventListener("controllerchange", () => {
    // What is being written in this window is not dropped because another one has taken the new version.
    if (had && asked) location.reload();
    else if (had) { elsewhere = true; say("update"); }
    had = true;
  });
  try {
    const reg = await navigator.serviceWorker.register("/sw.js", { updateViaCache: "none" });
    const found = (w) => { if (w && navigator.serviceWorker.controller) { ready = w; say("update"); } };
    if (reg.waiting) found(reg.waiting);
    reg.addEventListener("updatefound", () => {
      const w = reg.installing;
      w?.addEventListener("statechange", () => { if (w.state === "installed") found(w); });
    });
    document.addEventListener("visibilitychange", () => { if (!document.hidden) reg.update().catch(() => {}); });
    setInterval(() => reg.update().catch(() => {}), 30 * 60000);
  } catch { /* without it the app works as long as there is signal; the phone screen says so */ }
}

/** UpdateBar says that a new version is here, with one button. */
export function UpdateBar() {
  const [, set] = useState(0);
  useEffect(() => hear("update", () => set((n) => n + 1)), []);
  if (!ready && !elsewhere) return null;
  const take = () => { if (elsewhere) location.reload(); else { asked = true; say("update"); ready.postMessage("take over"); } };
  return html`<div class="line busy" role="status"><span class="line-in"><span>${t(elsewhere ? "update.elsewhere" : "update.ready")}</span>
    <button type="button" class="btn" disabled=${asked} onClick=${take}>${t(asked ? "loading" : "update.reload")}</button></span></div>`;
}
