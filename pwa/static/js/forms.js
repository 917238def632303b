// The forms of what is written down. Each has begin (its values at the start), fields (what is asked) and entries (what is
// kept: [[kind, body], …]).
import { html } from "./view.js";
import { Field, Choices, Pick, Go } from "./parts.js";
import { ShotButton } from "./shot-button.js";
import { go } from "./route.js";
import { t, capital, term, termsOf, locale, decimalsOf } from "./words.js";
import { seenForm } from "./seen.js";
import { who } from "./me.js";

const typed = (set, name) => (e) => set({ [name]: e.target.value });
const currencyOf = (job) => job.open.currency || who()?.shop?.currency || "";

/** minor turns a typed amount into {minor, currency}, exactly; null when nothing was typed. */
export function minor(text, currency) {
  const s = String(text || "").trim().replace(",", ".");
  if (!s) return null;
  const digits = decimalsOf(currency || "USD");
  const m = /^(\d+)(?:\.(\d+))?$/.exec(s);
  if (!m || (m[2] || "").length > digits) throw new Error(t("write.amount-wrong"));
  if (!currency) throw new Error(t("write.no-currency"));
  return { minor: Number(m[1] + (m[2] || "").padEnd(digits, "0")), currency };
}
/** major writes an amount as it is typed. */
export const major = (m) => {
  if (!m) return "";
  const digits = decimalsOf(m.currency);
  const s = String(m.minor).padStart(digits + 1, "0");
  return digits ? `${s.slice(0, -digits)}.${s.slice(-digits)}` : s;
};
// at is a refusal that stands at its field: the kind and the field's name.
const at = (field, key) => Object.assign(new Error(t(key)), { field });
const decimalOf = (s) => String(s || "").trim().replace(",", ".");

const note = {
  begin: () => ({ text: "" }),
  fields: ({ value, set }) => html`<div class="sheet"><${Field} label=${t("write.note-text")}><textarea value=${value.text} onInput=${typed(set, "text")} maxlength="8000"></textarea><//></div>`,
  entries: (v) => (v.text.trim() ? [["note", { text: v.text.trim() }]] : []),
};

const narrative = (kind) => ({
  begin: (job, old, query) => ({ text: old?.text || "", component: old?.component || query.get("component") || "" }),
  fields: ({ value, set }) => html`<div class="sheet"><${Pick} label=${t("shoot.component")} none=${t("shoot.no-component")} options=${termsOf("components")} value=${value.component} onPick=${(component) => set({ component })} />
    <${Field} label=${t(`write.${kind}-text`)} hint=${t(`write.${kind}-hint`)}><textarea value=${value.text} onInput=${typed(set, "text")} maxlength="8000"></textarea><//></div>`,
  entries: (v) => (v.text.trim() ? [[kind, { text: v.text.trim(), component: v.component }]] : []),
});

const part = {
  begin(job, old, query) {
    // What was done, whose part it is and where the old one is are for a person to say.
    return { component: query.get("component") || "", action: "", number: "", description: "", serial: "", oldSerial: "", quantity: "1", invoice: "", original: "", held: "", photos: [], ...old, price: major(old?.price) };
  },
  fields({ value, set, id, data, errors }) {
    const shot = (subject) => html`<${ShotButton} job=${id} body=${{ subject, component: value.component }} onKept=${(e) => set({ photos: [...(value.photos || []), e.id] })}>${term("subjects", subject)}<//>`;
    return html`<div class="sheet">
      <${Pick} label=${t("part.component")} wrong=${errors["part.component"]} none=${t("read.pick")} options=${termsOf("components")} value=${value.component} onPick=${(component) => set({ component })} />
      <${Choices} label=${t("part.action")} wrong=${errors["part.action"]} name="action" options=${["replaced", "removed", "fitted"].map((a) => ({ id: a, title: capital(t(`part.${a}`)) }))} value=${value.action} onPick=${(action) => set({ action })} />
      <${Field} label=${t("part.number")} value=${value.number} onInput=${typed(set, "number")} maxlength="100" autocapitalize="characters" />
      <${Field} label=${t("part.description")} value=${value.description} onInput=${typed(set, "description")} maxlength="150" />
      <div class="two"><${Field} label=${t("part.serial")} value=${value.serial} onInput=${typed(set, "serial")} maxlength="100" /><${Field} label=${t("part.old-serial")} value=${value.oldSerial} onInput=${typed(set, "oldSerial")} maxlength="100" /></div>
      <div class="two"><${Field} label=${t("part.quantity")} wrong=${errors["part.quantity"]} inputmode="numeric" value=${value.quantity} onInput=${typed(set, "quantity")} /><${Field} label=${t("part.price")} hint=${currencyOf(data.job)} inputmode="decimal" value=${value.price} onInput=${typed(set, "price")} /></div>
      <div class="two"><${Field} label=${t("part.invoice")} value=${value.invoice} onInput=${typed(set, "invoice")} maxlength="100" /></div>
      <${Choices} label=${t("part.original")} name="original" options=${[{ id: "yes", title: t("yes") }, { id: "no", title: t("no") }]} value=${value.original} onPick=${(original) => set({ original })} />
      <${Pick} label=${t("part.held")} none=${t("papers.unknown")} options=${termsOf("partHeld")} value=${value.held} onPick=${(held) => set({ held })} />
      <p class="legend">${t("part.pictures")}</p><div class="btn-row">${shot("failed-part")}${shot("part-label")}${shot("fitted-part")}</div>
      <div class="btn-row"><${Go} to=${`/job/${id}/read?component=${value.component}`} icon="meter">${t("step.read")}<//><${Go} to=${`/job/${id}/write?what=cause&component=${value.component}`} icon="note">${t("step.cause")}<//></div>
    </div>`;
  },
  entries(v, job) {
    if (!v.component) throw at("part.component", "part.need-component");
    if (!v.action) throw at("part.action", "write.choose");
    const quantity = Number(v.quantity);
    if (!Number.isInteger(quantity) || quantity < 1) throw at("part.quantity", "part.quantity-wrong");
    return [["part", { ...v, number: v.number.trim(), description: v.description.trim(), quantity, price: minor(v.price, currencyOf(job)) }]];
  },
};

// The papers: what stands on the plate and on the payer's paper. Only what was changed becomes an entry.
const PAPERS = {
  open: ["complaint", "number", "appointment"],
  customer: ["name", "phone", "email"],
  site: ["address"],
  unit: ["kind", "maker", "model", "serial", "usage", "refrigerant", "supplyVolts", "manufactured", "unreadable"],
  coverage: ["kind", "payer", "number", "authorisation", "serial", "model", "startEvent", "purchased", "installed", "pack"],
};
const picks = {
  "unit.kind": () => termsOf("unitKinds"), "coverage.kind": () => termsOf("coverageKinds"),
  "unit.usage": () => ["household", "commercial"].map((id) => ({ id, title: t(`usage.${id}`) })),
  "coverage.startEvent": () => ["purchase", "installation", "manufacture"].map((id) => ({ id, title: t(`start.${id}`) })),
};
const kinds = { "coverage.purchased": "date", "coverage.installed": "date", "customer.phone": "tel", "customer.email": "email" };
const sections = { unit: "papers.unit", coverage: "papers.coverage", customer: "papers.customer", site: "papers.site", open: "papers.open" };

const papers = {
  merged: true,
  note: "papers.note",
  begin(job) {
    const v = {};
    for (const [part, names] of Object.entries(PAPERS)) for (const n of names) v[`${part}.${n}`] = job[part][n] || "";
    return v;
  },
  fields({ value, set, query, id, errors }) {
    const wanted = { "narrative.complaint": "open.complaint", "job.number": "open.number", "coverage.start-event": "coverage.startEvent" }[query.get("field")] || query.get("field") || "";
    const one = (key) => {
      const label = t(`papers.${key}`), give = (v) => set({ [key]: v });
      const wrong = errors?.[key];
      if (picks[key]) return html`<${Pick} key=${key} label=${label} wrong=${wrong} none=${t("papers.unknown")} options=${picks[key]()} value=${value[key]} onPick=${give} />`;
      if (key === "open.complaint" || key === "unit.unreadable") return html`<${Field} key=${key} label=${label} wrong=${wrong}><textarea value=${value[key]} onInput=${(e) => give(e.target.value)} maxlength="2000"></textarea><//>`;
      return html`<${Field} key=${key} label=${label} wrong=${wrong} type=${kinds[key] || "text"} value=${value[key]} onInput=${(e) => give(e.target.value)} maxlength="200" autocapitalize=${/model|serial/.test(key) ? "characters" : undefined} />`;
    };
    const first = wanted.split(".")[0];
    return Object.keys(sections).map((part) => html`<details class="sheet" key=${part} open=${!wanted || part === first || Object.keys(errors || {}).some((k) => k.startsWith(`${part}.`))}><summary>${t(sections[part])}</summary>
      ${part === "unit" && html`<div class="btn-row form-top"><${ShotButton} job=${id} body=${{ subject: "rating-plate" }} onKept=${(e) => go(`/job/${id}/shoot?subject=rating-plate&entry=${e.id}`)}>${term("subjects", "rating-plate")}<//></div>`}
      <div class="two">${PAPERS[part].map((n) => one(`${part}.${n}`))}</div></details>`);
  },
  entries(v, job) {
    const out = [];
    for (const [part, names] of Object.entries(PAPERS)) {
      const body = {};
      for (const n of names) {
        const now = v[`${part}.${n}`].trim();
        if (now && now !== (job[part][n] || "")) body[n] = n === "supplyVolts" ? decimalOf(now) : now;
      }
      if (!Object.keys(body).length) continue;
      if (part === "open") Object.assign(body, { number: body.number || job.open.number, complaint: body.complaint || job.open.complaint });
      out.push([part, body]);
    }
    return out;
  },
};

const labour = {
  begin: (job, old) => ({ minutes: String(old?.minutes || ""), flat: old?.flat || "", says: old?.says || "", amount: major(old?.amount) }),
  fields: ({ value, set, data }) => html`<div class="sheet"><div class="two"><${Field} label=${t("work.minutes-label")} inputmode="numeric" value=${value.minutes} onInput=${typed(set, "minutes")} />
    <${Field} label=${t("work.flat")} value=${value.flat} onInput=${typed(set, "flat")} maxlength="60" /></div>
    <${Field} label=${t("work.says")} value=${value.says} onInput=${typed(set, "says")} maxlength="300" /><${Field} label=${t("work.amount")} hint=${currencyOf(data.job)} inputmode="decimal" value=${value.amount} onInput=${typed(set, "amount")} /></div>`,
  entries(v, job) {
    const minutes = Number(v.minutes || 0);
    if (!Number.isInteger(minutes) || minutes < 0 || (!minutes && !v.flat.trim())) throw new Error(t("work.need-minutes"));
    return [["labour", { minutes: minutes || undefined, flat: v.flat.trim(), says: v.says.trim(), amount: minor(v.amount, currencyOf(job)) }]];
  },
};

const trip = {
  begin: (job, old) => ({ distance: old?.distance || "", unit: old?.unit || (/-US$|-GB$/.test(locale) ? "mi" : "km"), zone: old?.zone || "", amount: major(old?.amount) }),
  fields: ({ value, set, data }) => html`<div class="sheet"><${Field} label=${t("work.distance")} inputmode="decimal" value=${value.distance} onInput=${typed(set, "distance")} />
    <${Choices} label=${t("read.unit")} name="unit" options=${["km", "mi"].map((id) => ({ id, title: id }))} value=${value.unit} onPick=${(unit) => set({ unit })} />
    <${Field} label=${t("work.zone")} value=${value.zone} onInput=${typed(set, "zone")} maxlength="60" /><${Field} label=${t("work.amount")} hint=${currencyOf(data.job)} inputmode="decimal" value=${value.amount} onInput=${typed(set, "amount")} /></div>`,
  entries(v, job) {
    const distance = decimalOf(v.distance);
    if (distance && !/^\d+(\.\d+)?$/.test(distance)) throw new Error(t("work.distance-wrong"));
    if (!distance && !v.zone.trim()) throw new Error(t("work.need-distance"));
    return [["trip", { distance, unit: distance ? v.unit : "", zone: v.zone.trim(), amount: minor(v.amount, currencyOf(job)) }]];
  },
};

const refrigerant = {
  note: "refrigerant.note",
  begin: (job, old) => ({ type: old?.type || job.unit.refrigerant || "", action: old?.action || "", grams: old?.grams || "", method: old?.method || "", certificate: old?.certificate || "" }),
  fields: ({ value, set, errors }) => html`<div class="sheet"><${Field} label=${t("refrigerant.type")} value=${value.type} onInput=${typed(set, "type")} maxlength="40" />
    <${Choices} label=${t("part.action")} wrong=${errors["refrigerant.action"]} name="action" options=${["recovered", "charged", "vented-as-permitted"].map((id) => ({ id, title: capital(t(`refrigerant.${id}`)) }))} value=${value.action} onPick=${(action) => set({ action })} />
    <${Field} label=${t("refrigerant.grams")} inputmode="decimal" value=${value.grams} onInput=${typed(set, "grams")} />
    <${Field} label=${t("refrigerant.method")} value=${value.method} onInput=${typed(set, "method")} maxlength="150" /><${Field} label=${t("refrigerant.certificate")} value=${value.certificate} onInput=${typed(set, "certificate")} maxlength="100" /></div>`,
  entries(v) {
    const grams = decimalOf(v.grams);
    if (!v.action) throw at("refrigerant.action", "write.choose");
    if (!v.type.trim() || !/^\d+(\.\d+)?$/.test(grams)) throw new Error(t("refrigerant.need"));
    return [["refrigerant", { ...v, type: v.type.trim(), grams, method: v.method.trim(), certificate: v.certificate.trim() }]];
  },
};

export const FORMS = { note, sign: seenForm, cause: narrative("cause"), correction: narrative("correction"), part, papers, labour, trip, refrigerant };
