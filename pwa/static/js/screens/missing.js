// Still missing: everything open, worked out on the phone, each with its cure and the button that opens the right tool.
import { html } from "../view.js";
import { Screen, Notice, Go, Wrong } from "../parts.js";
import { Finding, Counts } from "../checklist.js";
import { ShotButton } from "../shot-button.js";
import { useJob } from "../use-job.js";
import { go } from "../route.js";
import { openFindings, needed, stepFor, wantOf, stageTitle } from "../steps.js";
import { Unroll } from "../unroll.js";
import { t } from "../words.js";

/** Step is the button that closes a want; for a photo it opens the camera at once. */
export function Step({ want, id, kind = "" }) {
  const step = stepFor(want, id);
  if (!step) return null;
  if (step.shot) {
    const kept = (entry) => go(`${step.to}&entry=${entry.id}${want.pair ? `&first=${entry.id}` : ""}`);
    return html`<${ShotButton} job=${id} body=${{ subject: want.subject, component: want.component }} onKept=${kept} kind=${kind}>${step.text}<//>`;
  }
  return html`<${Go} to=${step.to} icon=${step.icon} kind=${kind}>${step.text}<//>`;
}

export function Missing({ id }) {
  const { data, error, retry } = useJob(id);
  const open = data ? openFindings(data.report) : [], must = data ? needed(data.report).length : 0;
  return html`<${Screen} title=${t("missing.title")} up=${`/job/${id}`} foot=${html`<${Go} to=${`/job/${id}/visit`} kind="main big" icon="door">${t("visit.back")}<//>`}>
    <${Wrong} error=${!data && error} retry=${retry} />
    ${data?.problem && html`<${Notice} kind="care"><p>${data.problem}</p><div class="btn-row"><${Go} to=${`/job/${id}/write?what=papers`}>${t("papers.title")}<//></div><//>`}
    ${data?.report && html`<p class="head-row"><${Counts} report=${data.report} /></p>`}
    ${data?.report && !open.length && html`<${Notice} kind="good"><p>${t("missing.none")}</p><//>`}
    ${open.length > 0 && (must ? html`<p class="strong">${t("missing.needed", { n: must })}</p>` : html`<${Notice} kind="good"><p>${t("missing.rest")}</p><//>`)}
    <${Unroll} first=${3} step=${2}>${open.map((f, i) => html`<${Open} key=${f.id} f=${f} head=${f.stage !== open[i - 1]?.stage} want=${wantOf(data, f)} id=${id} />`)}<//>
  <//>`;
}

const Open = ({ f, head, want, id }) => html`${head && html`<h2 class="stage-head">${stageTitle(f.stage)}</h2>`}
  <div class="sheet"><${Finding} f=${f} />${want && html`<div class="btn-row"><${Step} want=${want} id=${id} /></div>`}</div>`;
