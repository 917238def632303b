// One job: what it is about, what is missing, everything that was kept, and what the desk does with it. On a wide screen in two columns.
import { html, useState, useEffect } from "../view.js";
import { Screen, Mark, Notice, Wrong, Go } from "../parts.js";
import { useJob } from "../use-job.js";
import { DueMark } from "./jobs.js";
import { Checklist, Counts } from "../checklist.js";
import { Photos } from "../photos.js";
import { Readings, Parts, Damages, Signatures, Narrative, Timeline, Money } from "../lists.js";
import { Seen } from "../seen.js";
import { Bundles } from "../bundles.js";
import { Chains, Office, Receipt } from "../office.js";
import { Later } from "../later.js";
import { isOffice } from "../me.js";
import { Unroll } from "../unroll.js";
import { openVisit, stageTitle } from "../steps.js";
import { t, term, day, moment, clockTime, size } from "../words.js";

const onHold = (job) => { const h = (job.holds || []).at(-1); return h?.body.state === "on" ? h : null; };

export function JobPage({ id }) {
  const { data, error, stale, retry } = useJob(id);
  const title = data?.job ? [data.job.customer.name, data.job.open.number].filter(Boolean).join(" · ") || t("job.title") : t("job.title");
  if (!data) {
    return html`<${Screen} title=${title} up="/"><${Wrong} error=${error} retry=${retry} />
      ${!error && html`<p class="soft">${t(stale ? "job.not-here" : "loading")}</p>`}<//>`;
  }
  const { job, report } = data;
  if (job.erased?.length) return html`<${ErasedJob} job=${job} />`;
  const open = report ? report.counts.open : 0;
  const on = openVisit(job);
  return html`<${Screen} title=${title} up="/" foot=${html`
      <${Go} to=${`/job/${id}/visit`} kind="main big" icon="door">${t(on ? "job.visit-on" : "job.visit")}<//>
      <${Go} to=${`/job/${id}/missing`} kind="big" icon="list">${t("missing.title")}${open > 0 && html`<span class="count">${open}</span>`}<//>`}>
    ${stale && html`<${Notice} kind="care"><p>${t("job.stale")}</p><//>`}
    <${Wrong} error=${error} retry=${retry} />
    ${onHold(job) && html`<${Notice} kind="care"><p>${t("hold.on", { when: day(onHold(job).at), why: onHold(job).body.reason })}</p><//>`}
    ${data.problem && html`<${Notice} kind="care"><p>${data.problem}</p><div class="btn-row"><${Go} to=${`/job/${id}/write?what=papers`}>${t("papers.title")}<//></div><//>`}
    ${(job.problems || []).map((p) => html`<${Notice} kind="care" key=${p.entry}><p>${p.says}</p><//>`)}
    <${Later} show="Clashes" quiet id=${id} job=${job} />
    <div class="columns three">
      <div><${Unroll}>
        <${Summary} data=${data} id=${id} />
        <${Visits} job=${job} />
      <//></div>
      <div><${Unroll} first=${0}>
        ${report && html`<section class="sheet" aria-labelledby="h-check"><div class="head-row"><h2 id="h-check">${t("check.title")}</h2><${Counts} report=${report} /></div>
          <p class="soft small">${report.title}, ${report.version}</p><${Checklist} data=${data} id=${id} /></section>`}
        <${Photos} data=${data} />
        <${Readings} data=${data} id=${id} />
        <${Seen} data=${data} id=${id} />
        <${Narrative} data=${data} id=${id} />
        <${Parts} data=${data} id=${id} />
        <${Damages} data=${data} id=${id} />
        <${Signatures} data=${data} />
        <${DisputeLink} id=${id} job=${job} />
      <//></div>
      <div><${Unroll} first=${0}>
        <${Later} show="ClaimPart" quiet id=${id} data=${data} />
        <${Bundles} id=${id} data=${data} />
        <${Money} job=${job} />
        <${Office} id=${id} job=${job} />
        <${Receipt} id=${id} />
        <${Chains} id=${id} job=${job} />
        <${Timeline} data=${data} id=${id} brief=${isOffice()} />
        ${isOffice() && html`<section class="sheet" aria-labelledby="h-privacy"><h2 id="h-privacy">${t("privacy.job")}</h2><p class="soft small">${t("privacy.job-what")}</p>
          <div class="btn-row"><${Go} to=${`/privacy?job=${id}`} icon="people">${t("privacy.job")}<//></div></section>`}
      <//></div>
    </div>
    ${isOffice() && html`<${Later} show="Timeline" quiet id=${id} data=${data} />`}
  <//>`;
}

// ErasedJob is the shell that is left of an erased job.
function ErasedJob({ job }) {
  const first = job.erased[0], b = first.body, sum = Object.values(b.kinds || {}).reduce((n, x) => n + x, 0);
  return html`<${Screen} title=${[t("erased.title"), job.open.number].filter(Boolean).join(" · ")} up="/"><section class="sheet stack narrow-form" aria-labelledby="h-erased">
    <h2 id="h-erased">${t("erased.when", { who: first.by, when: moment(first.at) })}</h2>
    <p>${t("erased.what")}</p>
    <dl class="facts"><dt>${t("erased.because")}</dt><dd>${t(`erased.basis-${b.basis}`, { rule: b.rule })}${b.basis !== "retention" && ` ${b.reason}`}</dd></dl>
    <ul><li>${t("erased.gone", { n: sum })}</li><li>${t("erased.files", { n: b.originals, size: size(b.bytes) })}</li><li>${t("erased.stayed", { n: b.stayed })}</li></ul>
    ${b.sent?.length > 0 && html`<${Notice} kind="care"><p>${t("erased.sent", { list: b.sent.map((n) => t("bundle.version", { n })).join(", ") })}</p><//>`}
  </section><//>`;
}

function DisputeLink({ id, job }) {
  const n = (job.allegations || []).length;
  return html`<section class="sheet" aria-labelledby="h-dispute"><h2 id="h-dispute">${t("job.dispute")}</h2><p class="soft">${n ? t("job.dispute-n", { n }) : t("job.dispute-none")}</p>
    <div class="btn-row"><${Go} to=${`/job/${id}/dispute`} kind=${n ? "" : "quiet"} icon="document">${t(n ? "job.dispute-open" : "job.dispute-begin")}<//></div></section>`;
}

function Summary({ data, id }) {
  const { job, card } = data;
  const { open, customer, site, unit, coverage } = job;
  const row = (label, value) => value && html`<dt>${label}</dt><dd>${value}</dd>`;
  const covered = [coverage.kind && term("coverageKinds", coverage.kind), coverage.payer].filter(Boolean).join(", ");
  return html`<section class="sheet" aria-labelledby="h-about">
    <div class="head-row"><h2 id="h-about">${t("job.about")}</h2><span><${DueMark} card=${card} /></span></div>
    <p class="strong">${open.complaint}</p>
    <dl class="facts">
      ${row(t("job.customer"), [customer.name, customer.phone && html` · <a href=${`tel:${customer.phone.replace(/[^+\d]/g, "")}`}>${customer.phone}</a>`])}
      ${row(t("job.site"), site.address)}
      ${row(t("job.unit"), [unit.maker, unit.kind && term("unitKinds", unit.kind)].filter(Boolean).join(", "))}
      ${row(t("job.model"), unit.model && html`<span class="num">${unit.model}</span>`)}
      ${row(t("job.serial"), unit.serial && html`<span class="num">${unit.serial}</span>`)}
      ${row(t("job.unreadable"), unit.unreadable)}
      ${row(t("job.coverage"), covered)}
      ${row(t("job.claim-number"), coverage.number)}
      ${row(t("job.authorisation"), coverage.authorisation)}
      ${row(t("job.purchased"), day(coverage.purchased))}
      ${row(t("job.appointment"), open.appointment && (open.appointment.length > 10 ? moment(open.appointment) : day(open.appointment)))}
    </dl>
    <div class="btn-row"><${Go} to=${`/job/${id}/write?what=papers`} kind="quiet" icon="note">${t("papers.title")}<//></div>
  </section>`;
}

function Visits({ job }) {
  const list = job.visits || [];
  if (!list.length) return null;
  return html`<section class="sheet" aria-labelledby="h-visits"><h2 id="h-visits">${t("visits.title")}</h2><ul class="rows">
    ${list.map((v, i) => {
      const came = v.arrived?.body.when || v.arrived?.at, went = v.left?.body.when || v.left?.at;
      return html`<li key=${i}><span class="strong">${came ? day(came) : day(went)}</span> <span class="num">${came ? clockTime(came) : "?"} – ${went ? clockTime(went) : t("visits.still-there")}</span>
        <span class="soft"> ${v.arrived?.by || v.left?.by}</span>
        ${v.left?.body.gaps?.length > 0 && html`<p><${Mark} kind="doubt" icon="doubt">${t("visits.left-open", { n: v.left.body.gaps.length })}<//> ${v.left.body.reason}</p>`}
        ${v.left?.body.return && html`<p><${Mark}>${t("visits.return")}<//></p>`}</li>`;
    })}
  </ul></section>`;
}
