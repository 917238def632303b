// The check's findings: a sign, the sentence, and for what is open the cure and the button that opens the right tool.
import { html } from "./view.js";
import { Mark, Go, Fold } from "./parts.js";
import { Icon } from "./icons.js";
import { stages, stageTitle, stepFor, wantOf } from "./steps.js";
import { t, day } from "./words.js";

/** Counts shows how many findings are open, as words with signs. */
export function Counts({ report }) {
  const { gap, doubt, met } = report.counts;
  return html`<span class="marks">
    ${gap > 0 && html`<${Mark} kind="gap" icon="gap">${t("check.gaps", { n: gap })}<//> `}
    ${doubt > 0 && html`<${Mark} kind="doubt" icon="doubt">${t("check.doubts", { n: doubt })}<//> `}
    ${!gap && !doubt ? html`<${Mark} kind="met" icon="met">${t("jobs.complete")}<//>` : html`<${Mark} kind="met" icon="met">${t("check.met", { n: met })}<//>`}
  </span>`;
}

/** Finding is one answer of the check. */
export function Finding({ f, step }) {
  const open = f.outcome === "gap" || f.outcome === "doubt";
  return html`<div class=${`finding ${f.outcome}`}>
    <span class="sign"><${Icon} name=${f.outcome} /></span>
    <div>
      <p><span class="only-read">${t(`outcome.${f.outcome}`)}: </span><b>${f.title}</b>${f.severity === "advised" && open && html` <span class="soft small">(${t("check.advised")})</span>`}</p>
      <p class=${open ? "" : "soft small"}>${f.sentence}</p>
      ${f.due && html`<p><${Mark} kind=${f.soon ? "doubt" : ""} icon="clock">${t("check.due", { day: day(f.due) })}<//></p>`}
      ${open && f.cure && html`<div class="cure"><p>${f.cure}</p></div>`}
      ${open && html`<details><summary class="small">${t("check.why")}</summary><p class="small soft">${f.why}</p></details>`}
      ${open && step && html`<div class="btn-row"><${Go} to=${step.to} icon=${step.icon}>${step.text}<//></div>`}
    </div>
  </div>`;
}

/** Checklist shows all findings by stage: what is open in full, what is settled folded away. */
export function Checklist({ data, id }) {
  const { report } = data;
  return html`<div class="stack">${stages().map((s) => {
    const all = report.findings.filter((f) => f.stage === s);
    if (!all.length) return null;
    const open = all.filter((f) => f.outcome === "gap" || f.outcome === "doubt"), settled = all.filter((f) => !open.includes(f));
    return html`<section key=${s}><h3>${stageTitle(s)}</h3>
      ${open.length > 0 && html`<ul class="rows">${open.map((f) => html`<li key=${f.id}><${Finding} f=${f} step=${stepFor(wantOf(data, f), id)} /></li>`)}</ul>`}
      ${settled.length > 0 && html`<${Fold} summary=${html`<${Mark} kind="met" icon="met">${t("check.settled", { n: settled.length })}<//>`} draw=${() => html`<ul class="rows">${settled.map((f) => html`<li key=${f.id}><${Finding} f=${f} /></li>`)}</ul>`} />`}
    </section>`;
  })}</div>`;
}
