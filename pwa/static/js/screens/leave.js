// Leaving: what is still open is said once more. Leaving with gaps is possible, with a reason, and is recorded.
import { html, useState } from "../view.js";
import { Screen, Notice, Go, Do, Field, tell } from "../parts.js";
import { Step } from "./missing.js";
import { useJob } from "../use-job.js";
import { record } from "../record.js";
import { go } from "../route.js";
import { placeNow } from "../place.js";
import { needed, openVisit, wantOf, stageTitle } from "../steps.js";
import { t } from "../words.js";

export function Leave({ id }) {
  const { data } = useJob(id);
  const [reason, say] = useState(""), [again, back] = useState(false);
  if (!data) return html`<${Screen} title=${t("leave.title")} up=${`/job/${id}/visit`}><p class="soft">${t("loading")}</p><//>`;
  const open = needed(data.report), on = openVisit(data.job);
  if (!on) return html`<${Screen} title=${t("leave.title")} up=${`/job/${id}/visit`} foot=${html`<${Go} to=${`/job/${id}/visit`} kind="main big" icon="door">${t("job.visit")}<//>`}>
    <${Notice} kind="care"><p>${t("leave.not-there")}</p><//><//>`;
  const leave = async () => {
    if (open.length && reason.trim().length < 3) throw new Error(t("leave.need-reason"));
    await record(id, "leave", { gaps: open.map((f) => f.id.slice(0, 200)), reason: open.length ? reason.trim() : "", return: again, position: placeNow() });
    tell(t("leave.done"));
    go(`/job/${id}`);
  };
  return html`<${Screen} title=${t("leave.title")} up=${`/job/${id}/visit`} foot=${html`<${Do} act=${leave} kind="main big" icon="door">${t(open.length ? "leave.anyway" : "leave.do")}<//>`}>
    ${!data.report && html`<${Notice} kind="care"><p>${data.problem || t("leave.unchecked")}</p><//>`}
    ${data.report && !open.length && html`<${Notice} kind="good"><p>${t("leave.complete")}</p><//>`}
    ${open.length > 0 && html`<${Notice} kind="care" title=${t("leave.open", { n: open.length })}><p>${t("leave.open-text")}</p><//>
      <ul class="rows sheet">${open.map((f) => html`<li key=${f.id}><b>${f.title}</b> <span class="soft small">${stageTitle(f.stage)}</span><p class="small">${f.cure || f.sentence}</p>${wantOf(data, f) && html`<div class="btn-row"><${Step} want=${wantOf(data, f)} id=${id} /></div>`}</li>`)}</ul>
      <${Field} label=${t("leave.reason")} hint=${t("leave.reason-hint")}><textarea value=${reason} onInput=${(e) => say(e.target.value)} maxlength="2000"></textarea><//>`}
    <label class="tick"><input type="checkbox" checked=${again} onChange=${(e) => back(e.target.checked)} /><span>${t("leave.return")}</span></label>
  <//>`;
}
