// This phone, and the phones of the shop: who is signed in, room, installing, settings, pairing, cutting a lost phone off.
import { html, useState } from "../view.js";
import { Screen, Notice, Field, Pick, Choices, Do, Ask, Mark, tell } from "../parts.js";
import { Install, room, keep, installed, LOW } from "../install.js";
import { useLoaded, useNews, say } from "../events.js";
import { Later } from "../later.js";
import { CSV } from "../csv.js";
import * as api from "../api.js";
import * as me from "../me.js";
import { waiting } from "../outbox.js";
import { placeWanted, wantPlace } from "../place.js";
import { go } from "../route.js";
import { t, size, moment, number, languages, tongue, speak } from "../words.js";

export function Phone() {
  useNews("session");
  const who = me.who(), [n, again] = useState(0);
  const { value: r, error } = useLoaded(room, [n]);
  if (!r && !error) return html`<${Screen} title=${t("phone.title")} up="/"><p class="soft">${t("loading")}</p><//>`;
  return html`<${Screen} title=${t("phone.title")} up="/">
    <div class="columns"><div><${Person} who=${who} />${r && html`<${Room} r=${r} again=${() => again(n + 1)} />`}<${Settings} /></div>
    <div><section class="sheet" aria-labelledby="h-install"><h2 id="h-install">${t("install.heading")}</h2><${Install} /></section>
      <${PairPhone} /><${Password} /><${Devices} />${me.isOwner() && html`<${People} />`}<${Later} show="CalendarAddress" quiet />${me.isOffice() && html`<${Later} show="Import" quiet />`}</div></div>
    <p class="soft small">${t("phone.version", { version: document.querySelector('meta[name="kickplate-version"]')?.content || "" })}</p>
  <//>`;
}

function Person({ who }) {
  const [leaving, ask] = useState(false);
  const { value: list } = useLoaded(waiting, [useNews("outbox")]);
  const clock = me.clockNow();
  const out = async () => { await me.leave(); go("/", { replace: true }); };
  return html`<section class="sheet" aria-labelledby="h-who"><h2 id="h-who">${who.actor.person}</h2>
    <dl class="facts"><dt>${t("phone.shop")}</dt><dd>${who.shop?.name || who.actor.shop}</dd><dt>${t("phone.role")}</dt><dd>${t(`role.${who.actor.role}`)}</dd>
      ${who.deviceName && html`<dt>${t("phone.device")}</dt><dd>${who.deviceName}</dd>`}
      <dt>${t("phone.clock")}</dt><dd>${clock ? t(Math.abs(clock.offsetMs) <= clock.uncertaintyMs + 1000 ? "phone.clock-good" : clock.offsetMs > 0 ? "phone.clock-fast" : "phone.clock-slow", { n: Math.round(Math.abs(clock.offsetMs) / 1000) }) : t("phone.clock-unknown")}</dd></dl>
    <div class="btn-row"><button type="button" class="btn quiet" onClick=${() => ask(true)}>${t("phone.sign-out")}</button></div>
    ${leaving && html`<${Ask} title=${t("phone.sign-out")} onClose=${() => ask(false)}><p>${list?.length ? t("phone.sign-out-waiting", { n: list.length }) : t("phone.sign-out-text")}</p>
      <div class="btn-row"><button type="button" class="btn" onClick=${() => ask(false)}>${t("cancel")}</button><${Do} act=${out} kind="danger">${t("phone.sign-out")}<//></div><//>`}</section>`;
}

function Room({ r, again }) {
  const ask = async () => { tell(t((await keep()) ? "room.persisted" : "room.refused")); again(); };
  return html`<section class="sheet stack" aria-labelledby="h-room"><h2 id="h-room">${t("room.title")}</h2>
    ${r.free !== null && html`<p>${t("room.numbers", { used: size(r.used || 0), free: size(Math.max(0, r.free)), photos: number(Math.floor(Math.max(0, r.free) / 4e6)) })}</p>`}
    ${r.free !== null && r.free < LOW && html`<${Notice} kind="care"><p>${t("room.low", { free: size(Math.max(0, r.free)) })}</p><//>`}
    ${r.persisted ? html`<p><${Mark} kind="met" icon="met">${t("room.persisted")}<//></p>` : html`<${Notice} kind="care"><p>${t(installed() ? "room.may-evict" : "room.may-evict-install")}</p><//>
      ${navigator.storage?.persist && html`<${Do} act=${ask}>${t("room.ask")}<//>`}`}</section>`;
}

function Settings() {
  const [left, setLeft] = useState(localStorage.getItem("left-handed") === "yes"), [place, setPlace] = useState(placeWanted());
  const hand = (e) => { setLeft(e.target.checked); localStorage.setItem("left-handed", e.target.checked ? "yes" : "no"); document.documentElement.classList.toggle("left-handed", e.target.checked); };
  const where = (e) => { setPlace(e.target.checked); wantPlace(e.target.checked); };
  return html`<section class="sheet" aria-labelledby="h-settings"><h2 id="h-settings">${t("settings.title")}</h2>
    <${Choices} label=${t("settings.language")} name="language" options=${languages} value=${tongue} onPick=${speak} />
    <label class="tick"><input type="checkbox" checked=${left} onChange=${hand} /><span>${t("settings.left")}</span></label>
    <label class="tick"><input type="checkbox" checked=${place} onChange=${where} /><span>${t("settings.place")}</span></label></section>`;
}

function PairPhone() {
  const [shown, show] = useState(null);
  const make = async () => show(await api.pairing());
  return html`<section class="sheet" aria-labelledby="h-pair"><h2 id="h-pair">${t("pair.title")}</h2><p>${t("pair.text")}</p>
    ${shown && html`<img class="qr" alt=${t("pair.code")} src=${`data:image/svg+xml,${encodeURIComponent(shown.svg)}`} /><p class="soft small">${t("pair.until", { time: moment(shown.expires) })}</p>`}
    <div class="btn-row"><${Do} act=${make} icon="phone">${t(shown ? "pair.again" : "pair.do")}<//></div></section>`;
}

function Devices() {
  const news = useNews("devices");
  const { value, error } = useLoaded(() => api.devices(), [news]);
  const [asked, ask] = useState(null);
  if (!value) return error && error.status === 0 ? html`<p class="soft small">${error.message}</p>` : null;
  const cut = async () => { await api.removeDevice(asked.id); ask(null); say("devices"); tell(t("devices.cut")); };
  return html`<section class="sheet" aria-labelledby="h-devices"><h2 id="h-devices">${t("devices.title")}</h2>
    ${!value.devices.length && html`<p class="soft">${t("devices.none")}</p>`}
    <ul class="rows">${value.devices.map((d) => html`<li key=${d.id}><b>${d.name}</b> <span class="soft">${d.personName}</span><p class="soft small">${t("devices.seen", { when: moment(d.seen) })}</p>
      <div class="btn-row"><button type="button" class="btn danger" onClick=${() => ask(d)}>${t("devices.cut-do")}</button></div></li>`)}</ul>
    ${value.devices.length > 0 && html`<div class="btn-row"><${CSV} path="/devices.csv" /></div>`}
    ${asked && html`<${Ask} title=${t("devices.cut-title", { name: asked.name })} onClose=${() => ask(null)}><p>${t("devices.cut-text")}</p>
      <div class="btn-row"><button type="button" class="btn" onClick=${() => ask(null)}>${t("cancel")}</button><${Do} act=${cut} kind="danger">${t("devices.cut-do")}<//></div><//>`}</section>`;
}

function People() {
  const news = useNews("people");
  const { value } = useLoaded(() => api.people(), [news]);
  const [form, fill] = useState({ name: "", role: "technician" }), [link, show] = useState(null);
  const add = async () => {
    if (!form.name.trim()) throw new Error(t("people.need-name"));
    const got = await api.addPerson({ name: form.name.trim(), role: form.role });
    show({ name: got.person.name, enter: got.enter });
    fill({ ...form, name: "" });
    say("people");
  };
  const again = (p) => async () => show({ name: p.name, enter: (await api.entryLink(p.id)).enter });
  return html`<section class="sheet" aria-labelledby="h-people"><h2 id="h-people">${t("people.title")}</h2>
    ${link && html`<${Notice} kind="good"><p>${t("people.link", { name: link.name })}</p><p class="num">${link.enter}</p><//>`}
    <ul class="rows">${(value?.people || []).map((p) => html`<li key=${p.id}><b>${p.name}</b> <span class="soft">${t(`role.${p.role}`)}</span> <${Do} act=${again(p)} kind="quiet">${t("people.new-link")}<//></li>`)}</ul>
    <${Field} label=${t("people.name")} value=${form.name} onInput=${(e) => fill({ ...form, name: e.target.value })} maxlength="100" />
    <${Choices} label=${t("phone.role")} name="role" options=${["technician", "office", "owner"].map((id) => ({ id, title: t(`role.${id}`) }))} value=${form.role} onPick=${(role) => fill({ ...form, role })} />
    <${Do} act=${add} icon="people">${t("people.add")}<//>
    <div class="btn-row"><${CSV} path="/people.csv" /></div></section>`;
}

function Password() {
  const [form, fill] = useState({ fresh: "", present: "" });
  const has = me.who()?.person?.password;
  const save = async () => {
    if (form.fresh.length < 10) throw new Error(t("password.short"));
    await api.setPassword(form.fresh, form.present);
    fill({ fresh: "", present: "" });
    tell(t("password.done"));
  };
  return html`<section class="sheet" aria-labelledby="h-password"><details><summary id="h-password">${t("password.title")}</summary>
    ${has && html`<${Field} label=${t("password.present")} type="password" autocomplete="current-password" value=${form.present} onInput=${(e) => fill({ ...form, present: e.target.value })} />`}
    <${Field} label=${t("password.fresh")} hint=${t("password.hint")} type="password" autocomplete="new-password" value=${form.fresh} onInput=${(e) => fill({ ...form, fresh: e.target.value })} />
    <${Do} act=${save}>${t("password.do")}<//></details></section>`;
}
