// A new version of the app: fetched in the background, taken only when the person says so. Work on the screen and in the
// outbox is never dropped by it.
import { html, useState, useEffect } from "./view.js";
import { hear, say } from "./events.js";
import { t } from "./words.js";

let ready = null; // the worker that waits

/** watchUpdates registers the service worker and looks for a new version now and whenever the app comes to the front. */
export async function watchUpdates() {
  if (!("serviceWorker" in navigator) || !isSecureContext) return;
  let had = Boolean(navigator.serviceWorker.controller);
  navigator.serviceWorker.addEventListener("controllerchange", () => {
    if (had) location.reload();
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
  if (!ready) return null;
  return html`<div class="line busy" role="status"><span class="line-in"><span>${t("update.ready")}</span>
    <button type="button" class="btn" onClick=${() => ready.postMessage("take over")}>${t("update.reload")}</button></span></div>`;
}
