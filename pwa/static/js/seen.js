// What was seen, heard or found and is no number: frost, a still fan, standing water. The words are the closed list of the readings'
// checks; each names the part it is about and the kinds of unit that have it.
import { html } from "./view.js";
import { Picture, nameOf } from "./photos.js";
import { Choices, Field, Go } from "./parts.js";
import { ShotButton } from "./shot-button.js";
import { t, term, moment } from "./words.js";

const cold = ["refrigerator", "freezer"], wet = ["dishwasher", "washer"];
const SIGNS = [
  ["coil-even-frost", "evaporator-coil", cold], ["coil-partial-frost", "evaporator-coil", cold], ["coil-bare", "evaporator-coil", cold],
  ["defrost-ends-early", "evaporator-coil", cold], ["fan-stopped", "evaporator-fan", cold], ["blade-on-ice", "evaporator-fan", cold],
  ["door-ajar", "door", [...cold, ...wet]], ["gasket-gap", "gasket", [...cold, ...wet]], ["drain-blocked", "drain-trough", cold],
  ["floor-ice", "freezer-compartment", cold], ["items-freeze", "fresh-food-compartment", cold], ["damper-iced", "damper", cold],
  ["heater-cold", "defrost-heater", cold], ["heater-cold", "wash-heater", wet], ["heater-cold", "dryer-element", ["dryer-electric"]],
  ["heater-cold", "bake-element", ["range-electric"]], ["compressor-silent", "compressor", cold], ["vent-restricted", "dryer-vent", ["dryer-electric", "dryer-gas"]],
  ["not-draining", "drain-pump", wet], ["blockage-found", "drain-pump", wet], ["not-filling", "water-valve", wet],
].map(([sign, component, units]) => ({ sign, component, units, id: `${sign} ${component}` }));

const signsFor = (kind) => { const fit = SIGNS.filter((s) => s.units.includes(kind)); return fit.length ? fit : SIGNS; };
const titleOf = (s) => `${term("components", s.component)}: ${t(`sign-of.${s.sign}`)}`;

/** seenForm writes down a sign, with a picture when there is one. */
export const seenForm = {
  begin: (job, old) => ({ pick: old ? `${old.sign} ${old.component || ""}` : "", says: old?.says || "", photo: old?.photo || "" }),
  fields({ value, set, data, id }) {
    const s = SIGNS.find((x) => x.id === value.pick);
    return html`<div class="sheet"><${Choices} label=${t("seen.what")} name="sign" options=${signsFor(data.job.unit.kind).map((x) => ({ id: x.id, title: titleOf(x) }))} value=${value.pick} onPick=${(pick) => set({ pick })} />
      <${Field} label=${t("seen.words")} value=${value.says} onInput=${(e) => set({ says: e.target.value })} maxlength="500" />
      <div class="btn-row"><${ShotButton} job=${id} body=${{ subject: "symptom", component: s?.component }} onKept=${(e) => set({ photo: e.id })}>${t(value.photo ? "seen.photo-kept" : "seen.photo")}<//></div></div>`;
  },
  entries(v) {
    const s = SIGNS.find((x) => x.id === v.pick);
    if (!s) throw new Error(t("seen.need"));
    return [["sign", { component: s.component, sign: s.sign, photo: v.photo, says: v.says.trim() }]];
  },
};

/** signText is a sign in words. */
export const signText = (b) => titleOf(b);

/** Seen lists the signs of a job. */
export function Seen({ data, id }) {
  const list = data.job.signs || [];
  if (!list.length) return null;
  return html`<section class="sheet" aria-labelledby="h-seen"><h2 id="h-seen">${t("seen.title")}</h2><ul class="rows">${list.map((x) => {
    const p = (data.job.photos || []).find((y) => y.entry === x.body.photo);
    return html`<li key=${x.entry}><p><b>${signText(x.body)}</b></p>${x.body.says && html`<p>${x.body.says}</p>`}
      ${p && html`<div class="shots"><span class="shot"><${Picture} digest=${p.body.digest} job=${data.job.id} alt=${nameOf(p.body)} /><span class="under"><span class="nr num">${p.number}</span>${nameOf(p.body)}</span></span></div>`}
      <p class="soft small">${moment(x.at)} · ${x.by}</p>
      ${(x.corrected || []).map((c) => html`<p class="small soft" key=${c.entry}>${t("corrected", { when: moment(c.at), by: c.by, why: c.why })}</p>`)}
      <div class="btn-row"><${Go} to=${`/job/${id}/write?what=sign&entry=${x.entry}`} kind="quiet">${t("correct")}<//></div></li>`;
  })}</ul></section>`;
}
