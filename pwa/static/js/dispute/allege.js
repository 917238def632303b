// What somebody says the shop did: in their words, where, since when, how it came, until when an answer is due, and what they sent along.
import { html, useState } from "../view.js";
import { Notice } from "../parts.js";
import { In, FieldError } from "../desk/fields.js";
import { ShotButton } from "../shot-button.js";
import { PlacePicker, placeOf } from "./place.js";
import { viewFor } from "./views.js";
import { Amount, FormScreen, amountOf, clean, keep, useForm } from "./form.js";
import { Received } from "./photo.js";
import { who } from "../me.js";
import { t, termsOf } from "../words.js";

export function Allege({ id, data }) {
  const { job } = data, currency = job.open.currency || who()?.shop?.currency || "";
  const form = useForm({ area: "", place: "", view: viewFor(job.unit.kind), kind: "", words: "", by: job.customer.name || "", how: "", came: "", since: "", amount: "", currency, wants: "", replyBy: "" }, { "amount.minor": "amount", "amount.currency": "amount" });
  const [sent, add] = useState([]);
  const { value: v, set, errors } = form, pick = (name) => (x) => set({ [name]: x });
  const act = async () => {
    const place = placeOf(v);
    if (!place.area) throw new FieldError(v.area ? "area" : "place", t("allege.need-area"));
    if (!v.words.trim()) throw new FieldError("words", t("allege.need-words"));
    await keep(id, "allege", clean({ ...place, kind: v.kind, words: v.words, by: v.by, how: v.how, came: v.came, since: v.since, amount: amountOf(v), wants: v.wants, replyBy: v.replyBy, photos: sent.map((e) => e.id) }));
  };
  const body = { subject: "other", from: "customer", ...(placeOf(v).area && { area: placeOf(v).area }), caption: v.by.trim() ? t("allege.sent-by", { who: v.by.trim() }) : "" };
  const paper = { ...body, subject: "customer-document", area: undefined };
  return html`<${FormScreen} id=${id} title=${t("allege.title")} form=${form} act=${act}>
    <${Notice}><p>${t("allege.what")}</p><//>
    <div class="columns"><div class="sheet"><h2>${t("allege.where")}</h2><${PlacePicker} value=${v} set=${set} errors=${errors} /></div>
    <div><div class="sheet"><h2>${t("allege.says")}</h2>
      <${In} name="words" label=${t("allege.words")} hint=${t("allege.words-hint")} area rows="5" value=${v.words} onPick=${pick("words")} errors=${errors} maxlength="8000" />
      <div class="two"><${In} name="by" label=${t("allege.by")} value=${v.by} onPick=${pick("by")} errors=${errors} maxlength="200" />
        <${In} name="kind" label=${t("allege.kind")} options=${termsOf("damageKinds")} none=${t("allege.unsaid")} value=${v.kind} onPick=${pick("kind")} errors=${errors} />
        <${In} name="since" label=${t("allege.since")} hint=${t("allege.since-hint")} type="date" value=${v.since} onPick=${pick("since")} errors=${errors} />
        <${In} name="wants" label=${t("allege.wants")} options=${termsOf("allegationWants")} none=${t("allege.unsaid")} value=${v.wants} onPick=${pick("wants")} errors=${errors} /></div><${Amount} form=${form} label=${t("allege.amount")} /></div>
    <div class="sheet"><h2>${t("allege.reached")}</h2><div class="two">
        <${In} name="how" label=${t("allege.how")} options=${termsOf("allegationHow")} none=${t("allege.unsaid")} value=${v.how} onPick=${pick("how")} errors=${errors} />
        <${In} name="came" label=${t("allege.came")} type="date" value=${v.came} onPick=${pick("came")} errors=${errors} />
        <${In} name="replyBy" label=${t("allege.reply-by")} hint=${t("allege.reply-by-hint")} type="date" value=${v.replyBy} onPick=${pick("replyBy")} errors=${errors} /></div></div>
    <div class="sheet"><h2>${t("allege.sent-along")}</h2><p class="soft small">${t("allege.sent-along-hint")}</p>
      <div class="btn-row"><${ShotButton} job=${id} gallery body=${clean(body)} onKept=${(e) => add((l) => [...l, e])}>${t("allege.add-picture")}<//>
        <${ShotButton} job=${id} gallery body=${clean(paper)} onKept=${(e) => add((l) => [...l, e])}>${t("allege.add-paper")}<//></div>
      ${sent.length > 0 && html`<ul class="shots">${sent.map((e) => html`<li key=${e.id}><${Received} id=${id} job=${job} photo=${{ entry: e.id, digest: e.digest, title: t("allege.received"), from: "customer", at: e.at }} /></li>`)}</ul>`}</div></div></div>
  <//>`;
}
