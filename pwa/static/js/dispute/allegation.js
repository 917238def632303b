// One allegation with what is on record about it: for the shop, against it, and what is missing.
import { html } from "../view.js";
import { Go, Mark } from "../parts.js";
import { Pair } from "./compare.js";
import { Received, Shown } from "./photo.js";
import { home } from "./form.js";
import { t, term, day, money, daysLeft, capital, placeName } from "../words.js";

const outcomes = { "shown-before": ["met", "met"], "shown-after": ["gap", "gap"], "not-shown": ["doubt", "doubt"], conflicting: ["doubt", "doubt"] };

function DueLine({ a }) {
  if (!a.replyBy || a.ended) return null;
  const n = daysLeft(a.replyBy);
  return html`<p><${Mark} kind=${n < 0 ? "gap" : n <= 3 ? "doubt" : ""} icon="clock">${t("claimed.reply-by", { day: day(a.replyBy) })}<//> ${n < 0 ? t("claimed.days-over", { n: -n }) : t("claimed.days-left", { n })}</p>`;
}

const Points = ({ title, list, none, numbers }) => html`<h4>${title}</h4>${list.length ? html`<ul class="points">${list.map((p, i) => {
  const seen = p.entries.map((e) => numbers.get(e)).filter(Boolean);
  return html`<li key=${i}>${p.says}${seen.length > 0 && html` <span class="soft small num">${t("claimed.photos", { n: seen.length, list: seen.join(", ") })}</span>`}</li>`;
})}</ul>` : html`<p class="soft">${none}</p>`}`;

export function Claimed({ id, job, a, office }) {
  const f = a.finding, [kind, icon] = outcomes[f.outcome] || ["", "info"];
  const numbers = new Map((job.photos || []).map((p) => [p.entry, p.number]));
  const known = new Map([...a.before, ...a.after, ...a.unplaced].map((p) => [p.entry, p]));
  const facts = [a.by, a.how && term("allegationHow", a.how), a.came && t("claimed.came", { day: day(a.came) }), a.since && t("claimed.since", { day: day(a.since) }), a.kind && term("damageKinds", a.kind), a.amount && money(a.amount), a.wants && term("allegationWants", a.wants)].filter(Boolean);
  return html`<article class="sheet claimed" aria-labelledby=${`h-${a.entry}`}><div class="head-row"><h2 id=${`h-${a.entry}`}>${t("claimed.title", { n: a.number, area: placeName(a.area) })}</h2><${Mark}>${capital(t(`claimed-state.${a.state}`))}<//></div>
    <blockquote>${a.words}</blockquote><p class="soft small">${facts.join(" · ")}</p><${DueLine} a=${a} />
    <section class="found"><h3>${t("claimed.finding")} <${Mark} kind=${kind} icon=${icon}>${f.title}<//></h3><p>${f.says}</p>
      <${Points} title=${t("claimed.for")} list=${f.for} none=${t("claimed.no-items")} numbers=${numbers} />
      <${Points} title=${t("claimed.against")} list=${f.against} none=${t("claimed.no-against")} numbers=${numbers} />
      ${f.missing.length > 0 && html`<h4>${t("claimed.missing")}</h4><ul class="points">${f.missing.map((m) => html`<li key=${m}>${m}</li>`)}</ul>`}</section>
    ${a.pairs.length > 0 && html`<section><h3>${t("claimed.pairs")}</h3>${a.pairs.slice(0, 6).map((p) => known.has(p.before) && known.has(p.after) && html`<${Pair} key=${p.before + p.after} id=${id} before=${known.get(p.before)} after=${known.get(p.after)} why=${p.why} />`)}</section>`}
    ${["before", "after", "unplaced"].map((which) => { const alone = a[which].filter((x) => !a.pairs.some((p) => p[which] === x.entry)); return alone.length > 0 && html`<section key=${which}><h3>${t(`claimed.only-${which}`)}</h3><ul class="shots">${alone.map((p) => html`<li key=${p.entry}><${Shown} id=${id} photo=${p} /></li>`)}</ul></section>`; })}
    ${a.theirs.length > 0 && html`<section><h3>${t("claimed.theirs")}</h3><p class="soft small">${t("claimed.theirs-what")}</p><ul class="shots">${a.theirs.map((p) => html`<li key=${p.entry}><${Received} id=${id} job=${job} photo=${p} /></li>`)}</ul></section>`}
    ${office && !a.ended && html`<div class="btn-row"><${Go} to=${`${home(id, "letter")}&allegation=${a.entry}`} icon="document">${t("letter.title")}<//><${Go} to=${`${home(id, "settle")}&allegation=${a.entry}`} icon="people" kind="quiet">${t("settling.title")}<//></div>`}
  </article>`;
}
