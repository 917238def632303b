// A job begun on the phone, without the office: enough to know what to show; the rest can follow.
import { html, useState } from "../view.js";
import { Screen, Field, Choices, Pick, Do, tell } from "../parts.js";
import { record } from "../record.js";
import { uuid7, zoned } from "../hash.js";
import { keepCard } from "../source.js";
import { who, isOffice } from "../me.js";
import { go } from "../route.js";
import { Later } from "../later.js";
import { t, termsOf } from "../words.js";

export function NewJob() {
  const now = new Date(), two = (n) => String(n).padStart(2, "0");
  const [f, fill] = useState({ number: `${String(now.getFullYear()).slice(2)}${two(now.getMonth() + 1)}${two(now.getDate())}-${two(now.getHours())}${two(now.getMinutes())}`, complaint: "", name: "", phone: "", address: "", kind: "", maker: "", appointment: zoned(now).slice(0, 10), coverage: "maker-warranty", payer: "" });
  const set = (k) => (e) => fill((x) => ({ ...x, [k]: e.target ? e.target.value : e }));
  const save = async () => {
    if (f.complaint.trim().length < 3) throw new Error(t("new.need-complaint"));
    const job = uuid7(), shop = who().shop || {};
    await record(job, "open", { number: f.number.trim() || job.slice(0, 8), complaint: f.complaint.trim(), appointment: f.appointment, technician: who().actor.person, currency: shop.currency });
    if (f.name.trim() || f.phone.trim()) await record(job, "customer", { name: f.name.trim(), phone: f.phone.trim(), email: f.listed?.name === f.name.trim() ? f.listed.email : undefined });
    await record(job, "site", { address: f.address.trim(), zone: Intl.DateTimeFormat().resolvedOptions().timeZone, country: shop.country });
    const unit = f.listed?.name === f.name.trim() && f.listed.unitKind === f.kind ? { model: f.listed.model, serial: f.listed.serial } : {};
    if (f.kind || f.maker.trim()) await record(job, "unit", { kind: f.kind, maker: f.maker.trim(), ...unit });
    await record(job, "coverage", { kind: f.coverage, payer: f.payer.trim(), purchased: unit.serial || unit.model ? f.listed.purchased : undefined });
    await keepCard({ job, number: f.number.trim(), customer: f.name.trim(), place: f.address.trim(), unitKind: f.kind, maker: f.maker.trim(), payer: f.payer.trim(), appointment: f.appointment, opened: now.toISOString(), changed: now.toISOString(), stage: "booked" });
    tell(t("new.kept"));
    go(`/job/${job}/visit`, { replace: true });
  };
  return html`<${Screen} title=${t("new.title")} up="/" foot=${html`<${Do} act=${save} kind="main big" icon="met">${t("new.do")}<//>`}>
    <div class="columns"><div class="sheet">
      <${Field} label=${t("new.complaint")} hint=${t("new.complaint-hint")}><textarea value=${f.complaint} onInput=${set("complaint")} maxlength="2000"></textarea><//>
      <${Pick} label=${t("new.kind")} none=${t("new.pick-kind")} options=${termsOf("unitKinds")} value=${f.kind} onPick=${set("kind")} />
      <${Field} label=${t("job.maker")} value=${f.maker} onInput=${set("maker")} maxlength="100" />
      <${Choices} label=${t("job.coverage")} name="coverage" options=${termsOf("coverageKinds")} value=${f.coverage} onPick=${set("coverage")} />
      <${Field} label=${t("job.payer")} value=${f.payer} onInput=${set("payer")} maxlength="150" />
    </div><div class="sheet">
      <${Field} label=${t("job.customer")} value=${f.name} onInput=${set("name")} maxlength="150" />
      ${isOffice() && html`<${Later} show="FromRegister" quiet typed=${f.name} onPick=${(r) => fill((x) => ({ ...x, name: r.name, phone: r.phone || x.phone, address: r.address || x.address, kind: r.unitKind || x.kind, maker: r.maker || x.maker, listed: r }))} />`}
      <${Field} label=${t("new.phone")} type="tel" inputmode="tel" value=${f.phone} onInput=${set("phone")} maxlength="40" />
      <${Field} label=${t("job.site")} value=${f.address} onInput=${set("address")} maxlength="300" />
      <${Field} label=${t("new.day")} type="date" value=${f.appointment} onInput=${set("appointment")} />
      <${Field} label=${t("new.number")} value=${f.number} onInput=${set("number")} maxlength="60" />
    </div></div>
  <//>`;
}
