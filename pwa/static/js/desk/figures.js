// Charts where people would rather look: money by age, why payers refuse, what is found missing and by whom. Beside each stands the same
// as a table. The figures come from the server in answers of 400 jobs, which are added up here; the page says how many were looked at.
import { html, useEffect, useState } from "../view.js";
import { Screen, Notice, Wrong, Pick } from "../parts.js";
import { DeskNav } from "./nav.js";
import { useKeys } from "./keys.js";
import { useLoaded } from "../events.js";
import { go } from "../route.js";
import * as api from "../api.js";
import { dayHere } from "../hash.js";
import * as ask from "./ask.js";
import { readMoney } from "./sums.js";
import { t, term, money, day, number } from "../words.js";

const MOST = 50; // answers in a row before somebody is asked whether to go on
const PERIODS = [30, 90, 365];

/** Bars draws rows [{label, parts: [n, …], says}] as bars; the second part is striped, so that colour is not needed. */
export function Bars({ title, rows, legend }) {
  const most = Math.max(1, ...rows.map((r) => r.parts.reduce((a, b) => a + b, 0)));
  return html`<div role="img" class="bars" aria-label=${`${title}. ${t("figures.in-table")}`}>
    ${rows.map((r) => {
      let x = 0;
      return html`<div class="bar-row" key=${r.label}><span>${r.label}</span><b class="num">${r.says}</b><svg viewBox="0 0 200 10" preserveAspectRatio="none" focusable="false">
        ${r.parts.map((n, k) => { const w = (n / most) * 200, from = x; x += w; return w > 0 && html`<rect key=${k} class=${`part-${k}`} x=${from} y="0" width=${Math.max(w, 0.6)} height="10" />`; })}</svg></div>`;
    })}</div>
    <svg class="patterns" width="0" height="0" aria-hidden="true"><defs><pattern id="hatch" width="4" height="10" patternUnits="userSpaceOnUse"><rect width="4" height="10" class="hatch-under" /><rect width="2" height="10" class="hatch-line" /></pattern></defs></svg>
    ${legend && html`<ul class="legend-row">${legend.map((l, k) => html`<li key=${l}><svg viewBox="0 0 20 12" aria-hidden="true"><rect class=${`part-${k}`} width="20" height="12" /></svg>${l}</li>`)}</ul>`}`;
}

const Table = ({ caption, head, rows }) => html`<table class="figures"><caption>${caption}</caption><thead><tr>${head.map((h) => html`<th scope="col" key=${h}>${h}</th>`)}</tr></thead>
  <tbody>${rows.map((r) => html`<tr key=${r[0]}><th scope="row">${r[0]}</th>${r.slice(1).map((c, i) => html`<td class="num" key=${i}>${c}</td>`)}</tr>`)}</tbody></table>`;

export function Figures() {
  useKeys({ b: () => go("/board") });
  return html`<${Screen} title=${t("figures.title")} up="/board"><${DeskNav} at="/figures" /><${Money} /><${Found} /><//>`;
}

const ageName = (a) => (a.to ? t("figures.age", { from: a.from, to: a.to }) : t("figures.age-over", { from: a.from - 1 }));

function Money() {
  const [f, set] = useState(null), [error, fail] = useState(null), [again, repeat] = useState(0);
  useEffect(() => {
    let live = true;
    readMoney((v) => live && set(v), () => live).catch((e) => live && fail(e));
    return () => { live = false; };
  }, [again]);
  const currencies = f ? [...new Set(f.ages.flatMap((a) => [...Object.keys(a.sent), ...Object.keys(a.unsent)]))].sort() : [];
  return html`<section class="sheet" aria-labelledby="h-money-age"><h2 id="h-money-age">${t("figures.money")}</h2>
    <${Wrong} error=${error} retry=${() => { fail(null); repeat(again + 1); }} />
    ${!f && !error && html`<p class="soft">${t("loading")}</p>`}
    ${f && html`<p class="soft small">${t("figures.of-open", { n: f.jobs.open })}${f.whole ? "" : ` ${t("figures.counting")}`}</p>`}
    ${f && !currencies.length && html`<p>${t("figures.no-money")}</p>`}
    ${currencies.map((c) => {
      const m = (minor) => money({ minor: minor || 0, currency: c });
      const rows = f.ages.map((a) => ({ label: ageName(a), parts: [a.sent[c] || 0, a.unsent[c] || 0], says: m((a.sent[c] || 0) + (a.unsent[c] || 0)) }));
      return html`<div class="chart" key=${c}><div><${Bars} title=${`${t("figures.money")}, ${c}`} rows=${rows} legend=${[t("figures.sent"), t("figures.unsent")]} /></div>
        <${Table} caption=${t("figures.money-in", { currency: c })} head=${[t("figures.age-head"), t("figures.sent"), t("figures.unsent")]} rows=${f.ages.map((a) => [ageName(a), m(a.sent[c]), m(a.unsent[c])])} /></div>`;
    })}</section>`;
}

// useFound adds up the answers over a period; it stops after MOST of them until somebody goes on.
function useFound(days) {
  const [f, set] = useState(null), [error, fail] = useState(null), [from, goOn] = useState({ cursor: undefined, sum: null });
  const since = dayHere(new Date(Date.now() - days * 86400000));
  useEffect(() => { set(null); goOn({ cursor: undefined, sum: null }); }, [days]);
  useEffect(() => {
    let live = true;
    const run = async () => {
      const sum = from.sum || { jobs: 0, missing: new Map(), reasons: new Map(), since, days };
      if (sum.days !== days) return;
      let cursor = from.cursor;
      for (let i = 0; i < MOST; i++) {
        const got = await ask.found(since, cursor);
        if (!live) return;
        sum.jobs += got.jobs;
        for (const m of got.missing) {
          const key = [m.pack, m.technician, m.requirement].join("\u0000");
          sum.missing.set(key, { ...m, jobs: m.jobs + (sum.missing.get(key)?.jobs || 0) });
        }
        for (const r of got.reasons) sum.reasons.set(r.reason, (sum.reasons.get(r.reason) || 0) + r.jobs);
        cursor = got.next;
        set({ ...sum, next: cursor });
        if (!cursor) break;
      }
    };
    run().catch((e) => live && fail(e));
    return () => { live = false; };
  }, [days, from]);
  return { f, error, more: () => goOn({ cursor: f.next, sum: f }) };
}

function Found() {
  const [days, period] = useState(365), [technician, byTechnician] = useState(""), [pack, byPack] = useState("");
  const { f, error, more } = useFound(days);
  const { value: packs } = useLoaded(() => api.packs(), []);
  const titleOf = (id) => packs?.packs.find((p) => p.id === id)?.title || id;
  const all = f ? [...f.missing.values()] : [];
  const names = (key) => [...new Set(all.map((m) => m[key]).filter(Boolean))].sort();
  const counts = new Map();
  for (const m of all) {
    if ((technician && m.technician !== technician) || (pack && m.pack !== pack)) continue;
    const was = counts.get(m.requirement) || { title: m.title, jobs: 0 };
    counts.set(m.requirement, { ...was, jobs: was.jobs + m.jobs });
  }
  const gaps = [...counts.values()].sort((a, b) => b.jobs - a.jobs || a.title.localeCompare(b.title)).slice(0, 15);
  const reasons = f ? [...f.reasons].map(([id, jobs]) => ({ title: term("refusalReasons", id), jobs })).sort((a, b) => b.jobs - a.jobs || a.title.localeCompare(b.title)) : [];
  const bars = (list) => list.map((g) => ({ label: g.title, parts: [g.jobs], says: number(g.jobs) }));
  const rows = (list) => list.map((g) => [g.title, number(g.jobs)]);
  return html`<div class="sheet no-print"><${Pick} label=${t("figures.period")} options=${PERIODS.map((n) => ({ id: String(n), title: t("figures.days", { n }) }))} value=${String(days)} onPick=${(v) => period(Number(v))} />
      ${f && html`<p class="soft small" role="status">${t("figures.of-changed", { n: f.jobs, day: day(f.since) })}</p>`}
      ${f?.next && html`<${Notice}><p>${t("figures.more")}</p><div class="btn-row"><button type="button" class="btn" onClick=${more}>${t("figures.go-on")}</button></div><//>`}</div>
    <${Wrong} error=${error} />
    <section class="sheet" aria-labelledby="h-reasons"><h2 id="h-reasons">${t("figures.reasons")}</h2>
      ${f && !reasons.length && html`<p class="soft">${t("figures.no-reasons")}</p>`}
      ${reasons.length > 0 && html`<div class="chart"><div><${Bars} title=${t("figures.reasons")} rows=${bars(reasons)} /></div><${Table} caption=${t("figures.reasons")} head=${[t("answer.reason"), t("figures.jobs")]} rows=${rows(reasons)} /></div>`}</section>
    <section class="sheet" aria-labelledby="h-gaps"><h2 id="h-gaps">${t("figures.gaps")}</h2><p class="soft small">${t("figures.gaps-what")}</p>
      <div class="two no-print"><${Pick} label=${t("role.technician")} none=${t("figures.all")} options=${names("technician").map((id) => ({ id, title: id }))} value=${technician} onPick=${byTechnician} />
        <${Pick} label=${t("figures.pack")} none=${t("figures.all")} options=${names("pack").map((id) => ({ id, title: titleOf(id) }))} value=${pack} onPick=${byPack} /></div>
      ${f && !gaps.length && html`<p class="soft">${t("figures.no-gaps")}</p>`}
      ${gaps.length > 0 && html`<div class="chart"><div><${Bars} title=${t("figures.gaps")} rows=${bars(gaps)} /></div><${Table} caption=${[t("figures.gaps"), technician, pack && titleOf(pack)].filter(Boolean).join(", ")} head=${[t("figures.requirement"), t("figures.jobs")]} rows=${rows(gaps)} /></div>`}</section>`;
}
