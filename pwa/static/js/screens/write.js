// Everything that is written down: one small form a kind of entry. With ?entry= it corrects an earlier one, and asks why.
import { html, useEffect, useState } from "../view.js";
import { Screen, Field, Do, Notice, tell } from "../parts.js";
import { useJob } from "../use-job.js";
import { record } from "../record.js";
import { back } from "../route.js";
import { FORMS } from "../forms.js";
import { Caution } from "./visit.js";
import { t } from "../words.js";

const lists = { note: "notes", sign: "signs", cause: "causes", correction: "corrections", part: "parts", labour: "labour", trip: "trips", refrigerant: "refrigerants" };

export function Write({ id, query }) {
  const { data } = useJob(id, { fetch: false });
  const what = query.get("what") || "note", form = FORMS[what];
  const old = data && query.get("entry") && (data.job[lists[what]] || []).find((x) => x.entry === query.get("entry"));
  const [value, set] = useState(null), [why, because] = useState("");
  useEffect(() => { if (data && form && !value) set(form.begin(data.job, old?.body, query)); }, [data]);
  if (what === "caution") return html`<${CautionScreen} id=${id} data=${data} query=${query} />`;
  if (!form || !value) return html`<${Screen} title=${t("write.title")} up=${`/job/${id}/visit`}><p class="soft">${t(form ? "loading" : "write.unknown")}</p><//>`;
  const save = async () => {
    if (old && why.trim().length < 3) throw new Error(t("write.need-why"));
    const entries = form.entries(value, data.job);
    if (!entries.length) throw new Error(t("write.nothing"));
    for (const [kind, body] of entries) await record(id, kind, body, old ? { supersedes: old.entry, why: why.trim() } : {});
    tell(t("write.kept"));
    back(`/job/${id}/visit`);
  };
  return html`<${Screen} title=${t(`write.${what}`)} up=${`/job/${id}/visit`} foot=${html`<${Do} act=${save} kind="main big" icon="met">${t(old ? "write.correct" : "write.keep")}<//>`}>
    <div class="narrow-form">
      ${form.note && html`<${Notice}><p>${t(form.note)}</p><//>`}
      ${form.fields({ value, set: (more) => set((v) => ({ ...v, ...more })), data, id, query })}
      ${old && html`<div class="sheet"><${Field} label=${t("write.why")} hint=${t("write.why-hint")}><textarea value=${why} onInput=${(e) => because(e.target.value)} maxlength="1000"></textarea><//></div>`}
    </div>
  <//>`;
}

function CautionScreen({ id, data, query }) {
  const due = Object.entries(data?.cautions || {}).flatMap(([stage, list]) => list.map((c) => ({ c, stage }))).filter(({ c }) => !query.get("caution") || c.id === query.get("caution"));
  useEffect(() => { if (data && !due.length) back(`/job/${id}/visit`); }, [data]);
  return html`<${Screen} title=${t("caution.title")} up=${`/job/${id}/visit`}>${due.map(({ c, stage }) => html`<${Caution} key=${c.id} id=${id} caution=${c} stage=${stage} />`)}<//>`;
}
