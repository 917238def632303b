// Everything that is on a job's record, in order: what was kept, corrected, struck, by whom, on which device and by which clock. It is
// read from the journal itself, so nothing is left out.
import { html, useState } from "../view.js";
import { Mark } from "../parts.js";
import { Picture, nameOf } from "../photos.js";
import { valueText } from "../lists.js";
import { signText } from "../seen.js";
import { useLoaded } from "../events.js";
import { Unroll } from "../unroll.js";
import { db } from "../db.js";
import { t, term, kindName, moment, clockTime, day, money, number, size } from "../words.js";

const FIRST = 40;

async function journalOf(id) {
  const d = await db();
  const [kept, waiting] = await Promise.all([d.getAllFromIndex("journal", "job", id), d.getAllFromIndex("entries", "job", id)]);
  const list = [...kept.map((e) => ({ ...JSON.parse(e.raw), received: e.received })), ...waiting.map((e) => ({ ...JSON.parse(e.raw), unsent: true }))];
  return list.sort((a, b) => Date.parse(a.at) - Date.parse(b.at) || a.device.localeCompare(b.device) || (a.seq || 0) - (b.seq || 0) || a.id.localeCompare(b.id));
}

const fields = (kind, body) => Object.entries(body).map(([k, v]) => {
  const name = [kind === "coverage" && `coverage.${k}`, `papers.${kind}.${k}`].filter(Boolean).map((key) => [key, t(key)]).find(([key, said]) => key !== said)?.[1] ?? k;
  const value = v?.currency ? money(v) : Array.isArray(v) ? v.map((x) => (typeof x === "object" ? [x.for && term("componentClasses", x.for), x.parts, x.labour].filter(Boolean).join(" ") : x)).join(", ") : typeof v === "object" && v ? JSON.stringify(v) : String(v);
  return `${name}: ${value}`;
}).join(" · ");

// what an entry says, in words
function says(e, numbers) {
  const b = e.body, comp = b.component && term("components", b.component);
  switch (e.kind) {
    case "photo": return [nameOf(b), b.caption].filter(Boolean).join(": ");
    case "reading": return `${[comp, term("quantities", b.quantity)].filter(Boolean).join(", ")}: ${valueText(b)}${b.moment ? `, ${term("moments", b.moment)}` : ""}`;
    case "sign": return [signText(b), b.says].filter(Boolean).join(": ");
    case "cause": case "correction": return [comp, b.text].filter(Boolean).join(": ");
    case "note": return b.text;
    case "part": return [comp, t(`part.${b.action}`), b.number].filter(Boolean).join(", ");
    case "part-return": return [term("partHeld", b.held), b.tracking].filter(Boolean).join(", ");
    case "damage": return t("event.damage", { area: b.area, kind: b.kind === "none" ? t("damage.none") : term("damageKinds", b.kind) });
    case "acknowledge": return [term("about", b.about), term("acknowledgementOutcomes", b.outcome), b.name].filter(Boolean).join(", ");
    case "labour": return [b.minutes ? t("work.minutes", { n: b.minutes }) : "", b.flat, b.says].filter(Boolean).join(", ");
    case "trip": return [b.distance && `${b.distance} ${b.unit}`, b.zone].filter(Boolean).join(", ");
    case "leave": return b.gaps?.length ? `${t("visits.left-open", { n: b.gaps.length })} ${b.reason || ""}` : "";
    case "strike": return t("timeline.struck", { n: numbers.get(b.entry)?.number ?? "", why: b.reason });
    case "waive": return t("event.waive", { what: b.requirement, why: b.reason });
    case "send": return [b.to, b.how, b.version && t("bundle.version", { n: b.version })].filter(Boolean).join(", ");
    case "answer": return [t(`answer.${b.outcome}`), b.reason && term("refusalReasons", b.reason), b.words].filter(Boolean).join(", ");
    case "payment": return [money(b.amount), t(`pay.from.${b.from}`), b.reference].filter(Boolean).join(", ");
    case "reply": return term("refusalReasons", b.reason);
    case "settle": return [t(`settle.${b.outcome}`), b.reason].filter(Boolean).join(", ");
    case "built": return [t("bundle.version", { n: b.version }), size(b.bytes)].join(", ");
    case "shared": case "mailed": return [b.to, t("bundle.version", { n: b.version })].join(", ");
    case "fetched": return t("bundle.version", { n: b.version });
    case "billed": return money({ minor: b.total, currency: b.currency });
    case "examined": return [b.width && `${b.width} × ${b.height}`, b.sharp && t(`sharp.${b.sharp}`), b.camera].filter(Boolean).join(", ");
    case "codes": return (b.codes || []).map((c) => c.text).join(", ");
    case "caution-shown": return String(b.caution).replaceAll("-", " ");
    case "open": case "customer": case "site": case "unit": case "coverage": return fields(e.kind, b);
    default: return b.words || b.says || "";
  }
}

// By which clock: the device's own with what it knew of the server's, and when the server had it.
function byClock(e) {
  if (e.device === "server") return t("timeline.server-clock");
  const c = e.clock, parts = [];
  if (!c || c.uncertaintyMs >= 86400000) parts.push(t("timeline.clock-alone", { device: e.device }));
  else parts.push(t("timeline.clock", { device: e.device, off: number(Math.round(c.offsetMs / 100) / 10), give: number(Math.ceil(c.uncertaintyMs / 100) / 10) }));
  parts.push(e.unsent ? t("photos.unsent") : e.received ? t("timeline.received", { when: moment(e.received) }) : "");
  return parts.filter(Boolean).join(" · ");
}

/** Timeline is everything on the job's record. */
export function Timeline({ id, data }) {
  const { job } = data;
  const [all, showAll] = useState(false), [own, showOwn] = useState(false);
  const { value } = useLoaded(() => journalOf(id), [id, job.entries, data.unsent?.size]);
  if (!value) return null;
  const numbers = new Map();
  for (const list of Object.values(job)) if (Array.isArray(list)) for (const it of list) if (it?.entry && it.number) numbers.set(it.entry, it);
  const struck = new Map((job.struck || []).map((s) => [s.entry, s.strike]));
  const list = value.filter((e) => own || e.device !== "server");
  const shown = all ? list : list.slice(0, FIRST);
  return html`<section class="sheet record" aria-labelledby="h-timeline"><div class="head-row"><h2 id="h-timeline">${t("timeline.title")}</h2><span class="soft">${t("events.count", { n: list.length })}</span></div>
    <label class="tick no-print"><input type="checkbox" checked=${own} onChange=${(e) => showOwn(e.target.checked)} /><span>${t("timeline.own")}</span></label>
    <ol class="time-line"><${Unroll} first=${5} step=${5}>${shown.map((e, i) => html`<${Event} key=${e.id} e=${e} before=${shown[i - 1]} id=${id} data=${data} value=${value} numbers=${numbers} gone=${struck.get(e.id)} />`)}<//></ol>
    ${list.length > shown.length && html`<div class="btn-row no-print"><button type="button" class="btn wide" onClick=${() => showAll(true)}>${t("timeline.all", { n: list.length })}</button></div>`}</section>`;
}

// Event is one entry of the record, under its day when it is the first of that day.
function Event({ e, before, id, data, value, numbers, gone }) {
  const { job, views } = data, today = day(e.at), head = !before || today !== day(before.at), it = numbers.get(e.id), fixed = it?.corrected || [];
  return html`${head && html`<li class="strong">${today}</li>`}<li class=${gone ? "gone" : ""}>
    <div class="event"><span class="num soft">${clockTime(e.at)}</span><div>
      <p><b>${kindName(e.kind)}</b>${it && html` <span class="soft num">${t("timeline.number", { n: String(it.number) })}</span>`} ${says(e, numbers)}</p>
      ${e.supersedes && html`<p><${Mark} kind="info" icon="again">${t("timeline.corrects", { n: String(numbers.get(rootOf(e, value))?.number ?? "?"), why: e.why })}<//></p>`}
      ${fixed.length > 0 && html`<p class="small"><${Mark} kind="doubt" icon="again">${t("timeline.corrected", { n: fixed.length })}<//> ${t("corrected", { when: moment(fixed[fixed.length - 1].at), by: fixed[fixed.length - 1].by, why: fixed[fixed.length - 1].why })}</p>`}
      ${gone && html`<p><${Mark} kind="gap" icon="close">${t("timeline.gone", { by: gone.by, why: gone.why })}<//></p>`}
      ${e.kind === "photo" && html`<div class="event-photo"><${Picture} digest=${e.body.digest} job=${id} alt=${nameOf(e.body)} type=${job.facts?.[e.body.digest]?.type} /></div>${views?.[e.id]?.time?.says && html`<p class="small soft">${views[e.id].time.says}</p>`}`}
      <p class="small soft">${e.by} · ${byClock(e)}</p></div></div></li>`;
}

function rootOf(e, list) {
  const by = new Map(list.map((x) => [x.id, x]));
  for (let steps = 0; e?.supersedes && steps < 1000; steps++) e = by.get(e.supersedes);
  return e?.id;
}
