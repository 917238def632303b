// Links to a bundle for people without an account: made, copied and ended beside the bundle.
import { html, useState } from "../view.js";
import { Ask, Choices, Do, Field, Mark, Notice, Pick, tell } from "../parts.js";
import { useLoaded } from "../events.js";
import { Icon } from "../icons.js";
import * as api from "../api.js";
import { pull } from "../source.js";
import { t, day, moment } from "../words.js";

/** Links makes, lists and ends the links to a job's bundles. It is for the desk: a technician does not send claims out. */
export function Links({ id, job }) {
  const bundles = job.bundles, news = `${(job.shares || []).length} ${(job.unshares || []).length} ${(job.fetches || []).length}`;
  const [turn, again] = useState(0);
  const { value } = useLoaded(() => api.links(id), [id, news, turn]);
  const latest = Math.max(...bundles.map((b) => b.body.version));
  const [form, fill] = useState({ for: "payer", to: "", days: "30", add: false, version: "" });
  const [made, show] = useState(null), [error, fail] = useState(null), [asked, ask] = useState(null);
  const make = async () => {
    fail(null);
    if (!form.to.trim()) throw new Error(t("links.need-to"));
    show(await api.makeLink(id, { for: form.for, to: form.to.trim(), days: Number(form.days), add: form.add, version: Number(form.version) || latest }));
    fill({ ...form, to: "" });
    again(turn + 1);
    await pull(id);
  };
  const end = async () => {
    await api.endLink(id, asked.id);
    ask(null);
    if (made?.link.id === asked.id) show(null);
    again(turn + 1);
    tell(t("links.ended-now"));
    await pull(id);
  };
  const { value: post } = useLoaded(() => api.mail(), []);
  const [letter, write] = useState(null);
  const send = async () => {
    fail(null);
    if (!form.to.trim()) throw new Error(t("links.need-to"));
    const sent = await api.sendMail(id, { for: form.for, to: form.to.trim(), days: Number(form.days), add: form.add, version: Number(form.version) || latest, ...letter });
    write(null);
    again(turn + 1);
    tell(t("links.mailed", { to: sent.to }));
    await pull(id);
  };
  const number = job.coverage?.number || job.open?.number || "";
  const begin = () => write({ address: (form.for === "customer" && job.customer?.email) || "", subject: t("links.mail-subject", { number }), words: t("links.mail-words"), file: false });
  const list = value?.links || [];
  return html`<details class="links"><summary id="h-links">${t("links.title")}${list.some((l) => l.open) ? ` (${list.filter((l) => l.open).length})` : ""}</summary>
    <p class="soft small">${t("links.what")}</p>
    ${made && html`<${Made} made=${made} />`}
    ${error && html`<${Notice} kind="wrong"><p>${error.message}</p><//>`}
    <${Choices} label=${t("links.for")} name="link-for" options=${["payer", "customer", "other"].map((x) => ({ id: x, title: t(`links.for-${x}`) }))} value=${form.for} onPick=${(v) => fill({ ...form, for: v })} />
    <${Field} label=${t("links.to")} hint=${t("links.to-hint")} value=${form.to} maxlength="200" onInput=${(e) => fill({ ...form, to: e.target.value })} />
    <div class="two"><${Pick} label=${t("links.days")} options=${[7, 30, 90, 180].map((n) => ({ id: String(n), title: t("links.n-days", { n }) }))} value=${form.days} onPick=${(v) => fill({ ...form, days: v })} />
      ${bundles.length > 1 && html`<${Pick} label=${t("links.version")} options=${[...bundles].reverse().map((b) => ({ id: String(b.body.version), title: t("bundle.version", { n: b.body.version }) }))} value=${form.version || String(latest)} onPick=${(v) => fill({ ...form, version: v })} />`}</div>
    <label class="tick"><input type="checkbox" checked=${form.add} onChange=${(e) => fill({ ...form, add: e.target.checked })} /><span>${t("links.add")}</span></label>
    <div class="btn-row"><${Do} act=${make} onError=${fail} icon="up">${t("links.make")}<//>
      ${post?.ready && !letter && html`<button type="button" class="btn" onClick=${begin}>${t("links.mail")}</button>`}</div>
    ${letter && html`<div class="form-foot" role="group" aria-label=${t("links.mail")}><p class="soft small">${t("links.mail-from", { from: post.from })}</p>
      <${Field} label=${t("links.mail-address")} type="email" value=${letter.address} maxlength="200" onInput=${(e) => write({ ...letter, address: e.target.value })} />
      <${Field} label=${t("links.mail-title")} value=${letter.subject} maxlength="200" onInput=${(e) => write({ ...letter, subject: e.target.value })} />
      <${Field} label=${t("links.mail-text")}><textarea maxlength="8000" value=${letter.words} onInput=${(e) => write({ ...letter, words: e.target.value })}></textarea><//>
      <label class="tick"><input type="checkbox" checked=${letter.file} onChange=${(e) => write({ ...letter, file: e.target.checked })} /><span>${t("links.mail-file")}</span></label>
      <div class="btn-row"><${Do} act=${send} onError=${fail} kind="main">${t("links.mail-send")}<//><button type="button" class="btn quiet" onClick=${() => write(null)}>${t("cancel")}</button></div></div>`}
    ${(job.mails || []).length > 0 && html`<ul class="rows bundle-list">${job.mails.map((m) => html`<li key=${m.entry} class="small">${t("links.was-mailed", { to: m.body.to, when: moment(m.at), by: m.by })} ${t("bundle.version", { n: m.body.version })}</li>`)}</ul>`}
    ${list.length > 0 && html`<ul class="rows bundle-list">${list.map((l) => html`<li key=${l.id}><p><b>${l.to}</b> <${Mark} kind=${l.open ? "met" : ""} icon=${l.open ? "met" : "close"}>${t(l.open ? "links.open" : l.ended ? "links.ended" : "links.expired", { day: day(l.ended || l.until) })}<//></p>
      <p class="soft small">${[t("bundle.version", { n: l.version }), t(`links.for-${l.for}`), t("links.made-by", { who: l.by, when: moment(l.made) }), l.open && t("links.until", { day: moment(l.until) })].filter(Boolean).join(" · ")}</p>
      <p class="small">${l.openings ? t("links.openings", { n: l.openings, when: moment(l.last) }) : t("links.never")}${l.add ? ` ${t("links.takes")}` : ""}</p>
      ${l.open && html`<div class="btn-row"><button type="button" class="btn danger" onClick=${() => ask(l)}>${t("links.end")}</button></div>`}</li>`)}</ul>`}
    ${asked && html`<${Ask} title=${t("links.end-title", { to: asked.to })} onClose=${() => ask(null)}><p>${t("links.end-text")}</p>
      <div class="btn-row"><button type="button" class="btn" onClick=${() => ask(null)}>${t("cancel")}</button><${Do} act=${end} kind="danger">${t("links.end")}<//></div><//>`}
  </details>`;
}

function Made({ made }) {
  const copy = async () => {
    await navigator.clipboard.writeText(made.url);
    tell(t("links.copied"));
  };
  return html`<${Notice} kind="good"><p>${t("links.made", { to: made.link.to })}</p><p class="num small" data-link>${made.url}</p>
    <div class="btn-row">${navigator.clipboard && html`<${Do} act=${copy}><${Icon} name="document" />${t("links.copy")}<//>`}
      ${navigator.share && html`<${Do} act=${() => navigator.share({ url: made.url }).catch(() => {})}>${t("links.hand-on")}<//>`}</div><//>`;
}
