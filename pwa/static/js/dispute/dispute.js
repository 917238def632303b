// The damage dispute of one job: what is claimed, what is on record about it, and what is done about it.
import { html, useEffect, useState } from "../view.js";
import { Go, Mark, Notice, Screen, Wrong } from "../parts.js";
import { useLoaded, useNews } from "../events.js";
import { useJob } from "../use-job.js";
import { isOffice } from "../me.js";
import { addTexts, t, day, moment, money } from "../words.js";
import en from "./words-en.js";
import { Allege } from "./allege.js";
import { Claimed } from "./allegation.js";
import { ConditionForm, ConditionRecord } from "./condition.js";
import { Letter } from "./letter.js";
import { Settle } from "./settle.js";
import { home } from "./form.js";
import * as ask from "./ask.js";

await addTexts(en, { es: () => import("./words-es.js") });

const forms = { allege: Allege, condition: ConditionForm, letter: Letter, settle: Settle };
const needsView = ["letter", "settle"];

/** Dispute shows the page, or the form that the address names. */
export function Dispute({ id, query }) {
  const { data, error, retry } = useJob(id);
  const sent = useNews(`sent:${id}`), [turn, again] = useState(0);
  const { value: view, error: fault } = useLoaded(() => ask.disputes(id), [id, sent, turn, data?.job?.entries]);
  const Form = forms[query.get("show")], up = `/job/${id}`;
  if (data && Form && (view || !needsView.includes(query.get("show")))) return html`<${Form} id=${id} data=${data} view=${view} query=${query} />`;
  if (!data || !view) {
    return html`<${Screen} title=${t("dispute.title")} up=${up}><${Wrong} error=${error || fault} retry=${() => { retry(); again(turn + 1); }} />${!error && !fault && html`<p class="soft">${t("loading")}</p>`}<//>`;
  }
  return html`<${Page} id=${id} data=${data} view=${view} />`;
}

function Page({ id, data, view }) {
  const { job } = data, office = isOffice(), waits = data.unsent?.size || 0, open = view.allegations.some((a) => !a.ended);
  return html`<${Screen} title=${t("dispute.title")} up=${`/job/${id}`} foot=${html`<${Go} to=${home(id, "allege")} kind=${open ? "big" : "main big"} icon="plus">${t("allege.title")}<//>
      ${office && open && html`<${Go} to=${home(id, "letter")} kind="main big" icon="document">${t("dispute.letter-and-file")}<//>`}`}>
    ${waits > 0 && html`<${Notice}><p>${t("dispute.on-its-way", { n: waits })}</p><//>`}
    <p class="soft intro">${t("dispute.what")}</p><p class="soft small intro">${view.work.says}</p>
    ${!view.allegations.length && html`<div class="sheet"><p>${t("dispute.none")}</p></div>`}
    ${view.allegations.map((a) => html`<${Claimed} key=${a.entry} id=${id} job=${job} a=${a} office=${office} />`)}
    <div class="columns"><div><${ConditionRecord} id=${id} list=${view.condition} /></div>
      <div><${Steps} id=${id} list=${view.settlement} office=${office} open=${view.allegations.length > 0} /><${Timeline} id=${id} view=${view} /><${Proof} view=${view} /></div></div>
  <//>`;
}

function Steps({ id, list, office, open }) {
  return html`<section class="sheet" aria-labelledby="h-steps"><h2 id="h-steps">${t("steps.title")}</h2>
    ${!list.length && html`<p class="soft">${t("steps.none")}</p>`}
    <ol class="rows">${list.map((s) => html`<li key=${s.entry}><p>${s.says}</p><p class="soft small">${[moment(s.at), s.by, s.amount && money(s.amount)].filter(Boolean).join(" · ")}</p>
      ${s.answerBy && html`<p><${Mark} icon="clock">${t("steps.answer-by", { day: day(s.answerBy) })}<//></p>`}</li>`)}</ol>
    ${office && open && html`<div class="btn-row"><${Go} to=${home(id, "settle")} icon="plus" kind="quiet">${t("settling.title")}<//></div>`}</section>`;
}

function Timeline({ id, view }) {
  const { value: blob } = useLoaded(() => ask.timeline(id), [id, view]);
  const [url, set] = useState("");
  useEffect(() => {
    if (!blob) return undefined;
    const u = URL.createObjectURL(new Blob([blob], { type: "image/svg+xml" }));
    set(u);
    return () => URL.revokeObjectURL(u);
  }, [blob]);
  return html`<section class="sheet" aria-labelledby="h-timeline"><h2 id="h-timeline">${t("order-of.title")}</h2>
    ${url && html`<div class="order-drawing" tabindex="0" role="group" aria-label=${t("order-of.scroll")}><img src=${url} alt=${t("order-of.alt")} /></div>`}
    <details><summary>${t("order-of.in-words", { n: view.timeline.length })}</summary><ol class="points">${view.timeline.map((e, i) => html`<li key=${i}><span class="num soft">${moment(e.at)}</span> ${e.says}</li>`)}</ol></details></section>`;
}

function Proof({ view }) {
  const before = view.proof.filter((p) => p.order.answer === "before");
  if (!view.proof.length) return null;
  return html`<section class="sheet" aria-labelledby="h-proof"><h2 id="h-proof">${t("proof.title")}</h2><p>${t("proof.counts", { n: before.length, all: view.proof.length })}</p>
    <details><summary>${t("proof.each")}</summary><ul class="rows">${view.proof.map((p) => html`<li key=${p.entry}><p><span class="num strong">${p.number}</span> ${p.title}</p><p class="soft small">${p.order.says}</p></li>`)}</ul></details></section>`;
}
