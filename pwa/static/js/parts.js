// Small pieces that screens are made of.
import { html, useEffect, useRef, useState } from "./view.js";
import { Icon } from "./icons.js";
import { Mark, Notice } from "./signs.js";
import { Link, back } from "./route.js";
import { StatusLine } from "./status.js";
import { t } from "./words.js";
import { hear } from "./events.js";

export { Mark, Notice };

/** Screen is the frame of every screen: title, status line, content, and the band at the foot with the next thing to do. */
export function Screen({ title, up, foot, actions, children }) {
  const main = useRef();
  useEffect(() => {
    document.title = `${title} · Kickplate`;
  }, [title]);
  useEffect(() => { scrollTo(0, 0); main.current?.focus({ preventScroll: true }); }, [location.pathname]);
  return html`<div class="frame">
    <a class="skip" href="#main">${t("frame.skip")}</a>
    <header class="top"><div class="top-row">
      ${up && html`<button type="button" class="icon-btn" aria-label=${t("frame.back")} onClick=${() => back(up)}><${Icon} name="back" /></button>`}
      <h1>${title}</h1>
      ${actions}
    </div></header>
    <aside aria-label=${t("status.name")}><${StatusLine} /></aside>
    <main id="main" tabindex="-1" ref=${main}>${children}</main>
    ${foot && html`<nav class="plate" aria-label=${t("frame.next-steps")}><div class="plate-in">${foot}</div></nav>`}
    <${Said} />
  </div>`;
}

/** Wrong shows an error as its sentence, with a way to try again. */
export const Wrong = ({ error, retry }) => error && html`<${Notice} kind="wrong"><p>${error.message}</p>
  ${error.status === 401 && html`<div class="btn-row"><${Link} to="/enter" class="btn">${t("enter.title")}<//></div>`}
  ${error.status !== 401 && retry && html`<div class="btn-row"><button type="button" class="btn" onClick=${retry}><${Icon} name="again" />${t("again")}</button></div>`}<//>`;

/** Field is a field with its label; wrong is what is wrong with what stands in it, and what to write. */
export function Field({ label, hint, wrong, children, ...input }) {
  return html`<label class=${`field ${wrong ? "bad" : ""}`}><span>${label}</span>${children || html`<input type="text" autocomplete="off" aria-invalid=${wrong ? "true" : undefined} ...${input} />`}${hint && html`<small>${hint}</small>`}${wrong && html`<strong class="wrong-here">${wrong}</strong>`}</label>`;
}

/** Choices offers a few exclusive values as big buttons; wrong is what is wrong with what is chosen, or that nothing is. */
export function Choices({ label, name, options, value, onPick, wrong }) {
  return html`<fieldset class=${wrong && "bad"}><legend>${label}${wrong && html`<strong class="wrong-here">${wrong}</strong>`}</legend><div class="choices">
    ${options.map((o) => html`<label key=${o.id}><input type="radio" name=${name} value=${o.id} checked=${value === o.id} onChange=${() => onPick(o.id)} /><span>${o.title}</span></label>`)}
  </div></fieldset>`;
}

/**
 * Drop is a drop-down list whose chosen text stands there whole, on as many lines as it takes: browsers cut theirs off, which large text makes
 * unreadable. The browser's own list lies over it unseen, so fingers, keys and screen readers meet that.
 */
export function Drop({ options, value, onPick, none, ...rest }) {
  const all = none === undefined ? options : [{ id: "", title: none }, ...options];
  const chosen = value === undefined || value === null ? all[0] : all.find((o) => String(o.id) === String(value));
  return html`<span class="drop"><span class="chosen" aria-hidden="true">${chosen?.title}</span><select value=${value} onChange=${(e) => onPick(e.target.value)} ...${rest}>
    ${all.map((o) => html`<option key=${o.id} value=${o.id} selected=${o.id === value}>${o.title}</option>`)}
  </select></span>`;
}

/** Pick is a drop-down for long lists. */
export function Pick({ label, hint, wrong, options, value, onPick, none }) {
  return html`<${Field} label=${label} hint=${hint} wrong=${wrong}><${Drop} options=${options} value=${value} onPick=${onPick} none=${none} /><//>`;
}

/** Fold is folded away until it is opened; what is in it is only drawn then. draw gives it. */
export function Fold({ summary, draw, kind }) {
  const [open, set] = useState(false);
  return html`<details class=${kind} onToggle=${(e) => set(e.currentTarget.open)}><summary>${summary}</summary>${open && draw()}</details>`;
}

/** Go is a link that looks like a button. */
export const Go = ({ to, kind = "", icon, children }) => html`<${Link} to=${to} class=${`btn ${kind}`}>${icon && html`<${Icon} name=${icon} />`}${children}<//>`;

/** Do is a button that runs something that takes a while: it can't be pressed twice, and a refusal becomes a sentence. */
export function Do({ act, kind = "", icon, children, onError, ...rest }) {
  const [busy, set] = useState(false);
  const press = async () => {
    if (busy) return;
    set(true);
    try { await act(); } catch (e) { if (onError) onError(e); else tell(e.message); } finally { set(false); }
  };
  return html`<button type="button" class=${`btn ${kind}`} onClick=${press} disabled=${busy} ...${rest}>${icon && html`<${Icon} name=${icon} />`}${children}</button>`;
}

/** Ask is a question in front of everything else. */
export function Ask({ title, onClose, children }) {
  const ref = useRef();
  useEffect(() => { const d = ref.current; if (d && !d.open) d.showModal(); return () => d?.close(); }, []);
  return html`<dialog class="ask" ref=${ref} onCancel=${(e) => { e.preventDefault(); onClose(); }} aria-labelledby="ask-title"><h2 id="ask-title">${title}</h2>${children}</dialog>`;
}

const voice = new EventTarget();
const SHOWN = 4000;
let last = { text: "", until: 0 };
/** tell shows a short sentence for a few seconds and lets screen readers say it; the screen may change meanwhile. */
export function tell(text) {
  last = { text, until: Date.now() + SHOWN };
  voice.dispatchEvent(new Event("tell"));
}
function Said() {
  const [text, set] = useState("");
  useEffect(() => {
    let timer;
    const hearIt = () => { set(last.text); clearTimeout(timer); timer = setTimeout(() => set(""), last.until - Date.now()); };
    if (last.until > Date.now()) hearIt(); // said by the screen before
    voice.addEventListener("tell", hearIt);
    return () => { voice.removeEventListener("tell", hearIt); clearTimeout(timer); };
  }, []);
  return html`<div role="status" aria-live="polite">${text && html`<p class="said">${text}</p>`}</div>`;
}

/** useRoute draws again when the address changes. */
export function useRoute() {
  const [, set] = useState(0);
  useEffect(() => hear("route", () => set((n) => n + 1)), []);
}
