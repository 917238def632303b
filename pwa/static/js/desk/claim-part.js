// The desk on the job's page: what comes next with the claim, what is owed and paid line by line, each sending with its bundle and what
// followed, the old parts.
import { html } from "../view.js";
import { Go, Mark, Notice } from "../parts.js";
import { useLoaded } from "../events.js";
import * as api from "../api.js";
import * as ask from "./ask.js";
import { heldNow } from "./held.js";
import { useKeys } from "./keys.js";
import { Link, go } from "../route.js";
import { isOffice } from "../me.js";
import { t, term, money, moment, day, capital } from "../words.js";

const step = (id, what, icon, kind = "", more = "") => html`<${Go} key=${what + more} to=${`/job/${id}/claim?what=${what}${more}`} kind=${kind} icon=${icon}>${t(`claim.${what}`)}<//>`;

function stage(job) {
  if (job.settlements?.length) return "settled";
  const sends = job.sends || [], last = (job.answers || []).findLast?.(() => true), sent = sends[sends.length - 1];
  if (!sent) return "open";
  if (!last || Date.parse(sent.at) > Date.parse(last.at)) return "sent";
  return last.body.outcome === "paid" ? "paid" : "refused";
}

/** ClaimPart stands on the job's page. */
export function ClaimPart({ id, data }) {
  const { job } = data;
  const { value: a } = useLoaded(() => ask.account(id), [id, job.entries], `sent:${id}`);
  const where = stage(job), office = isOffice();
  useKeys({ b: () => go("/board") });
  return html`<section class="sheet" aria-labelledby="h-claim"><h2 id="h-claim">${t("claim.title")}</h2>
    ${office && html`<div class="btn-row no-print">
      ${where === "open" && step(id, "send", "up", "main")}
      ${where === "sent" && step(id, "answer", "note", "main")}
      ${where === "refused" && html`${step(id, "reply", "box", "main")}${step(id, "send", "up")}`}
      ${where === "paid" && step(id, "settle", "met", "main")}
      ${where !== "open" && where !== "sent" && where !== "settled" && step(id, "answer", "note")}
      ${step(id, "payment", "plus")}${where !== "settled" && where !== "paid" && step(id, "settle", "met")}</div>`}
    ${!office && html`<div class="btn-row no-print">${step(id, "payment", "plus", "", "&from=customer")}</div>`}
    ${a && html`<${Account} a=${a} />`}
    <${OldParts} id=${id} job=${job} />
    <${Course} id=${id} job=${job} a=${a} />
    <div class="btn-row no-print">${step(id, "coverage", "note", "quiet")}${step(id, "draft", "pen", "quiet")}</div>
  </section>`;
}

function Account({ a }) {
  const m = (minor) => money({ minor, currency: a.bill.currency });
  const side = (who, o) => Boolean(o.owed || o.paid) && html`<dt>${capital(t(`pay.from.${who}`))}</dt><dd>${t("account.side", { owed: m(o.owed), paid: m(o.paid) })} <b class="num left">${m(o.left)}</b></dd>`;
  if (!a.payer.owed && !a.payer.paid && !a.customer.owed && !a.customer.paid) return null;
  return html`<h3>${t("account.title")}</h3><dl class="facts owing">${side("payer", a.payer)}${side("customer", a.customer)}</dl>
    ${a.lines?.some((l) => l.known) && html`<details><summary>${t("account.lines")}</summary><ul class="rows">${a.lines.map((l) => html`<li key=${l.line}><div class="head-row"><span>${l.says}</span><${Mark} kind=${!l.known ? "" : l.paid === l.asked ? "met" : "gap"}>${l.known ? t("account.of", { paid: m(l.paid), asked: m(l.asked) }) : t("account.unknown")}<//></div></li>`)}</ul></details>`}
    ${(a.differences || []).map((d) => html`<${Notice} kind="care" key=${d.says}><p>${d.says}</p>${!d.sure && html`<p class="small">${t("account.guess")}</p>`}<//>`)}
    ${(a.problems || []).map((p) => html`<${Notice} kind="care" key=${p}><p>${p}</p><//>`)}`;
}

function OldParts({ id, job }) {
  const list = (job.parts || []).filter((p) => p.body.action !== "fitted" && heldNow(job, p) !== "received" && heldNow(job, p) !== "scrapped" && heldNow(job, p) !== "left-with-customer");
  const past = (p) => (job.partReturns || []).filter((r) => r.body.part === p.entry);
  if (!list.length && !(job.partReturns || []).length) return null;
  return html`<h3>${t("return.title")}</h3><ul class="rows">${(job.parts || []).filter((p) => p.body.action !== "fitted").map((p) => html`<li key=${p.entry}><p><b>${term("components", p.body.component)}</b> <span class="num">${p.body.number}</span> <${Mark} icon="box">${term("partHeld", heldNow(job, p))}<//></p>
    ${past(p).map((r) => html`<p class="small soft" key=${r.entry}>${[term("partHeld", r.body.held), r.body.tracking, r.body.photo && t("return.on-photo", { n: String((job.photos || []).find((x) => x.entry === r.body.photo)?.number ?? "?") }), moment(r.at), r.by].filter(Boolean).join(" · ")}</p>`)}
    ${list.includes(p) && html`<div class="btn-row no-print">${step(id, "return", "box", "quiet", `&part=${p.entry}`)}</div>`}</li>`)}</ul>`;
}

// Each sending with its bundle and what came back, in order; every bundle stays to be had as it went out.
const Withdraw = ({ id, entry, what }) => isOffice() && html` <${Link} to=${`/job/${id}/claim?what=strike&entry=${entry}`} class="inline no-print" aria-label=${`${t("strike.do")} ${what}`}>${t("strike.do")}<//>`;

function Course({ id, job, a }) {
  const list = a?.versions || [];
  if (!list.length) return null;
  const m = (x) => money(x);
  return html`<h3>${t("course.title")}</h3><ol class="time-line course">${list.map((v, i) => html`<li key=${v.send.entry}>
    <p><b>${t("course.sent", { n: i + 1, to: v.send.body.to })}</b> <span class="soft small">${moment(v.send.at)} · ${v.send.by}</span><${Withdraw} id=${id} entry=${v.send.entry} what=${t("kind.send")} /></p>
    <p class="small">${[v.send.body.how, v.send.body.asked && t("pay.asked", { amount: m(v.send.body.asked) })].filter(Boolean).join(" · ")}</p>
    ${v.bundle ? html`<p class="small"><a class="inline" href=${api.bundleAddress(id, v.bundle.version)} download=${v.bundle.name}>${t("course.bundle", { n: v.bundle.version })}</a> <span class="soft num">${v.bundle.digest.slice(0, 16)}…</span></p>` : html`<p class="small soft">${t("send.no-bundle")}</p>`}
    ${(v.answers || []).map((x) => html`<p key=${x.entry}><${Mark} kind=${x.body.outcome === "paid" ? "met" : "gap"}>${t(`answer.${x.body.outcome}`)}<//> ${[x.body.reason && term("refusalReasons", x.body.reason), x.body.words && `“${x.body.words}”`, x.body.replyBy && t("reply.by", { day: day(x.body.replyBy) })].filter(Boolean).join(" · ")} <span class="soft small">${moment(x.at)} · ${x.by}</span><${Withdraw} id=${id} entry=${x.entry} what=${t("kind.answer")} /></p>`)}
    ${(v.payments || []).map((x) => html`<p key=${x.entry}>${t("course.paid", { amount: m(x.body.amount), from: t(`pay.from.${x.body.from}`) })} <span class="soft small">${[x.body.reference, day(x.body.on), x.by].filter(Boolean).join(" · ")}</span><${Withdraw} id=${id} entry=${x.entry} what=${t("kind.payment")} /></p>`)}</li>`)}
    ${(job.replies || []).map((r) => html`<li key=${r.entry}><p>${t("course.reply")} <span class="soft small">${term("refusalReasons", r.body.reason)} · ${moment(r.at)} · ${r.by}</span></p></li>`)}
    ${(job.settlements || []).map((s) => html`<li key=${s.entry}><p><${Mark} kind="met" icon="met">${t("board.settled")}<//> ${t(`settle.${s.body.outcome}`)} ${s.body.reason || ""} <span class="soft small">${moment(s.at)} · ${s.by}</span><${Withdraw} id=${id} entry=${s.entry} what=${t("kind.settle")} /></p></li>`)}</ol>`;
}
