// The condition record: what was seen where, and where it was looked and nothing was seen.
import { html, useState } from "../view.js";
import { Choices, Go, Mark, Notice } from "../parts.js";
import { In, FieldError } from "../desk/fields.js";
import { ShotButton } from "../shot-button.js";
import { Picture } from "../photos.js";
import { Drawing, PlacePicker, placeOf } from "./place.js";
import { viewFor } from "./views.js";
import { FormScreen, clean, home, keep, useForm } from "./form.js";
import { Clock, OrderMark } from "./photo.js";
import { t, term, termsOf, capital } from "../words.js";

export function ConditionRecord({ id, list }) {
  const drawn = [...new Set(list.filter((c) => c.view).map((c) => c.view))];
  return html`<section class="sheet" aria-labelledby="h-condition"><h2 id="h-condition">${t("condition.title")}</h2>
    ${!list.length && html`<p class="soft">${t("condition.none")}</p>`}
    <div class="drawings">${drawn.map((v) => html`<${Drawing} key=${v} view=${v} pins=${list.filter((c) => c.view === v).map((c) => ({ x: c.x || 0, y: c.y || 0, n: c.number }))} label=${t("condition.drawing", { view: t(`view-of.${v}`) })} />`)}</div>
    <ul class="rows">${list.map((c) => html`<li key=${c.entry}><p><span class="num strong">${c.number}</span> ${c.says} <${OrderMark} order=${c.order} /></p>
      <p class="soft small">${[c.extent, c.seen && term("damageSeen", c.seen)].filter(Boolean).join(" · ")}</p><${Clock} says=${c.order?.says} />
      ${c.doubt && html`<p><${Mark} kind="doubt" icon="doubt">${c.doubt}<//></p>`}${c.said && html`<p>${t("damage.said", { by: c.saidBy || t("damage.somebody"), said: c.said })}</p>`}</li>`)}</ul>
    <div class="btn-row"><${Go} to=${home(id, "condition")} icon="plus">${t("condition.add")}<//></div></section>`;
}

export function ConditionForm({ id, data }) {
  const { job } = data;
  const form = useForm({ area: "", place: "", view: viewFor(job.unit.kind), kind: "", seen: "on-arrival", widthMm: "", heightMm: "", scale: "", words: "", saidBy: "", said: "", bears: "" });
  const [shots, add] = useState([]);
  const { value: v, set, errors } = form, pick = (name) => (x) => set({ [name]: x }), mm = (s) => s.trim().replace(",", ".");
  const act = async () => {
    const place = placeOf(v);
    if (!place.area) throw new FieldError(v.area ? "area" : "place", t("damage.need-area"));
    if (!v.kind) throw new FieldError("kind", t("damage.need-kind"));
    await keep(id, "damage", clean({ ...place, kind: v.kind, seen: v.seen, widthMm: mm(v.widthMm), heightMm: mm(v.heightMm), scale: v.scale, words: v.words, saidBy: v.saidBy, said: v.said, bears: v.bears, photos: shots.map((e) => e.id) }));
  };
  const area = placeOf(v).area, body = (subject) => clean({ subject, area });
  return html`<${FormScreen} id=${id} title=${t("condition.form")} form=${form} act=${act}>
    <${Notice}><p>${t("damage.neutral")}</p><//>
    <div class="columns"><div class="sheet"><h2>${t("allege.where")}</h2><${PlacePicker} value=${v} set=${set} errors=${errors} /></div>
    <div class="sheet"><${In} name="kind" label=${t("damage.kind")} options=${[...termsOf("damageKinds"), { id: "none", title: capital(t("damage.none")) }]} none=${t("condition.choose")} value=${v.kind} onPick=${pick("kind")} errors=${errors} />
      <${Choices} label=${t("damage.seen")} name="seen" options=${termsOf("damageSeen")} value=${v.seen} onPick=${pick("seen")} />
      ${v.kind !== "none" && html`<div class="two"><${In} name="widthMm" label=${t("damage.width")} inputmode="decimal" value=${v.widthMm} onPick=${pick("widthMm")} errors=${errors} /><${In} name="heightMm" label=${t("damage.height")} inputmode="decimal" value=${v.heightMm} onPick=${pick("heightMm")} errors=${errors} />
        <${In} name="scale" label=${t("condition.scale")} options=${termsOf("damageScales")} none=${t("condition.not-measured")} value=${v.scale} onPick=${pick("scale")} errors=${errors} />
        <${In} name="bears" label=${t("condition.bears")} options=${["yes", "no", "unknown"].map((x) => ({ id: x, title: t(`bears.${x}`) }))} none=${t("condition.choose")} value=${v.bears} onPick=${pick("bears")} errors=${errors} /></div>`}
      <${In} name="words" label=${t("damage.words")} hint=${t("damage.words-hint")} area value=${v.words} onPick=${pick("words")} errors=${errors} maxlength="2000" />
      <div class="two"><${In} name="saidBy" label=${t("damage.said-by")} value=${v.saidBy} onPick=${pick("saidBy")} errors=${errors} maxlength="100" /><${In} name="said" label=${t("damage.said-words")} value=${v.said} onPick=${pick("said")} errors=${errors} maxlength="1000" /></div>
      <h3>${t("damage.pictures")}</h3><p class="soft small">${t("damage.scale")}</p>
      <div class="btn-row">${["damage-wide", "damage-close"].map((s) => html`<${ShotButton} key=${s} job=${id} body=${body(s)} onKept=${(e) => add((l) => [...l, e])}>${t(s === "damage-wide" ? "damage.wide" : "damage.close")}<//>`)}</div>
      ${shots.length > 0 && html`<ul class="shots">${shots.map((e) => html`<li key=${e.id}><figure class="proof"><${Picture} digest=${e.digest} job=${id} alt=${term("subjects", e.body.subject)} /><figcaption>${term("subjects", e.body.subject)}</figcaption></figure></li>`)}</ul>`}</div></div>
  <//>`;
}
