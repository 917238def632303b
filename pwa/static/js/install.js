// Being kept on the phone: installing, persistent storage, and room, each said in numbers and with what to do.
import { html, useState, useEffect } from "./view.js";
import { Notice } from "./parts.js";
import { Link } from "./route.js";
import { t, size } from "./words.js";
import { useLoaded } from "./events.js";

let offer = null;
addEventListener("beforeinstallprompt", (e) => { e.preventDefault(); offer = e; });

export const installed = () => matchMedia("(display-mode: standalone)").matches || navigator.standalone === true;
const isApple = () => /iPhone|iPad|iPod/.test(navigator.userAgent) || (/Macintosh/.test(navigator.userAgent) && navigator.maxTouchPoints > 1);
const phone = () => matchMedia("(pointer: coarse)").matches;

/** LOW is the room in bytes below which the app warns: about a day's photos. */
export const LOW = 400e6;

/** room tells what the browser says of its storage: {used, free, persisted}, each null when it does not say. */
export async function room() {
  const s = navigator.storage;
  const e = s?.estimate ? await s.estimate() : {};
  return { used: e.usage ?? null, free: e.quota === undefined ? null : e.quota - (e.usage || 0), persisted: s?.persisted ? await s.persisted() : null };
}

/** keep asks the browser not to throw our data away. */
export const keep = async () => (navigator.storage?.persist ? navigator.storage.persist() : false);

/** InstallHint asks a phone's user to install the app, once, and warns when room runs low. */
export function InstallHint() {
  const [gone, set] = useState(localStorage.getItem("install-hint") === "seen");
  const { value: r } = useLoaded(room, [], "outbox");
  const close = () => { localStorage.setItem("install-hint", "seen"); set(true); };
  const low = r?.free !== null && r?.free < LOW;
  return html`
    ${!isSecureContext && html`<${Notice} kind="wrong" title=${t("insecure.title")}><p>${t("insecure.text")}</p><p><a href="/trust">${t("insecure.how")}</a></p><//>`}
    ${low && html`<${Notice} kind="care"><p>${t("room.low", { free: size(r.free) })}</p><//>`}
    ${isSecureContext && phone() && !installed() && !gone && html`<${Notice} title=${t("install.title")}>
      <p>${t(isApple() ? "install.why-apple" : "install.why")}</p>
      <div class="btn-row"><${Link} to="/phone" class="btn main">${t("install.how")}<//><button type="button" class="btn quiet" onClick=${close}>${t("install.later")}</button></div>
    <//>`}`;
}

/** Install explains how to install on this phone, or does it. */
export function Install() {
  const [, again] = useState(0);
  useEffect(() => {
    const f = () => again((n) => n + 1);
    addEventListener("beforeinstallprompt", f);
    return () => removeEventListener("beforeinstallprompt", f);
  }, []);
  if (installed()) return html`<p>${t("install.done")}</p>`;
  if (offer) return html`<button type="button" class="btn main" onClick=${() => offer.prompt()}>${t("install.do")}</button>`;
  if (isApple()) return html`<p>${t("install.why-apple")}</p><ol class="numbered"><li>${t("install.apple-1")}</li><li>${t("install.apple-2")}</li><li>${t("install.apple-3")}</li></ol>`;
  return html`<p>${t("install.other")}</p>`;
}
