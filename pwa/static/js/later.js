// The desk's part of the app. It is loaded when it is first needed and then kept: nothing waits for it.
import { html, useEffect, useState } from "./view.js";
import { Wrong } from "./parts.js";
import { t } from "./words.js";

let loading = null, here = null;
/** loadDesk fetches the desk's modules, texts and look, once. */
export function loadDesk() {
  loading ??= import("./desk/desk.js").then(async (m) => { await m.ready; here = m; return m; });
  loading.catch(() => { loading = null; });
  return loading;
}

/** Desk shows one of the desk's screens or parts by its name; quiet leaves the place empty until it is here. */
export function Desk({ show, quiet, ...props }) {
  const [, drawn] = useState(0), [error, fail] = useState(null), [again, repeat] = useState(0);
  useEffect(() => {
    let live = true;
    // Also when it is here by now: it may have come between the drawing and this.
    loadDesk().then(() => live && drawn(1), () => live && fail(new Error(t("api.no-answer"))));
    return () => { live = false; };
  }, [again]);
  if (here) return html`<${here[show]} ...${props} />`;
  if (quiet) return null;
  return html`<main id="main">${error ? html`<${Wrong} error=${error} retry=${() => { fail(null); repeat((n) => n + 1); }} />` : html`<p class="starting">${t("loading")}</p>`}</main>`;
}
