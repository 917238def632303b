// Everything that is written down: one small form a kind of entry. With ?entry= it corrects an earlier one, and asks why.
import { html, useEffect, useState } from "../view.js";
import { Screen, Field, Do, Notice, tell } from "../parts.js";
import { useJob } from "../use-job.js";
import { record, clean } from "../record.js";
import { send } from "../api.js";
import { back } from "../route.js";
import { FORMS } from "../forms.js";
import { Caution } from "./visit.js";
import { Both, jobNow, rebase, whoSaid } from "../meanwhile.js";
import { t } from "../words.js";

const lists = { note: "notes", sign: "signs", cause: "causes", correction: "corrections", part: "parts", labour: "labour", trip: "trips", refrigerant: "refrigerants" };

export function Write({ id, query }) {
  const { data } = useJob(id);
  const what = query.get("what") || "note", form = FORMS[what];
  // A part that the checklist wants completed is corrected: entered once more it would be a second part.
  const wanted = query.get("entry") || (what === "part" && query.get("for") && data?.job.parts?.findLast((p) => p.body.component === query.get("component"))?.entry);
  const [asked, found] = useState(null); // the job as the server has it, when what is to be corrected is not here yet
  const old = data && wanted && [...(data.job[lists[what]] || []), ...(asked?.[lists[what]] || [])].find((x) => x.entry === wanted);
  useEffect(() => { if (data && wanted && !old && !asked) jobNow(id).then((j) => found(j || {})); }, [data, old, asked]);
  const [value, set] = useState(null), [why, because] = useState(""), [base, began] = useState(null), [both, clash] = useState(null), [errors, wrong] = useState({});
  useEffect(() => {
    if (!data || !form || value || (wanted && !old && !asked)) return;
    const start = form.begin(data.job, old?.body, query);
    set(start);
    began({ value: start, latest: old?.latest });
  }, [data, old, asked]);
  if (what === "caution") return html`<${CautionScreen} id=${id} data=${data} query=${query} />`;
  if (!form || !value) return html`<${Screen} title=${t("write.title")} up=${`/job/${id}/visit`}><p class="soft">${t(form ? "loading" : "write.unknown")}</p><//>`;
  const there = (field, says) => { wrong({ [field]: says }); setTimeout(() => document.querySelector(".bad")?.scrollIntoView({ block: "center" })); };
  // save keeps what was changed here. What somebody else has changed since the form was opened is never written over unseen.
  const save = async (typed = value, from = base) => {
    if (old && why.trim().length < 3) throw new Error(t("write.need-why"));
    wrong({});
    let fresh = data.job, now = old;
    if (old || form.merged) {
      fresh = (await jobNow(id)) ?? fresh;
      now = old && ((fresh[lists[what]] || []).find((x) => x.entry === old.entry) ?? old);
      if (form.merged || now.latest !== from.latest) {
        const start = form.begin(fresh, now?.body, query), held = rebase(typed, from.value, start);
        if (held.both.length) {
          const said = fresh.said || {};
          return clash({ list: held.both, value: held.value, base: { value: start, latest: now?.latest }, by: await whoSaid(now?.latest ?? said[held.both[0].key.toLowerCase()]) });
        }
        typed = held.value;
      }
    }
    let entries;
    try { entries = form.entries(typed, fresh); } catch (e) { if (e.field) there(e.field, e.message); throw e; }
    if (!entries.length && from === base) throw new Error(t("write.nothing")); // after a choice, what stands may be what was chosen
    for (const [kind, body] of entries) {
      const bad = await refusal(kind, body);
      if (!bad) continue;
      there(`${kind}.${bad.field}`, bad.says);
      throw new Error(`${nameOf(`${kind}.${bad.field}`)}: ${bad.says}`);
    }
    for (const [kind, body] of entries) await record(id, kind, body, now ? { supersedes: now.latest, why: why.trim() } : {});
    tell(t("write.kept"));
    back(`/job/${id}/visit`);
  };
  const chosen = (picked) => {
    const next = { ...both.value, ...picked }, from = both.base;
    set(next);
    began(from);
    clash(null);
    return save(next, from);
  };
  const nameOf = (path) => [path, path.slice(path.indexOf(".") + 1)].map(nameOfKey).find((x, i) => i > 0 || x !== path);
  const nameOfKey = (key) => [`papers.${key}`, `${what}.${key.replace(/[A-Z]/g, (c) => `-${c.toLowerCase()}`)}`, `write.${what}-${key}`, `work.${key}`].map((k) => [k, t(k)]).find(([k, said]) => said !== k)?.[1] ?? key;
  return html`<${Screen} title=${t(`write.${what}`)} up=${`/job/${id}/visit`} foot=${!both && html`<${Do} act=${() => save()} kind="main big" icon="met">${t(old ? "write.correct" : "write.keep")}<//>`}>
    <div class="narrow-form">
      ${both && html`<${Both} list=${both.list} by=${both.by} nameOf=${nameOf} onChosen=${chosen} onCancel=${() => clash(null)} />`}
      ${form.note && html`<${Notice}><p>${t(form.note)}</p><//>`}
      ${form.fields({ value, set: (more) => set((v) => ({ ...v, ...more })), data, id, query, errors })}
      ${old && html`<div class="sheet"><${Field} label=${t("write.why")} hint=${t("write.why-hint")}><textarea value=${why} onInput=${(e) => because(e.target.value)} maxlength="1000"></textarea><//></div>`}
    </div>
  <//>`;
}

// refusal asks the server whether it would take this: {field, says} when not. Where there is no answer soon, the outbox finds out.
async function refusal(kind, body) {
  try {
    await send("POST", "/entries/check", { kind, body: clean(body) }, { limit: 2500 });
  } catch (e) {
    if (e.status === 422) return { field: (e.where || "").replace(/^body\.?/, ""), says: e.message };
  }
  return null;
}

function CautionScreen({ id, data, query }) {
  const due = Object.entries(data?.cautions || {}).flatMap(([stage, list]) => list.map((c) => ({ c, stage }))).filter(({ c }) => !query.get("caution") || c.id === query.get("caution"));
  useEffect(() => { if (data && !due.length) back(`/job/${id}/visit`); }, [data]);
  return html`<${Screen} title=${t("caution.title")} up=${`/job/${id}/visit`}>${due.map(({ c, stage }) => html`<${Caution} key=${c.id} id=${id} caution=${c} stage=${stage} />`)}<//>`;
}
