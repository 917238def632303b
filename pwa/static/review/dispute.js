// What somebody reads of a dispute file: the letter, then for each thing that is claimed what the record shows, for and against, with its pictures.
import { html } from "../js/view.js";
import { t, term, placeName, day, moment, money, capital, tongue } from "../js/words.js";
import { Mark } from "./parts.js";
import { Shots } from "./photos.js";

/** disputed reports whether the evidence is that of a dispute file. */
export const disputed = (e) => Array.isArray(e?.dispute?.view?.allegations) && Array.isArray(e.photos);

const kinds = { "shown-before": "met", "shown-after": "gap", "not-shown": "doubt", conflicting: "doubt" };
const lines = (...list) => list.filter(Boolean).join(" · ");

export function DisputeReport({ evidence: e, files }) {
  const { view } = e.dispute, asked = view.allegations.filter((a) => (e.dispute.allegations || []).includes(a.entry));
  const byEntry = new Map(e.photos.map((p) => [p.entry, p]));
  const shots = (list) => (list || []).map((x) => byEntry.get(x.entry ?? x)).filter(Boolean);
  const letter = e.responses?.at(-1)?.body.letter;
  const points = (list, none) => (list?.length ? html`<ul>${list.map((p, i) => html`<li key=${i}>${capital(p.says)} <span class="soft small">${numbers(p.entries)}</span></li>`)}</ul>` : html`<p class="soft">${none}</p>`);
  const numbers = (entries) => { const no = shots(entries).map((p) => p.no); return no.length ? t("review.pictures-no", { list: no.join(", ") }) : ""; };
  return html`${letter && html`<section class="sheet" aria-labelledby="h-letter"><h2 id="h-letter">${t("review.letter")}</h2><p class="pre">${letter}</p></section>`}
    ${asked.map((a, i) => html`<section class="sheet" key=${a.entry} aria-labelledby=${`h-a${i}`}><h2 id=${`h-a${i}`}><span class="step">${i + 1}</span>${capital(placeName(a.area))}${a.kind && `, ${term("damageKinds", a.kind).toLowerCase()}`}</h2>
      <blockquote>${a.words}</blockquote>
      <p class="soft small">${lines(a.by, a.came && day(a.came), a.amount && money(a.amount))}</p>
      <p><${Mark} kind=${kinds[a.finding.outcome]} icon=${kinds[a.finding.outcome]}>${tongue === "en" ? a.finding.title : term("disputeFindings", a.finding.outcome)}<//></p><p>${a.finding.says}</p>
      <h3>${t("review.says-so")}</h3>${points(a.finding.for, t("review.nothing"))}
      <h3>${t("review.against")}</h3>${points(a.finding.against, t("review.nothing"))}
      ${a.finding.missing?.length > 0 && html`<h3>${t("review.missing")}</h3><ul>${a.finding.missing.map((m, n) => html`<li key=${n}>${capital(m.says ?? m)}</li>`)}</ul>`}
      ${[["before", a.before], ["after", a.after], ["unplaced", a.unplaced], ["theirs", a.theirs]].map(([which, list]) => shots(list).length > 0 && html`<h3 key=${which}>${t(`review.shots-${which}`)}</h3><${Shots} files=${files} photos=${shots(list)} />`)}
    </section>`)}
    ${view.condition.length > 0 && html`<section class="sheet" aria-labelledby="h-condition"><h2 id="h-condition">${t("review.condition")}</h2><ul class="rows">${view.condition.map((c) => html`<li key=${c.entry}><p>${capital(c.says)}</p>
      <p class="soft small">${lines(moment(c.at), c.by)}. ${c.order.says}</p>${c.said && html`<p class="small">${c.saidBy}: “${c.said}”</p>`}</li>`)}</ul></section>`}
    <section class="sheet" aria-labelledby="h-course"><h2 id="h-course">${t("review.course")}</h2><ul class="rows">${view.timeline.map((x, i) => html`<li key=${i}><span class="num">${moment(x.at)}</span> ${x.says}</li>`)}</ul></section>
    <section class="sheet" aria-labelledby="h-exhibits"><h2 id="h-exhibits">${t("review.exhibits")}</h2><${Shots} files=${files} photos=${e.photos} /></section>`;
}
