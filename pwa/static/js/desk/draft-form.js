// The narrative, drafted from the entries: a proposal to edit. It says nothing that no entry says, and what stands behind each part is
// checked beside it.
import { html } from "../view.js";
import { Mark, Notice } from "../parts.js";
import { In, Tick, FieldError } from "./fields.js";
import * as ask from "./ask.js";
import { t, term, termsOf } from "../words.js";

const lastOf = (l) => (l || [])[(l || []).length - 1];

function Part({ p }) {
  return html`<li><p><b>${term("components", p.component)}</b> <span class="soft num">${t("draft.part", { n: p.number })}</span>
    <${Mark} kind=${p.supported ? "met" : "gap"} icon=${p.supported ? "met" : "gap"}>${t(p.supported ? "draft.supported" : "draft.unsupported")}<//></p><p class="small">${p.says}</p></li>`;
}

function Fields({ value: v, set, errors, context: c }) {
  const d = c.more.draft;
  if (!d) return html`<${Notice} kind="care"><p>${t("draft.offline")}</p><//>`;
  const text = (what, list) => html`<div class="sheet"><${Tick} checked=${v[`keep-${what}`]} onPick=${(on) => set({ [`keep-${what}`]: on })}>${t(`draft.keep-${what}`)}<//>
    <${In} name=${what} label=${t(`narrative.${what}`)} hint=${lastOf(list) ? t("draft.corrects", { n: String(lastOf(list).number) }) : t("draft.new")} area rows="8" value=${v[what]} onPick=${(x) => set({ [what]: x, [`keep-${what}`]: true })} errors=${errors} maxlength="8000" />
    <${In} name=${`component-${what}`} label=${t("shoot.component")} options=${termsOf("components")} none=${t("shoot.no-component")} value=${v[`component-${what}`]} onPick=${(x) => set({ [`component-${what}`]: x })} errors=${errors} /></div>`;
  return html`<${Notice}><p>${t("draft.what")}</p><//>
    ${(d.parts || []).length > 0 && html`<section class="sheet" aria-labelledby="h-behind"><h2 id="h-behind">${t("draft.behind")}</h2><ul class="rows">${d.parts.map((p) => html`<${Part} key=${p.part} p=${p} />`)}</ul></section>`}
    ${(d.missing || []).length > 0 && html`<section class="sheet" aria-labelledby="h-lacks"><h2 id="h-lacks">${t("draft.lacks")}</h2><ul class="rows">${d.missing.map((m) => html`<li key=${m}><${Mark} kind="doubt" icon="doubt">${m}<//></li>`)}</ul></section>`}
    <div class="sheet"><h2>${t("narrative.complaint")}</h2><p>${d.complaint.text || t("draft.no-complaint")}</p></div>
    ${text("cause", c.job.causes)}${text("correction", c.job.corrections)}`;
}

export const draftForm = {
  needs: async (id) => ({ draft: await ask.draft(id) }),
  begin({ job, more }) {
    const part = lastOf(job.parts)?.body.component || "";
    const of = (what, list) => ({ [what]: more.draft?.[what].text || lastOf(list)?.body.text || "", [`keep-${what}`]: false, [`component-${what}`]: lastOf(list)?.body.component || part, [`latest-${what}`]: lastOf(list)?.latest });
    return { ...of("cause", job.causes), ...of("correction", job.corrections) };
  },
  Fields,
  entries(v, { job }) {
    const out = [];
    for (const [what, list] of [["cause", job.causes], ["correction", job.corrections]]) {
      const last = lastOf(list), text = v[what].trim();
      if (!v[`keep-${what}`] || !text || (text === last?.body.text && v[`component-${what}`] === (last.body.component || ""))) continue;
      if (last?.latest !== v[`latest-${what}`]) {
        // Somebody has written one meanwhile: both are on the screen before anything is kept.
        throw Object.assign(new FieldError(what, t("draft.meanwhile", { by: last?.corrected?.at(-1)?.by || last?.by || "", text: last?.body.text || "" })), { update: { [`latest-${what}`]: last?.latest } });
      }
      out.push([what, { text, component: v[`component-${what}`] }, last ? { supersedes: last.latest, why: t("draft.why") } : {}]);
    }
    return out;
  },
};
