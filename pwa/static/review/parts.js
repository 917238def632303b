// The few building blocks of the reviewer's page.
import { html, useEffect, useRef, useState } from "../js/view.js";
import { Icon } from "../js/icons.js";

export { Mark, Notice } from "../js/signs.js";

export function Do({ act, kind = "", icon, children, onError, ...rest }) {
  const [busy, set] = useState(false);
  const press = async () => {
    if (busy) return;
    set(true);
    try { await act(); } catch (e) { onError(e); } finally { set(false); }
  };
  return html`<button type="button" class=${`btn ${kind}`} onClick=${press} disabled=${busy} ...${rest}>${icon && html`<${Icon} name=${icon} />`}${children}</button>`;
}

/** Dialog shows one thing in front of the page. */
export function Dialog({ label, onClose, children }) {
  const ref = useRef();
  useEffect(() => { const d = ref.current; if (d && !d.open) d.showModal(); return () => d?.close(); }, []);
  return html`<dialog class="viewer" ref=${ref} aria-label=${label} onCancel=${(e) => { e.preventDefault(); onClose(); }}>${children}</dialog>`;
}

/** useBlob makes an address for bytes and takes it back in the end. */
export function useBlob(bytes, type) {
  const [url, set] = useState("");
  useEffect(() => {
    if (!bytes) return undefined;
    const made = URL.createObjectURL(new Blob([bytes], { type }));
    set(made);
    return () => URL.revokeObjectURL(made);
  }, [bytes]);
  return url;
}
