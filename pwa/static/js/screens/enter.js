// Coming in: by a one-time link, by the office's QR code, or by name and password.
import { html, useState } from "../view.js";
import { Field, Notice, Wrong } from "../parts.js";
import * as me from "../me.js";
import { t } from "../words.js";

const isPhone = () => matchMedia("(pointer: coarse)").matches;

export function Enter({ token, onDone }) {
  const [error, fail] = useState(null);
  const [busy, set] = useState(false);
  const [form, fill] = useState({ person: "", password: "", device: isPhone() ? t("enter.this-phone") : t("enter.this-computer") });
  const into = (name) => (e) => fill({ ...form, [name]: e.target.value });
  const run = (act) => async (e) => {
    e.preventDefault();
    set(true);
    fail(null);
    try { await act(); onDone(); } catch (x) { fail(x); } finally { set(false); }
  };
  const pairing = token?.kind === "pair";
  const useLink = () => (pairing ? me.pair(token.token, form.device.trim() || t("enter.this-phone")) : me.enter({ token: token.token }));
  const usePassword = () => me.enter({ person: form.person.trim(), password: form.password });
  return html`<div class="frame"><header class="top"><div class="top-row"><h1>Kickplate</h1></div></header>
    <main id="main"><div class="sheet stack enter">
      ${!isSecureContext && html`<${Notice} kind="care" title=${t("insecure.title")}><p>${t("insecure.text")}</p><//>`}
      <${Wrong} error=${error} />
      ${token && !error ? html`<form onSubmit=${run(useLink)}>
        <h2>${t(pairing ? "enter.pair-title" : "enter.link-title")}</h2>
        <p class="soft">${t(pairing ? "enter.pair-text" : "enter.link-text")}</p>
        ${pairing && html`<${Field} label=${t("enter.device-name")} hint=${t("enter.device-hint")} value=${form.device} onInput=${into("device")} maxlength="60" required />`}
        <div class="btn-row"><button class="btn main big wide" disabled=${busy}>${t(pairing ? "enter.pair-do" : "enter.link-do")}</button></div>
      </form>` : html`<form onSubmit=${run(usePassword)}>
        <h2>${t("enter.title")}</h2>
        <p class="soft small">${t("enter.how")}</p>
        <${Field} label=${t("enter.person")} name="username" autocomplete="username" value=${form.person} onInput=${into("person")} required />
        <${Field} label=${t("enter.password")} name="password" type="password" autocomplete="current-password" value=${form.password} onInput=${into("password")} required />
        <button class="btn main big wide" disabled=${busy}>${t("enter.do")}</button>
      </form>`}
    </div></main></div>`;
}
