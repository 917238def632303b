// What the payer's papers say: who pays, from when, for how long and for what, until when to send. Beside it stands what proves it.
import { html } from "../view.js";
import { minor, major } from "../forms.js";
import { Picture, nameOf } from "../photos.js";
import { useLoaded } from "../events.js";
import { whoSaid } from "../meanwhile.js";
import { In, Tick, FieldError, whole } from "./fields.js";
import { t, term, termsOf } from "../words.js";

const TEXTS = ["payer", "number", "authorisation", "serial", "model"];
const DATES = ["start", "purchased", "installed"];
const COUNTS = ["termMonths", "repeatDays", "fittedMonths", "submitDays", "returnDays", "answerDays", "labourMinutes"];
const AMOUNTS = ["limit", "totalLimit", "spent", "deductible", "authoriseOver"];
const WORDS = { startEvent: ["purchase", "installation", "manufacture"], endRule: ["exclusive", "inclusive"], decides: ["reported", "visited"], dayRule: ["calendar", "roll", "business"], limitRule: ["after-deductible", "before-deductible"] };
const LISTS = { kind: "coverageKinds", holidays: "holidayCalendars" };

const termText = (l) => (l || []).map((x) => ({ for: x.for, parts: x.parts ? String(x.parts) : "", labour: x.labour ? String(x.labour) : "" }));

/** Beside shows the papers in the photos, and who said what was said last. */
function Beside({ job }) {
  const papers = (job.photos || []).filter((p) => ["proof-of-purchase", "customer-document", "rating-plate"].includes(p.body.subject));
  const { value: said } = useLoaded(async () => Object.fromEntries(await Promise.all(DATES.map(async (d) => [d, await whoSaid(job.said?.[`coverage.${d}`])]))), [job.entries]);
  const lines = DATES.filter((d) => said?.[d]);
  return html`<section class="sheet" aria-labelledby="h-evidence"><h2 id="h-evidence">${t("coverage.evidence")}</h2>
    ${!papers.length && html`<p class="soft">${t("coverage.no-evidence")}</p>`}
    ${papers.length > 0 && html`<ul class="shots">${papers.map((p) => html`<li key=${p.entry}><span class="shot"><${Picture} digest=${p.body.digest} job=${job.id} alt=${nameOf(p.body)} whole /><span class="under"><span class="nr num">${p.number}</span>${nameOf(p.body)}</span></span></li>`)}</ul>`}
    ${lines.length > 0 && html`<dl class="facts">${lines.map((d) => html`<dt key=${d}>${t(`coverage.${d}`)}</dt><dd>${t("coverage.said-by", { who: said[d] })}</dd>`)}</dl>`}</section>`;
}

function Terms({ v, set, errors }) {
  const list = v.terms, change = (i, more) => set({ terms: list.map((x, n) => (n === i ? { ...x, ...more } : x)) });
  const classes = termsOf("componentClasses").map((x) => ({ id: x.id, title: `${x.title} ${t("coverage.class")}` }));
  const known = [...classes, ...termsOf("components").filter((x) => !classes.some((c) => c.id === x.id))];
  return html`<fieldset><legend>${t("coverage.terms")}</legend><p class="soft small">${t("coverage.terms-hint")}</p>
    ${errors.terms && html`<p class="wrong-here" role="alert">${errors.terms}</p>`}
    ${list.map((x, i) => html`<div class="three-fields" key=${i}><${In} name=${i ? `terms-${i}` : "terms"} label=${t("coverage.term-for")} options=${known} none=${t("papers.unknown")} value=${x.for} onPick=${(f) => change(i, { for: f })} />
      <${In} name=${`terms-${i}-parts`} label=${t("coverage.term-parts")} inputmode="numeric" value=${x.parts} onPick=${(n) => change(i, { parts: n })} errors=${errors} />
      <${In} name=${`terms-${i}-labour`} label=${t("coverage.term-labour")} inputmode="numeric" value=${x.labour} onPick=${(n) => change(i, { labour: n })} errors=${errors} />
      <button type="button" class="btn quiet" onClick=${() => set({ terms: list.filter((_, n) => n !== i) })}>${t("coverage.term-remove")}</button></div>`)}
    <div class="btn-row"><button type="button" class="btn quiet" onClick=${() => set({ terms: [...list, { for: "", parts: "", labour: "" }] })}>${t("coverage.term-add")}</button></div></fieldset>`;
}

function Fields({ value: v, set, errors, context: c }) {
  const pick = (name) => (x) => set({ [name]: x });
  const one = (name, more) => html`<${In} key=${name} name=${name} label=${t(`coverage.${name}`)} value=${v[name]} onPick=${pick(name)} errors=${errors} ...${more} />`;
  const word = (name) => one(name, { options: WORDS[name].map((id) => ({ id, title: t(`coverage.${name}.${id}`) })), none: t("papers.unknown") });
  const count = (name) => one(name, { inputmode: "numeric" }), amount = (name) => one(name, { inputmode: "decimal", hint: c.job.open.currency });
  return html`<div class="sheet"><h2>${t("coverage.who")}</h2><div class="two">${one("kind", { options: termsOf("coverageKinds"), none: t("papers.unknown") })}${one("payer", { maxlength: 200 })}${one("number", { maxlength: 200 })}${one("authorisation", { maxlength: 200 })}${one("serial", { maxlength: 200 })}${one("model", { maxlength: 200 })}</div></div>
    <${Beside} job=${c.job} />
    <div class="sheet"><h2>${t("coverage.when")}</h2><div class="two">${word("startEvent")}${DATES.map((d) => one(d, { type: "date" }))}${word("endRule")}${word("decides")}</div></div>
    <div class="sheet"><h2>${t("coverage.what")}</h2><div class="two">${count("termMonths")}${count("fittedMonths")}${count("repeatDays")}</div>
      <${Terms} v=${v} set=${set} errors=${errors} />
      <fieldset><legend>${t("coverage.exclusions")}</legend><div class="two">${termsOf("exclusions").map((x) => html`<${Tick} key=${x.id} checked=${v.exclusions.includes(x.id)} onPick=${(on) => set({ exclusions: on ? [...v.exclusions, x.id] : v.exclusions.filter((y) => y !== x.id) })}>${x.title}<//>`)}</div></fieldset></div>
    <div class="sheet"><h2>${t("coverage.windows")}</h2><div class="two">${count("submitDays")}${count("returnDays")}${count("answerDays")}${word("dayRule")}${one("holidays", { options: termsOf("holidayCalendars"), none: t("papers.unknown") })}</div></div>
    <div class="sheet"><h2>${t("coverage.money")}</h2><div class="two">${AMOUNTS.map(amount)}${word("limitRule")}${count("labourMinutes")}</div></div>`;
}

export const coverageForm = {
  merged: true,
  begin({ job }) {
    const k = job.coverage, v = { terms: termText(k.terms), exclusions: k.exclusions || [] };
    for (const n of [...TEXTS, ...DATES, ...Object.keys(WORDS), ...Object.keys(LISTS)]) v[n] = k[n] || "";
    for (const n of COUNTS) v[n] = k[n] ? String(k[n]) : "";
    for (const n of AMOUNTS) v[n] = major(k[n]);
    return v;
  },
  Fields,
  // Only what was changed is kept: what stays as it was is left to whoever wrote it.
  entries(v, { job }) {
    const was = coverageForm.begin({ job }), body = {}, currency = job.open.currency || job.coverage.limit?.currency || "";
    const changed = (n) => JSON.stringify(v[n]) !== JSON.stringify(was[n]);
    for (const n of [...TEXTS, ...DATES, ...Object.keys(WORDS), ...Object.keys(LISTS)]) if (changed(n)) body[n] = filled(n, v[n]).trim();
    for (const n of COUNTS) if (changed(n)) body[n] = whole(n, filled(n, v[n]));
    for (const n of AMOUNTS) {
      if (!changed(n)) continue;
      try { body[n] = minor(filled(n, v[n]), currency); } catch (e) { throw e.field ? e : new FieldError(n, e.message); }
    }
    if (changed("terms")) body.terms = v.terms.map((x, i) => ({ for: forWhat(x.for), parts: whole(`terms-${i}-parts`, x.parts), labour: whole(`terms-${i}-labour`, x.labour) }));
    if (changed("exclusions")) body.exclusions = v.exclusions;
    for (const list of ["terms", "exclusions"]) if (body[list]?.length === 0) throw new FieldError(list === "terms" ? "terms" : "kind", t("coverage.no-emptying"));
    return Object.keys(body).length ? [["coverage", body]] : [];
  },
};

// What was said once can be changed but not emptied here: later entries fill in, field by field.
function filled(n, s) {
  if (!String(s).trim()) throw new FieldError(n, t("coverage.no-emptying"));
  return s;
}
function forWhat(id) {
  if (!id) throw new FieldError("terms", t("coverage.term-need"));
  return id;
}
