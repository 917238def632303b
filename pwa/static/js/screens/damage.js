// Damage, in neutral words: what is seen and where, never who did it. Wide and close, and what somebody said about it.
import { html, useState } from "../view.js";
import { Screen, Field, Pick, Choices, Do, Notice, tell } from "../parts.js";
import { ShotButton } from "../shot-button.js";
import { Picture, nameOf } from "../photos.js";
import { useJob } from "../use-job.js";
import { record } from "../record.js";
import { go } from "../route.js";
import { openVisit } from "../steps.js";
import { t, areaName, areaOf, capital, clockTime, termsOf, term } from "../words.js";

// workBegun is when work began on the visit that goes on, or on the last one; undefined while it has not.
function workBegun(job) {
  const visit = openVisit(job) ?? job.visits?.at(-1), when = (x) => x.body.when || x.at;
  const start = job.workStarts?.find((w) => !visit?.arrived || Date.parse(when(w)) >= Date.parse(when(visit.arrived)));
  return start && when(start);
}

export function DamageForm({ id, query }) {
  const { data } = useJob(id, { fetch: false });
  const [form, fill] = useState({ area: areaName(query.get("area") || ""), kind: "", seen: "", widthMm: "", heightMm: "", scale: "", words: "", saidBy: "", said: "" });
  const [photos, add] = useState([]);
  const [wide, setWide] = useState(null);
  const [missing, lack] = useState({});
  if (!data) return html`<${Screen} title=${t("damage.title")} up=${`/job/${id}/visit`}><p class="soft">${t("loading")}</p><//>`;
  // Once work has begun nobody is taken at a word that was only a button's.
  const asked = query.get("seen"), begun = workBegun(data.job), seen = form.seen || (begun && asked === "on-arrival" ? "" : asked) || "";
  const set = (name) => (e) => fill({ ...form, [name]: e.target ? e.target.value : e });
  const taken = (what) => (e) => { add((l) => [...l, e]); if (what === "wide") setWide(e.id); };
  const save = async () => {
    const lacks = { ...(!form.area.trim() && { area: t("damage.need-area") }), ...(!form.kind && { kind: t("damage.need-kind") }), ...(!seen && { seen: t("write.choose") }) };
    lack(lacks);
    const [first] = Object.values(lacks);
    if (first) throw new Error(first);
    const mm = (s) => s.trim().replace(",", ".");
    await record(id, "damage", { ...form, seen, area: areaOf(form.area), widthMm: mm(form.widthMm), heightMm: mm(form.heightMm), photos: photos.map((p) => p.id) });
    tell(t("damage.kept"));
    if (seen === "on-arrival" && form.kind !== "none") go(`/job/${id}/sign?about=damage-on-arrival`, { replace: true });
    else go(`/job/${id}/visit`, { replace: true });
  };
  return html`<${Screen} title=${t("damage.title")} up=${`/job/${id}/visit`} foot=${html`<${Do} act=${save} kind="main big" icon="met">${t("damage.keep")}<//>`}>
    <${Notice}><p>${t("damage.neutral")}</p><//>
    <div class="columns"><div class="sheet">
      <${Field} label=${t("damage.area")} hint=${t("damage.area-hint")} wrong=${missing.area} value=${form.area} onInput=${set("area")} maxlength="100" list="areas" />
      <datalist id="areas">${termsOf("areas").map((a) => html`<option key=${a.id} value=${a.title} />`)}</datalist>
      <${Choices} label=${t("damage.kind")} wrong=${missing.kind} name="kind" options=${[...termsOf("damageKinds"), { id: "none", title: capital(t("damage.none")) }]} value=${form.kind} onPick=${set("kind")} />
      <${Choices} label=${t("damage.seen")} wrong=${missing.seen} name="seen" options=${termsOf("damageSeen")} value=${seen} onPick=${set("seen")} />
      ${begun && (!seen || seen === "on-arrival") && html`<${Notice} kind="care"><p>${t("damage.begun", { time: clockTime(begun) })}</p><//>`}
    </div><div class="sheet">
      <h2>${t("damage.pictures")}</h2><p class="soft small">${t("damage.scale")}</p>
      <div class="btn-row"><${ShotButton} job=${id} body=${{ subject: "damage-wide", area: areaOf(form.area) }} onKept=${taken("wide")}>${t("damage.wide")}<//>
        <${ShotButton} job=${id} body=${{ subject: "damage-close", area: areaOf(form.area), ...(wide && { pairedWith: wide, pair: "wide-close" }) }} onKept=${taken("close")}>${t("damage.close")}<//></div>
      ${photos.length > 0 && html`<ul class="shots">${photos.map((p) => html`<li key=${p.id}><span class="shot"><${Picture} digest=${p.digest} job=${id} alt=${nameOf(p.body)} whole /><span class="under">${term("subjects", p.body.subject)}</span></span></li>`)}</ul>`}
      <div class="two"><${Field} label=${t("damage.width")} inputmode="decimal" value=${form.widthMm} onInput=${set("widthMm")} /><${Field} label=${t("damage.height")} inputmode="decimal" value=${form.heightMm} onInput=${set("heightMm")} /></div>
      <${Pick} label=${t("damage.scale-used")} none=${t("damage.scale-none")} options=${termsOf("damageScales")} value=${form.scale} onPick=${set("scale")} />
      <${Field} label=${t("damage.words")} hint=${t("damage.words-hint")}><textarea value=${form.words} onInput=${set("words")} maxlength="2000"></textarea><//>
      <div class="two"><${Field} label=${t("damage.said-by")} value=${form.saidBy} onInput=${set("saidBy")} maxlength="100" /><${Field} label=${t("damage.said-words")} value=${form.said} onInput=${set("said")} maxlength="1000" /></div>
    </div></div>
  <//>`;
}
