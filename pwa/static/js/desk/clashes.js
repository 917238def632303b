// At the head of a job's page: what two people wrote without knowing of each other, and a choice between the two.
import { html } from "../view.js";
import { Do, tell } from "../parts.js";
import { useLoaded } from "../events.js";
import { record } from "../record.js";
import { jobNow } from "../meanwhile.js";
import * as ask from "./ask.js";
import { t, moment } from "../words.js";

const said = (v) => (typeof v === "object" && v !== null && !Array.isArray(v) ? v.text ?? Object.entries(v).map(([k, x]) => `${k}: ${typeof x === "object" ? JSON.stringify(x) : x}`).join(", ") : Array.isArray(v) ? JSON.stringify(v) : String(v));

// latestOf is the version of a whole entry that the account goes by, as this device knows it.
const latestOf = (job, c) => (!c.field && Object.values(job).flat().find((x) => x?.entry === c.root)?.latest) || c.stands.entry;

/** Clashes shows where two people changed the same thing without knowing of each other, and lets somebody choose. */
export function Clashes({ id, job }) {
  const { value } = useLoaded(() => ask.clashes(id), [id, job.entries], `sent:${id}`);
  // A choice takes the place of the version it was made about. Once there is a newer one, such as a choice that still waits to be sent, another
  // beside it would be a clash of its own: the question is put anew when the server knows both.
  const list = (value?.clashes || []).filter((c) => latestOf(job, c) === c.stands.entry);
  const choose = (c, side) => async () => {
    if (c.field) await record(id, c.kind, { [c.field]: side.value });
    else {
      if (latestOf((await jobNow(id)) ?? job, c) !== c.stands.entry) throw new Error(t("clash.newer"));
      await record(id, c.kind, side.value, { supersedes: c.stands.entry, why: t("clash.why", { by: side.by }) });
    }
    tell(t("write.kept"));
  };
  return list.map((c) => html`<section class="notice care" key=${c.kind + c.field + c.root} aria-label=${t("clash.title")}><div><h2>${t("clash.title")}: ${t(`kind.${c.kind}`)}${c.field ? `, ${fieldName(c)}` : ""}</h2><p>${t("clash.what")}</p>
    <div class="two">${[c.stands, ...c.others].map((side, i) => html`<div key=${side.entry}><p class="strong">${said(side.value)}</p><p class="small">${i === 0 ? t("clash.stands") : t("clash.other")} · ${side.by} · ${moment(side.at)}</p>
      <${Do} act=${choose(c, side)} kind="no-print">${t(i === 0 ? "clash.keep" : "clash.take")}<//></div>`)}</div></div></section>`);
}
const fieldName = (c) => { for (const k of [c.kind === "coverage" && `coverage.${c.field}`, `papers.${c.kind}.${c.field}`].filter(Boolean)) if (t(k) !== k) return t(k); return c.field; };
