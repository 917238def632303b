// What the desk records about a claim: sent, answered, paid, the old part, settled; what the papers say; the narrative; the reply to a
// refusal. One screen a step, each with its messages at the fields.
import { html, useEffect, useRef, useState } from "../view.js";
import { Screen, Do, Notice, Wrong, tell } from "../parts.js";
import { Both, jobNow, rebase, whoSaid } from "../meanwhile.js";
import { record, clean } from "../record.js";
import { useLoaded } from "../events.js";
import { useJob } from "../use-job.js";
import { back, go } from "../route.js";
import { showAt } from "./fields.js";
import { useKeys } from "./keys.js";
import * as ask from "./ask.js";
import { STEPS } from "./claim-steps.js";
import { coverageForm } from "./coverage-form.js";
import { draftForm } from "./draft-form.js";
import { ReplyScreen } from "./reply.js";
import { t } from "../words.js";

const FORMS = { ...STEPS, coverage: coverageForm, draft: draftForm };

/** ClaimForm is the screen of one step. */
export function ClaimForm({ id, query }) {
  const what = query.get("what");
  useKeys({ b: () => go("/board") });
  if (what === "reply") return html`<${ReplyScreen} id=${id} />`;
  if (!FORMS[what]) return html`<${Screen} title=${t("write.title")} up=${`/job/${id}`}><p>${t("write.unknown")}</p><//>`;
  return html`<${Step} id=${id} query=${query} what=${what} form=${FORMS[what]} />`;
}

function Step({ id, query, what, form }) {
  const { data, stale } = useJob(id);
  const { value: more, error } = useLoaded(async () => {
    const job = await jobNow(id); // a form begins with what the server has, not with what was here before
    return { ...(await form.needs?.(id)), job };
  }, [id]);
  const [value, fill] = useState(null), [base, began] = useState(null), [errors, wrong] = useState({}), [general, fail] = useState(null), [both, clash] = useState(null);
  const kept = useRef(new Set());
  const ready = data?.job && (more || error);
  const context = { job: data?.job, data, query, more: more || {}, id };
  useEffect(() => {
    if (!ready || value) return;
    const start = form.begin({ ...context, job: more?.job || data.job });
    fill(start);
    began(start);
  }, [ready]);
  const set = (change) => fill((v) => ({ ...v, ...change }));
  const keep = async (typed = value, from = base) => {
    wrong({});
    fail(null);
    const fresh = (await jobNow(id)) ?? data.job;
    if (form.merged) {
      // merged names the fields that others may have written meanwhile; true = all of them.
      const only = (o) => (form.merged === true ? o : Object.fromEntries(form.merged.map((k) => [k, o[k]])));
      const now = only(form.begin({ ...context, job: fresh })), held = rebase(only(typed), only(from), now);
      typed = { ...typed, ...held.value };
      if (held.both.length) return clash({ list: held.both, value: typed, base: { ...from, ...now }, by: await whoSaid((fresh.said || {})[`coverage.${held.both[0].key.toLowerCase()}`]) });
    }
    try {
      const entries = form.entries(typed, { ...context, job: fresh });
      if (!entries.length && from === base) throw new Error(t("write.nothing"));
      for (const [kind, body] of entries) {
        try { await ask.check(kind, clean(body)); } catch (e) { if (e.status !== 0) throw e; } // without an answer the outbox finds out
      }
      for (const [kind, body, extra] of entries) {
        const key = JSON.stringify([kind, body]);
        if (kept.current.has(key)) continue; // an earlier try got this far
        await record(id, kind, body, extra);
        kept.current.add(key);
      }
    } catch (e) {
      if (e.update) set(e.update);
      if (!showAt(wrong, e, form.rename)) fail(e);
      return;
    }
    tell(t("write.kept"));
    back(`/job/${id}`);
  };
  const chosen = (picked) => {
    const next = { ...both.value, ...picked }, from = both.base;
    fill(next);
    began(from);
    clash(null);
    return keep(next, from);
  };
  return html`<${Screen} title=${t(`claim.${what}`)} up=${`/job/${id}`} foot=${value && !both && html`<${Do} act=${() => keep()} kind="main big" icon="met">${t("write.keep")}<//>`}>
    <div class="narrow-form">
      ${stale && html`<${Notice} kind="care"><p>${t("claim.stale")}</p><//>`}
      <${Wrong} error=${general} />
      ${both && html`<${Both} list=${both.list} by=${both.by} nameOf=${(k) => t(`coverage.${k}`)} onChosen=${chosen} onCancel=${() => clash(null)} />`}
      ${!value ? html`<p class="soft">${t("loading")}</p>` : html`<${form.Fields} value=${value} set=${set} errors=${errors} context=${context} />`}
    </div>
  <//>`;
}
