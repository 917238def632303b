// What a reviewer reads, in the order in which it is wanted: plate, date, symptom, reading, failed part, fitted part, result.
import { html } from "../js/view.js";
import { t, term, day, moment, decimal, unitSign, money } from "../js/words.js";
import { Mark } from "./parts.js";
import { Shots } from "./photos.js";

const order = ["plate", "date", "symptom", "reading", "failed", "fitted", "result"];
const subjects = {
  plate: ["rating-plate"], date: ["proof-of-purchase"], symptom: ["symptom"], reading: ["meter-display"],
  failed: ["failed-part", "part-label"], fitted: ["fitted-part"], result: ["after-repair", "as-left-display"],
};

/** ours: the evidence of a claim has these; a file for another purpose is read as its own report. */
export const readable = (e) => Boolean(e && Array.isArray(e.photos) && e.unit && e.job);

const lines = (...list) => list.filter(Boolean).join(", ");
const rows = (pairs) => html`<dl class="facts">${pairs.filter(([, v]) => v).map(([k, v]) => html`<dt>${k}</dt><dd>${v}</dd>`)}</dl>`;
const list = (items) => items.length > 0 && html`<ul class="rows">${items}</ul>`;

function Reading({ r }) {
  const b = r.body, kind = { "in-tolerance": "met", "out-of-tolerance": "gap" }[r.outcome] || "doubt";
  return html`<li><p><b class="num">${b.value ? `${decimal(b.value)} ${unitSign(b.unit)}` : t(`review.state-${b.state}`) === `review.state-${b.state}` ? b.state : t(`review.state-${b.state}`)}</b>
      ${" "}${lines(b.component && term("components", b.component), term("quantities", b.quantity), b.moment && t(`review.${b.moment}`))}</p>
    ${r.outcome && html`<p><${Mark} kind=${kind} icon=${kind}>${t(`review.outcome-${r.outcome}`)}<//></p>`}
    ${r.says && html`<p class="small">${r.says}</p>`}${b.where && html`<p class="soft small">${b.where}</p>`}</li>`;
}

const partLine = (p, serial) => html`<li key=${p.entry}><b>${term("components", p.body.component)}</b> ${lines(p.body.number, p.body.description, serial)}
  ${p.body.held && html`<p class="soft small">${t("review.old-part", { where: p.body.held.replaceAll("-", " ") })}</p>`}</li>`;

const content = {
  plate: (e) => rows([[t("review.unit"), lines(e.unit.maker, e.unit.kind && term("unitKinds", e.unit.kind))], [t("review.model"), e.unit.model], [t("review.serial"), e.unit.serial],
    [t("review.manufactured"), e.unit.manufactured], [t("review.unreadable"), e.unit.unreadable]]),
  date: (e) => rows([[t("review.purchased"), day(e.coverage.purchased)], [t("review.installed"), day(e.coverage.installed)],
    ...(e.visits || []).map((v, i) => [t("review.visit", { n: i + 1 }), [v.arrived && moment(v.arrived.body.when || v.arrived.at), v.left && moment(v.left.body.when || v.left.at)].filter(Boolean).join(" – ")]),
    [t("review.built"), moment(e.built)]]),
  symptom: (e) => html`<p class="strong">${e.job.complaint}</p>${list((e.signs || []).map((s) => html`<li key=${s.entry}>${lines(s.body.component && term("components", s.body.component), s.body.sign.replaceAll("-", " "))}${s.body.says && html`<p class="small">${s.body.says}</p>`}</li>`))}`,
  reading: (e) => list((e.readings || []).map((r) => html`<${Reading} key=${r.entry} r=${r} />`)),
  failed: (e) => html`${(e.causes || []).map((c) => html`<p key=${c.entry}>${c.body.text}</p>`)}${list((e.parts || []).filter((p) => p.body.action !== "fitted").map((p) => partLine(p, p.body.oldSerial)))}`,
  fitted: (e) => list((e.parts || []).filter((p) => p.body.action !== "removed").map((p) => partLine(p, p.body.serial))),
  result: (e) => (e.corrections || []).map((c) => html`<p key=${c.entry}>${c.body.text}</p>`),
};

const has = (e, step, photos) => photos.length > 0 || {
  plate: true, date: true, symptom: Boolean(e.job.complaint), reading: e.readings?.length > 0, failed: e.causes?.length > 0 || e.parts?.some((p) => p.body.action !== "fitted"),
  fitted: e.parts?.some((p) => p.body.action !== "removed"), result: e.corrections?.length > 0,
}[step];

export function Report({ evidence: e, files }) {
  const named = new Set(order.flatMap((s) => subjects[s]));
  const rest = e.photos.filter((p) => !named.has(p.body.subject));
  return html`${order.map((step, i) => {
    const photos = e.photos.filter((p) => subjects[step].includes(p.body.subject));
    return html`<section class="sheet" key=${step} aria-labelledby=${`h-${step}`}><h2 id=${`h-${step}`}><span class="step">${i + 1}</span>${t(`review.step-${step}`)}</h2>
      ${has(e, step, photos) ? html`${content[step](e)}<${Shots} files=${files} photos=${photos} />` : html`<p class="soft">${t("review.nothing")}</p>`}</section>`;
  })}
  ${rest.length > 0 && html`<section class="sheet" aria-labelledby="h-rest"><h2 id="h-rest">${t("review.rest")}</h2><${Shots} files=${files} photos=${rest} /></section>`}
  <${Amounts} bill=${e.bill} /><${Open} check=${e.check} /><${Left} e=${e} />`;
}

function Amounts({ bill }) {
  if (!bill?.lines?.length || bill.mixed) return null;
  const m = (minor) => money({ minor, currency: bill.currency });
  return html`<section class="sheet" aria-labelledby="h-amounts"><h2 id="h-amounts">${t("review.amounts")}</h2><table class="report-table">
    <thead><tr><th scope="col">${t("review.line")}</th><th scope="col" class="num">${t("review.amount")}</th><th scope="col" class="num">${t("review.payer")}</th></tr></thead>
    <tbody>${bill.lines.map((l) => html`<tr key=${l.id}><td>${l.says}</td><td class="num">${m(l.amount)}</td><td class="num">${m(l.payer)}</td></tr>`)}
    <tr><th scope="row">${t("review.total")}</th><td class="num"><b>${m(bill.total)}</b></td><td class="num"><b>${m(bill.payer)}</b></td></tr></tbody></table></section>`;
}

function Open({ check }) {
  if (!check) return null;
  const open = (check.findings || []).filter((f) => f.outcome === "gap" || f.outcome === "doubt");
  return html`<section class="sheet" aria-labelledby="h-open"><h2 id="h-open">${t("review.checklist")}</h2><p class="soft small">${check.title}, ${check.version}</p>
    ${open.length === 0 ? html`<p><${Mark} kind="met" icon="met">${t("review.complete")}<//></p>` : html`<details><summary>${t("review.open-points", { n: open.length })}</summary><ul class="rows">${open.map((f) => html`<li key=${f.id}><${Mark} kind=${f.outcome} icon=${f.outcome}>${f.title}<//><p>${f.sentence}</p></li>`)}</ul></details>`}</section>`;
}

function Left({ e }) {
  if (!e.withheld?.length && !e.struck?.length) return null;
  return html`<section class="sheet" aria-labelledby="h-left"><h2 id="h-left">${t("review.left-out")}</h2>
    ${e.withheld?.length > 0 && html`<p>${t("review.held-back", { n: e.withheld.length, what: (e.heldBack || []).join(", ") })}</p>`}
    ${e.struck?.length > 0 && html`<p>${t("review.struck", { n: e.struck.length })}</p><ul class="rows">${e.struck.map((s) => html`<li key=${s.entry}>${s.kind.replaceAll("-", " ")}: ${s.strike.why}</li>`)}</ul>`}</section>`;
}
