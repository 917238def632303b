// The steps between the sides: offer, answer, release, payment, the insurer, the end. Each is one entry; nothing is ever overwritten.
import { html, useEffect, useState } from "../view.js";
import { Choices, Notice } from "../parts.js";
import { In, Tick } from "../desk/fields.js";
import { ShotButton } from "../shot-button.js";
import { Amount, FormScreen, amountOf, clean, keep, useForm } from "./form.js";
import * as ask from "./ask.js";
import { who } from "../me.js";
import { t, termsOf, day, placeName } from "../words.js";

const kinds = ["offer", "offer-answer", "release", "paid-out", "insurer-notice", "dispute-end", "statement"];
const ended = ["agreed", "withdrawn", "refused", "decided", "lapsed"];

// What each step keeps of the form.
const bodies = {
  offer: (v) => ({ allegations: v.allegations, from: v.from, what: v.what, amount: amountOf(v), terms: v.terms, how: v.how, answerBy: v.answerBy }),
  "offer-answer": (v) => ({ offer: v.offer, outcome: v.outcome, words: v.words, how: v.how, on: v.on }),
  release: (v) => ({ offer: v.offer, text: v.text, outcome: v.outcome, name: v.name, reason: v.reason, photos: v.photos }),
  "paid-out": (v) => ({ offer: v.offer, by: v.payer, to: v.to, amount: amountOf(v), on: v.on, how: v.how, reference: v.reference }),
  "insurer-notice": (v) => ({ allegations: v.allegations, insurer: v.insurer, policy: v.policy, reference: v.reference, on: v.on, how: v.how, says: v.words, replyBy: v.answerBy }),
  "dispute-end": (v) => ({ allegations: v.allegations, outcome: v.outcome, reason: v.reason }),
  statement: (v) => ({ about: v.allegations[0], from: v.from, name: v.name, text: v.words, how: v.how, on: v.on, photos: v.photos }),
};
const outcomesOf = { "offer-answer": () => termsOf("offerOutcomes"), release: () => termsOf("releaseOutcomes"), "dispute-end": () => termsOf("disputeEnds").filter((x) => ended.includes(x.id)) };
const fromOf = { offer: () => ["shop", "customer", "insurer"].map((x) => ({ id: x, title: t(`offer-from.${x}`) })), statement: () => termsOf("statementFrom") };

export function Settle({ id, data, view, query }) {
  const offers = view.settlement.filter((s) => s.kind === "offer"), open = view.allegations.filter((a) => !a.ended);
  const currency = data.job.open.currency || who()?.shop?.currency || "", named = query.getAll("allegation");
  const [kind, setKind] = useState(query.get("step") || "offer");
  const form = useForm({ allegations: named.length ? named : open.map((a) => a.entry), from: "", what: "", amount: "", currency, terms: "", how: "", answerBy: "", offer: offers.at(-1)?.entry || "", outcome: "", words: "", on: "", text: "", name: "", reason: "", payer: "", to: "", reference: "", insurer: "", policy: "", photos: [] },
    { by: "payer", says: kind === "insurer-notice" ? "words" : "says", replyBy: "answerBy", "amount.minor": "amount", ...(kind === "statement" && { text: "words" }) });
  const { value: v, set, errors } = form, pick = (name) => (x) => set({ [name]: x });
  const [missing, lacks] = useState([]);
  useEffect(() => {
    if (kind === "release") ask.release(id, v.offer).then((r) => { set({ text: r.text }); lacks(r.missing); }, () => {});
  }, [kind, v.offer]);
  const change = (k) => { setKind(k); set({ outcome: "", from: "" }); };
  const act = async () => {
    if (["offer", "dispute-end"].includes(kind) && !v.allegations.length) throw new Error(t("settling.need-allegation"));
    await keep(id, kind, clean(bodies[kind](v)));
  };
  const has = (...names) => names.includes(kind);
  const field = (name, more = {}) => html`<${In} key=${name} name=${name} label=${t(`settling.${name}`)} value=${v[name]} onPick=${pick(name)} errors=${errors} maxlength="200" ...${more} />`;
  const choose = (name, options) => field(name, { options, none: t("condition.choose") });
  const date = (name) => field(name, { type: "date" });
  const toggle = (x) => (on) => set({ allegations: on ? [...v.allegations, x] : v.allegations.filter((y) => y !== x) });
  return html`<${FormScreen} id=${id} title=${t("settling.title")} form=${form} act=${act}>
    <${Notice}><p>${t("settling.what")}</p><//>
    <div class="columns"><div class="sheet"><${Choices} label=${t("settling.step")} name="step" options=${kinds.map((k) => ({ id: k, title: t(`step-of.${k}`) }))} value=${kind} onPick=${change} />
      ${has("offer", "insurer-notice", "dispute-end", "statement") && html`<fieldset><legend>${t("settling.allegations")}</legend>${view.allegations.filter((a) => !a.ended || v.allegations.includes(a.entry)).map((a) => html`<${Tick} key=${a.entry} checked=${v.allegations.includes(a.entry)} onPick=${toggle(a.entry)}>${t("claimed.title", { n: a.number, area: placeName(a.area) })}<//>`)}</fieldset>`}
      ${has("offer-answer", "release", "paid-out") && field("offer", { options: offers.map((o) => ({ id: o.entry, title: `${day(o.at)}: ${o.says}` })), none: t("settling.no-offer") })}</div>
    <div class="sheet">
      ${has("offer", "statement") && choose("from", fromOf[kind]())}
      ${has("offer") && field("what", { label: t("settling.what-kind"), options: termsOf("offerWhat"), none: t("condition.choose") })}
      ${has("offer-answer", "release", "dispute-end") && choose("outcome", outcomesOf[kind]())}
      ${has("release") && html`${missing.length > 0 && html`<p class="soft small">${t("settling.template-lacks", { list: missing.join(", ") })}</p>`}${field("text", { area: true, rows: 12, maxlength: "8000", hint: t("settling.text-hint") })}`}
      ${has("insurer-notice") && html`${field("insurer")}${field("policy")}`}
      ${has("paid-out") && choose("payer", ["shop", "insurer"].map((x) => ({ id: x, title: t(`offer-from.${x}`) })))}
      ${has("paid-out") && field("to")}
      ${has("release", "statement") && field("name")}
      ${has("offer", "paid-out") && html`<${Amount} form=${form} label=${t("settling.amount")} />`}
      ${has("offer") && field("terms", { area: true, maxlength: "2000" })}
      ${has("offer-answer", "insurer-notice", "statement") && field("words", { area: true, maxlength: "8000" })}
      ${has("release", "dispute-end") && field("reason", { area: true, maxlength: "2000" })}
      <div class="two">${has("offer", "offer-answer", "paid-out", "insurer-notice", "statement") && field("how")}
        ${has("offer-answer", "paid-out", "insurer-notice", "statement") && date("on")}
        ${has("paid-out", "insurer-notice") && field("reference")}
        ${has("offer", "insurer-notice") && date("answerBy")}</div>
      ${has("release", "statement") && html`<div class="btn-row"><${ShotButton} job=${id} gallery body=${{ subject: "customer-document", from: "customer" }} onKept=${(e) => set({ photos: [...v.photos, e.id] })}>${t("settling.paper")}<//></div>${v.photos.length > 0 && html`<p class="soft small">${t("settling.papers", { n: v.photos.length })}</p>`}`}</div></div>
  <//>`;
}
