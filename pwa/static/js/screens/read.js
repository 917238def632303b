// The reading pad: big keys, the unit used last, and what the reading means while it is typed.
import { html, useEffect, useMemo, useState } from "../view.js";
import { Screen, Notice, Pick, Choices, Do, Field, tell } from "../parts.js";
import { Icon } from "../icons.js";
import { ShotButton } from "../shot-button.js";
import { Caution } from "./visit.js";
import { Verdict, valueText } from "../lists.js";
import { Conditions } from "../conditions.js";
import { useJob } from "../use-job.js";
import { useLoaded } from "../events.js";
import * as core from "../core.js";
import { keptPack } from "../source.js";
import { record } from "../record.js";
import { back } from "../route.js";
import { t, term, termsOf, unitSign, decimalSign } from "../words.js";

const lastUnit = (q) => localStorage.getItem(`unit-${q}`) || "";
const keys = () => ["7", "8", "9", "⌫", "4", "5", "6", "±", "1", "2", "3", "k", "0", decimalSign(), "/", "M"];

export function Read({ id, query }) {
  useEffect(() => { core.load(); }, []); // here it is wanted at once
  const { data } = useJob(id, { fetch: false });
  const { value: catalogue } = useLoaded(() => (core.ready() ? core.catalogue() : Promise.resolve(null)), [], "core");
  const { value: pack } = useLoaded(async () => (data?.report ? keptPack(data.report.pack) : null), [data?.report?.pack]);
  const planned = pack?.readings?.find((p) => p.id === query.get("plan"));
  const [form, fill] = useState({ component: query.get("component") || "", quantity: query.get("quantity") || "", unit: "", moment: query.get("moment") || "as-found", where: "", profile: "", conditions: {}, own: {} });
  const [text, type] = useState(""), [photo, shown] = useState(null);
  const set = (more) => fill((f) => ({ ...f, ...more }));
  useEffect(() => { if (planned) set({ component: planned.component, quantity: planned.quantity }); }, [planned?.id]);
  const info = catalogue?.quantities.find((q) => q.quantity === form.quantity);
  const plan = planned && planned.component === form.component && planned.quantity === form.quantity ? planned : pack?.readings?.find((p) => p.component === form.component && p.quantity === form.quantity);
  const units = plan?.units?.length ? plan.units : info?.units || [];
  const unit = units.includes(form.unit) ? form.unit : units.includes(lastUnit(form.quantity)) ? lastUnit(form.quantity) : units[0] || "";
  const profiles = useMemo(() => profilesFor(catalogue, form), [catalogue, form.component, form.quantity]);
  const profile = profileOf(form, plan, profiles);
  const model = catalogue?.models.find((m) => m.model === (profile?.model || catalogue.profiles.find((p) => p.name === profile?.name)?.model));
  const reading = { component: form.component, quantity: form.quantity, moment: form.moment, where: form.where.trim(), conditions: conditionsOf(form, model), profile: plan?.profile && !form.profile ? undefined : profile };
  const asked = JSON.stringify([text, unit, reading, plan?.id]);
  const { value: judged } = useLoaded(() => (core.ready() && text && form.quantity ? core.judge({ text: text.replaceAll(decimalSign(), "."), unit, pack: data?.report?.pack || "", reading }) : Promise.resolve(null)), [asked], "core");
  const toShow = !photo && Boolean(pack?.requirements?.some(({ reading: r }) => r?.["display-photo"] && (!r.moment || r.moment === form.moment) && (r.of?.length ? r.of.includes(plan?.id) : r.component === "replaced-part" || r.component === form.component)));
  const due = Object.entries(data?.cautions || {}).flatMap(([stage, list]) => list.filter((c) => plan?.cautions?.includes(c.id)).map((c) => ({ c, stage })));
  const press = (k) => type((x) => (k === "⌫" ? x.slice(0, -1) : k === "±" ? (x.startsWith("-") ? x.slice(1) : `-${x}`) : (x + k).slice(0, 24)));
  const keep = async () => {
    if (!judged?.value) throw new Error(judged?.problem || t("read.nothing"));
    const v = judged.value;
    localStorage.setItem(`unit-${form.quantity}`, v.unit || unit);
    await record(id, "reading", { ...reading, value: v.value, unit: v.unit, state: v.state, photo, says: judged.verdict?.says });
    tell(t("read.kept", { value: valueText(v) }));
    back(`/job/${id}/visit`);
  };
  // What is measured stands below the pad once it is known: the pad is what is needed then.
  const known = Boolean(form.component && form.quantity);
  const what = html`<details class="sheet" open=${!known}><summary>${[form.component && term("components", form.component), form.quantity && term("quantities", form.quantity)].filter(Boolean).join(", ") || t("read.what")}</summary>
        <${Pick} label=${t("read.component")} none=${t("read.pick")} options=${termsOf("components")} value=${form.component} onPick=${(component) => set({ component, profile: "" })} />
        <${Pick} label=${t("read.quantity")} none=${t("read.pick")} options=${termsOf("quantities")} value=${form.quantity} onPick=${(quantity) => set({ quantity, profile: "", unit: "" })} />
        <${Choices} label=${t("read.moment")} name="moment" options=${termsOf("moments")} value=${form.moment} onPick=${(moment) => set({ moment })} />
        <${Field} label=${t("read.where")} hint=${t("read.where-hint")} value=${form.where} onInput=${(e) => set({ where: e.target.value })} maxlength="150" />
      </details>`;
  return html`<${Screen} title=${plan?.title || t("read.title")} up=${`/job/${id}/visit`} foot=${html`
      <${Do} act=${keep} kind="main big" icon="met" disabled=${!judged?.value || due.length > 0}>${t("read.keep")}<//>
      <${ShotButton} job=${id} kind="big" body=${{ subject: "meter-display", component: form.component }} onKept=${(e) => shown(e.id)}>${t(photo ? "read.display-kept" : "read.display")}<//>`}>
    ${due.map(({ c, stage }) => html`<${Caution} key=${c.id} id=${id} caution=${c} stage=${stage} />`)}
    ${(plan?.how || toShow) && html`<${Notice}>${plan?.how && html`<p>${plan.how}</p>`}${toShow && html`<p class="strong">${t("read.display-wanted")}</p>`}<//>`}
    <div class="columns"><div>
      ${!known && what}
      ${form.quantity && html`<section class="sheet" aria-label=${t("read.pad")}>
        <label class="pad-screen"><span class="only-read">${t("read.typed")}</span><input class="pad-input" value=${text} onInput=${(e) => type(e.target.value)} inputmode="none" autocomplete="off" spellcheck="false" /><span class="unit">${unitSign(unit)}</span></label>
        <div class="pad">${keys().map((k) => html`<button type="button" key=${k} aria-label=${k === "⌫" ? t("read.erase") : k === "±" ? t("read.sign") : k} onClick=${() => press(k)}>${k}</button>`)}</div>
        ${info?.states?.length > 0 && html`<div class="btn-row">${info.states.map((s) => html`<button type="button" class=${`btn ${text === s ? "main" : "quiet"}`} key=${s} onClick=${() => type(s)}>${term("states", s)}</button>`)}</div>`}
        ${units.length > 1 && html`<${Choices} label=${t("read.unit")} name="unit" options=${units.map((u) => ({ id: u, title: unitSign(u) || u }))} value=${unit} onPick=${(u) => set({ unit: u })} />`}
      </section>`}
      ${known && what}
    </div><div>
      ${!core.ready() && html`<p class="soft">${t("read.no-core")}</p>`}
      ${text && judged?.problem && html`<${Notice} kind="care"><p>${judged.problem}</p><//>`}
      ${judged?.value && html`<section class="sheet" aria-live="polite" aria-label=${t("read.verdict")}><p class="strong num">${judged.shown}</p>
        ${judged.verdict ? html`<${Verdict} v=${judged.verdict} />${(judged.verdict.ask || []).map((a) => html`<p class="soft small" key=${a}>${a}</p>`)}
          ${judged.plot && html`<img class="plot" src=${`data:image/svg+xml,${encodeURIComponent(judged.plot)}`} alt=${judged.verdict.says} />`}
          <p class="soft small">${judged.verdict.source}</p>` : html`<p class="soft">${t("read.no-model")}</p>`}</section>`}
      ${form.quantity && catalogue && html`<details class="sheet" open=${Boolean(model?.needs?.length)}><summary>${t("read.judge-by")}${profile?.title ? `: ${profile.title}` : ""}</summary>
        <${Pick} label=${t("read.profile")} none=${plan?.profile ? t("read.plan-profile") : t("read.no-profile")} options=${[...profiles.map((p) => ({ id: p.name, title: p.title })), ...ownModels(catalogue, form).map((m) => ({ id: `own:${m.model}`, title: t("read.own", { model: m.title }) }))]} value=${form.profile} onPick=${(p) => set({ profile: p })} />
        ${form.profile.startsWith("own:") && html`<${OwnProfile} model=${form.profile.slice(4)} value=${form.own} onInput=${(own) => set({ own })} />`}
        ${model && html`<${Conditions} needs=${model.needs || []} value=${form.conditions} onInput=${(conditions) => set({ conditions })} />`}
      </details>`}
    </div></div>
  <//>`;
}

const profilesFor = (c, form) => (c?.profiles || []).filter((p) => (!p.component || !form.component || p.component === form.component) && c.models.find((m) => m.model === p.model)?.reads.includes(form.quantity));
// Models whose few numbers stand on the part itself: a heater's rating, a range from the maker's sheet.
const ownModels = (c, form) => c.models.filter((m) => ["resistive-heater", "coil", "run-capacitor"].includes(m.model) && m.reads.includes(form.quantity));

function profileOf(form, plan, profiles) {
  if (form.profile.startsWith("own:")) {
    const model = form.profile.slice(4), o = form.own, n = (x) => (x === undefined || x === "" ? undefined : Number(String(x).replace(",", ".")));
    const p = { model, component: form.component, source: t("read.own-source"), ratedVolts: n(o.volts), ratedWatts: n(o.watts), low: n(o.low), high: n(o.high), nominal: n(o.nominal), tolerancePercent: n(o.tolerance) };
    return Object.fromEntries(Object.entries(p).filter(([, v]) => v !== undefined && v !== ""));
  }
  if (form.profile) return { name: form.profile, ...(form.component && { component: form.component }) };
  return plan?.profile;
}

function OwnProfile({ model, value, onInput }) {
  const f = (name, label) => html`<${Field} label=${label} inputmode="decimal" value=${value[name] || ""} onInput=${(e) => onInput({ ...value, [name]: e.target.value })} />`;
  if (model === "resistive-heater") return html`<div class="two">${f("watts", t("read.rated-watts"))}${f("volts", t("read.rated-volts"))}${f("tolerance", t("read.tolerance"))}</div>`;
  if (model === "run-capacitor") return html`<div class="two">${f("nominal", t("read.nominal"))}${f("tolerance", t("read.tolerance"))}</div>`;
  return html`<div class="two">${f("low", t("read.low"))}${f("high", t("read.high"))}</div>`;
}

function conditionsOf(form, model) {
  const out = {};
  for (const name of model?.needs || []) if (form.conditions[name] !== undefined && form.conditions[name] !== "") out[name] = form.conditions[name];
  return out;
}
