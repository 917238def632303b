// What a job holds besides photos: readings, parts, damage, signatures, the narrative, amounts and the course of events.
import { CSV } from "./csv.js";
import { html, useState } from "./view.js";
import { Mark, Go, Notice } from "./parts.js";
import { Picture, nameOf } from "./photos.js";
import { signText } from "./seen.js";
import { t, term, areaName, moment, clockTime, day, decimal, unitSign, money } from "./words.js";

const Sheet = ({ id, title, children }) => html`<section class="sheet" aria-labelledby=${id}><h2 id=${id}>${title}</h2>${children}</section>`;
/** Fixed tells that an item was corrected, and why. */
const Fixed = ({ item }) => (item.corrected || []).map((c) => html`<p class="small soft" key=${c.entry}>${t("corrected", { when: moment(c.at), by: c.by, why: c.why })}</p>`);
const fixLink = (id, what, item) => html`<${Go} to=${`/job/${id}/write?what=${what}&entry=${item.entry}`} kind="quiet">${t("correct")}<//>`;

/** valueText writes a reading's value. */
export const valueText = (b) => (b.state ? term("states", b.state) : `${decimal(b.value)} ${unitSign(b.unit)}`.trim());
const verdictMark = { "in-tolerance": ["met", "met"], "out-of-tolerance": ["gap", "gap"], "cannot-decide": ["doubt", "doubt"], "not-plausible": ["doubt", "doubt"] };

/** Verdict says what a reading means. */
export function Verdict({ v }) {
  if (!v?.says && !v?.outcome) return null;
  const [kind, icon] = verdictMark[v.outcome] || ["", "info"];
  return html`<div>${v.outcome && html`<${Mark} kind=${kind} icon=${icon}>${t(`verdict.${v.outcome}`)}<//>`}
    ${v.supports === "yes" && html` <${Mark} kind="info" icon="part">${t("verdict.supports")}<//>`}
    ${v.says && html`<p>${v.says}</p>`}</div>`;
}

export function Readings({ data, id }) {
  const list = data.job.readings || [];
  const conflicts = data.conflicts || [];
  if (!list.length && !conflicts.length) return null;
  return html`<${Sheet} id="h-readings" title=${t("readings.title")}>
    ${conflicts.map((c) => html`<${Notice} key=${c.id + c.component} kind="care"><p>${c.says}</p><p class="strong">${c.ask}</p><//>`)}<ul class="rows">${list.map((r) => html`<li key=${r.entry}><div class="reading">
    <span class="value num">${valueText(r.body)}</span>
    <div><p><b>${[r.body.component && term("components", r.body.component), term("quantities", r.body.quantity)].filter(Boolean).join(", ")}</b>
      ${r.body.moment && html` <${Mark}>${term("moments", r.body.moment)}<//>`}</p>
      <${Verdict} v=${data.verdicts?.[r.entry]} />
      <p class="soft small">${[r.body.where, moment(r.at), r.by].filter(Boolean).join(" · ")}</p>
      <${Fixed} item=${r} />
      <p class="small">${r.body.photo ? t("readings.display", { n: numberOf(data.job, r.body.photo) }) : html`<span class="soft">${t("readings.no-display")}</span>`}</p>
    </div></div></li>`)}</ul><//>`;
}
const numberOf = (job, entry) => String((job.photos || []).find((p) => p.entry === entry)?.number ?? "?");

export function Parts({ data, id }) {
  const list = data.job.parts || [];
  if (!list.length) return null;
  return html`<${Sheet} id="h-parts" title=${t("parts.title")}><ul class="rows">${list.map((p) => html`<li key=${p.entry}>
    <p><b>${term("components", p.body.component)}</b> <${Mark}>${t(`part.${p.body.action}`)}<//>${p.body.held && html` <${Mark} icon="box">${term("partHeld", heldNow(data.job, p))}<//>`}</p>
    <p class="num">${[p.body.number, p.body.description].filter(Boolean).join(" · ")}${p.body.quantity > 1 ? ` × ${p.body.quantity}` : ""}</p>
    <p class="soft small">${[p.body.serial && t("parts.serial", { serial: p.body.serial }), p.body.invoice && t("parts.invoice", { number: p.body.invoice }), p.body.price && money(p.body.price), moment(p.at)].filter(Boolean).join(" · ")}</p>
    <${Fixed} item=${p} /></li>`)}</ul>
    ${(data.job.refrigerants || []).map((r) => html`<p key=${r.entry}><b>${r.body.type}</b> ${t(`refrigerant.${r.body.action}`)}: <span class="num">${decimal(r.body.grams)} g</span> <span class="soft small">${r.body.method || ""}</span></p>`)}<//>`;
}
const heldNow = (job, p) => (job.partReturns || []).findLast?.((r) => r.body.part === p.entry)?.body.held || p.body.held;

export function Damages({ data, id }) {
  const list = data.job.damages || [];
  if (!list.length) return null;
  return html`<${Sheet} id="h-damage" title=${t("damage.title")}><ul class="rows">${list.map((d) => html`<li key=${d.entry}>
    <p><b>${areaName(d.body.area)}</b> <${Mark} kind=${d.body.kind === "none" ? "met" : "doubt"} icon=${d.body.kind === "none" ? "met" : "damage"}>${d.body.kind === "none" ? t("damage.none") : term("damageKinds", d.body.kind)}<//>
      <span class="soft"> ${term("damageSeen", d.body.seen)}, ${moment(d.at)}</span></p>
    ${d.body.widthMm && html`<p class="num">${decimal(d.body.widthMm)}${d.body.heightMm ? ` × ${decimal(d.body.heightMm)}` : ""} mm</p>`}
    ${d.body.words && html`<p>${d.body.words}</p>`}
    ${d.body.said && html`<p class="soft">${t("damage.said", { by: d.body.saidBy || t("damage.somebody"), said: d.body.said })}</p>`}
    ${d.body.photos?.length > 0 && html`<div class="shots">${d.body.photos.map((e) => {
      const p = (data.job.photos || []).find((x) => x.entry === e);
      return p && html`<span class="shot" key=${e}><${Picture} digest=${p.body.digest} job=${data.job.id} alt=${nameOf(p.body)} /><span class="under"><span class="nr num">${p.number}</span>${nameOf(p.body)}</span></span>`;
    })}</div>`}<${Fixed} item=${d} /></li>`)}</ul><//>`;
}

/** Strokes draws a signature from its pen strokes. */
export function Strokes({ strokes }) {
  const lines = strokes.map((s) => {
    const points = [];
    for (let i = 0; i + 1 < s.length; i += 2) points.push(`${s[i]},${s[i + 1]}`);
    return points.join(" ");
  });
  return html`<svg class="sign-pad" viewBox="0 0 1000 500" role="img" aria-label=${t("sign.drawn")}>${lines.map((l, i) => html`<polyline key=${i} points=${l} fill="none" stroke="#111" stroke-width="6" stroke-linecap="round" stroke-linejoin="round" />`)}</svg>`;
}

export function Signatures({ data }) {
  const list = data.job.acknowledgements || [];
  if (!list.length) return null;
  return html`<${Sheet} id="h-signs" title=${t("signs.title")}><ul class="rows">${list.map((a) => html`<li key=${a.entry} class="stack">
    <p><b>${term("about", a.body.about)}</b> <${Mark} kind=${a.body.outcome === "signed" ? "met" : ""} icon=${a.body.outcome === "signed" ? "pen" : "not-needed"}>${term("acknowledgementOutcomes", a.body.outcome)}<//></p>
    <p>${[a.body.name, a.body.role, moment(a.at)].filter(Boolean).join(" · ")}</p>
    ${a.body.reason && html`<p>${a.body.reason}</p>`}
    ${a.body.statement && html`<p class="soft small">“${a.body.statement}”</p>`}
    ${a.body.strokes?.length > 0 && html`<div class="narrow"><${Strokes} strokes=${a.body.strokes} /></div>`}
    ${a.body.shown?.length > 0 && html`<p class="soft small">${t("signs.shown", { n: a.body.shown.length })}</p>`}</li>`)}</ul><//>`;
}

export function Narrative({ data, id }) {
  const { causes = [], corrections = [] } = data.job;
  const part = (what, list) => list.map((c) => html`<div key=${c.entry}><h3>${t(`narrative.${what}`)}</h3><p>${c.body.text}</p><${Fixed} item=${c} />
    <div class="btn-row">${fixLink(id, what, c)}</div></div>`);
  if (!causes.length && !corrections.length) return null;
  return html`<${Sheet} id="h-story" title=${t("narrative.title")}><div class="stack"><div><h3>${t("narrative.complaint")}</h3><p>${data.job.open.complaint}</p></div>${part("cause", causes)}${part("correction", corrections)}</div><//>`;
}

export function Money({ job }) {
  const { labour = [], trips = [] } = job;
  if (!labour.length && !trips.length) return null;
  return html`<${Sheet} id="h-money" title=${t("work.title")}><dl class="facts">
    ${labour.map((l) => html`<dt key=${l.entry}>${t("work.labour")}</dt><dd>${[l.body.minutes ? t("work.minutes", { n: l.body.minutes }) : "", l.body.flat, l.body.says, money(l.body.amount)].filter(Boolean).join(" · ")}</dd>`)}
    ${trips.map((x) => html`<dt key=${x.entry}>${t("work.trip")}</dt><dd>${[x.body.distance ? `${decimal(x.body.distance)} ${x.body.unit}` : "", x.body.zone, money(x.body.amount)].filter(Boolean).join(" · ")}</dd>`)}
  </dl><//>`;
}

// The course of events: one line for everything that happened, in order.
function eventsOf({ job }) {
  const out = [];
  const add = (item, text) => out.push({ at: item.body?.when || item.at, by: item.by, text, key: item.entry });
  for (const v of job.visits || []) {
    if (v.arrived) add(v.arrived, t("event.arrived"));
    if (v.left) add(v.left, t("event.left"));
  }
  for (const x of job.workStarts || []) add(x, t("event.work-started"));
  for (const x of job.workFinishes || []) add(x, t("event.work-finished"));
  for (const x of job.photos || []) add(x, t("event.photo", { n: String(x.number), what: nameOf(x.body) }));
  for (const x of job.readings || []) add(x, t("event.reading", { what: [x.body.component && term("components", x.body.component), term("quantities", x.body.quantity)].filter(Boolean).join(", "), value: valueText(x.body) }));
  for (const x of job.signs || []) add(x, t("event.seen", { what: signText(x.body) }));
  for (const x of job.markups || []) add(x, t("event.marked", { n: numberOf(job, x.body.photo) }));
  for (const x of job.covers || []) add(x, t("event.covered", { n: numberOf(job, x.body.photo) }));
  for (const x of job.holds || []) add(x, t(`event.hold-${x.body.state}`, { why: x.body.reason }));
  for (const x of job.exports || []) add(x, t("event.exported"));
  for (const x of job.parts || []) add(x, t("event.part", { what: term("components", x.body.component), action: t(`part.${x.body.action}`) }));
  for (const x of job.damages || []) add(x, t("event.damage", { area: areaName(x.body.area), kind: x.body.kind === "none" ? t("damage.none") : term("damageKinds", x.body.kind) }));
  for (const x of job.acknowledgements || []) add(x, t("event.sign", { what: term("about", x.body.about), outcome: term("acknowledgementOutcomes", x.body.outcome) }));
  for (const x of job.notes || []) add(x, x.body.text);
  for (const x of job.cautions || []) add(x, t("event.caution", { what: x.body.caution.replaceAll("-", " ") }));
  for (const x of job.waivers || []) add(x, t("event.waive", { what: x.body.requirement, why: x.body.reason }));
  for (const x of job.bundles || []) add(x, t("event.built", { n: x.body.version }));
  for (const x of job.fetches || []) add(x, t("event.fetched", { n: x.body.version }));
  for (const x of job.sends || []) add(x, t("event.sent", { to: x.body.to }));
  for (const x of job.answers || []) add(x, t("event.answer", { what: t(`answer.${x.body.outcome}`) }));
  for (const x of job.allegations || []) add(x, t("event.allege", { words: x.body.words }));
  for (const x of job.struck || []) out.push({ at: x.strike.at, by: x.strike.by, text: t("event.struck", { kind: x.kind, why: x.strike.why }), key: x.strike.entry });
  for (const x of job.unknown || []) out.push({ at: x.at, by: x.by, text: t("event.unknown", { kind: x.kind }), key: x.id });
  return out.sort((a, b) => Date.parse(a.at) - Date.parse(b.at));
}

/** Timeline is the course of events in short, and the notes; brief leaves out the events, where they are shown in full. */
export function Timeline({ data, id, brief }) {
  const all = brief ? [] : eventsOf(data), [shown, show] = useState(false);
  let last = "";
  return html`<${Sheet} id="h-events" title=${t(brief ? "notes.title" : "events.title")}>
    ${!brief && html`<details onToggle=${(e) => show(e.currentTarget.open)}><summary>${t("events.count", { n: all.length })}</summary><ol class="time-line">${shown && all.map((e) => {
      const today = day(e.at), head = today !== last;
      last = today;
      return html`${head && html`<li class="strong">${today}</li>`}<li key=${e.key}><span class="num soft">${clockTime(e.at)}</span> ${e.text} <span class="soft small">${e.by}</span></li>`;
    })}</ol></details>`}
    ${(data.job.notes || []).length > 0 && html`${!brief && html`<h3>${t("notes.title")}</h3>`}<ul class="rows">${data.job.notes.map((n) => html`<li key=${n.entry}><p>${n.body.text}</p><p class="soft small">${moment(n.at)} · ${n.by}</p></li>`)}</ul>`}
    <div class="btn-row"><${Go} to=${`/job/${id}/write?what=note`} kind="quiet" icon="note">${t("notes.add")}<//><${CSV} path=${`/jobs/${id}/entries.csv`} what="entries" /></div><//>`;
}
