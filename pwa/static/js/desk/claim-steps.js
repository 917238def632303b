// The steps of a claim's life as forms: begin gives their first values, Fields draws them, entries makes what is kept.
import { html } from "../view.js";
import { Choices, Mark, Notice } from "../parts.js";
import { ShotButton } from "../shot-button.js";
import { minor, major } from "../forms.js";
import { In, Tick, FieldError } from "./fields.js";
import { dayHere } from "../hash.js";
import * as ask from "./ask.js";
import { heldNow } from "./held.js";
import { t, term, termsOf, money, capital, kindName, moment } from "../words.js";

const amountAt = (field, text, currency) => { try { return minor(text, currency); } catch (e) { throw new FieldError(field, e.message); } };
const choices = (list, words) => list.map((id) => ({ id, title: capital(t(`${words}.${id}`)) }));
const pick = (set, name) => (v) => set({ [name]: v });
const needsAccount = async (id) => ({ account: await ask.account(id) });
const currencyOf = ({ job, more }) => more.account?.bill.currency || job.open.currency || "";

const send = {
  needs: needsAccount,
  merged: ["number"],
  begin({ job, more, query }) {
    const bundles = job.bundles || [], bill = more.account?.bill;
    return { to: job.coverage.payer || "", how: "", version: query.get("version") || String(bundles[bundles.length - 1]?.body.version || ""), number: job.coverage.number || "", asked: bill?.payer ? major({ minor: bill.payer, currency: bill.currency }) : "" };
  },
  Fields({ value: v, set, errors, context: c }) {
    const bundles = (c.job.bundles || []).map((b) => ({ id: String(b.body.version), title: `${t("bundle.version", { n: b.body.version })}, ${t(b.body.complete ? "bundle.complete" : "bundle.incomplete")}` }));
    return html`<div class="sheet"><${In} name="to" label=${t("send.to")} value=${v.to} onPick=${pick(set, "to")} errors=${errors} maxlength="200" />
      <${In} name="number" label=${t("send.reference")} hint=${t("send.reference-hint")} value=${v.number} onPick=${pick(set, "number")} errors=${errors} maxlength="200" />
      <${In} name="version" label=${t("send.version")} options=${bundles} none=${t("send.no-bundle")} value=${v.version} onPick=${pick(set, "version")} errors=${errors} />
      <div class="two"><${In} name="how" label=${t("send.how")} hint=${t("send.how-hint")} value=${v.how} onPick=${pick(set, "how")} errors=${errors} maxlength="200" />
      <${In} name="asked" label=${t("send.asked")} hint=${currencyOf(c)} value=${v.asked} inputmode="decimal" onPick=${pick(set, "asked")} errors=${errors} /></div></div>`;
  },
  entries(v, c) {
    const body = { to: v.to.trim(), how: v.how.trim(), version: Number(v.version) || undefined, asked: amountAt("asked", v.asked, currencyOf(c)) };
    const out = [["send", body]];
    if (v.number.trim() && v.number.trim() !== (c.job.coverage.number || "")) out.unshift(["coverage", { number: v.number.trim() }]);
    return out;
  },
};

// What the payer paid, line by line: the amounts typed, and why a line is short.
const linesOf = (c) => (c.more.account?.lines || []).filter((l) => l.asked !== 0);
const sumOf = (v, c) => {
  let sum = 0;
  for (const l of linesOf(c)) sum += amountAt(`line-${l.line}`, v.lines[l.line] || "0", currencyOf(c)).minor;
  return sum;
};
const trySum = (v, c) => { try { return sumOf(v, c); } catch { return null; } };

function Lines({ v, set, errors, c }) {
  const currency = currencyOf(c), all = linesOf(c), sum = trySum(v, c);
  if (!all.length) return null;
  const line = (id, change) => set({ lines: { ...v.lines, ...change }, ...id });
  return html`<fieldset><legend>${t("pay.lines")}</legend>
    <${Tick} checked=${v.byLine} onPick=${(on) => set({ byLine: on, lines: on ? Object.fromEntries(all.map((l) => [l.line, major({ minor: Math.max(0, l.asked - l.paid), currency })])) : {}, reasons: {} })}>${t("pay.by-line")}<//>
    ${v.byLine && html`<ul class="rows">${all.map((l) => {
      const short = (v.lines[l.line] || "0") !== major({ minor: Math.max(0, l.asked - l.paid), currency });
      return html`<li key=${l.line}><p><b>${l.says}</b> <span class="soft num">${t("pay.asked", { amount: money({ minor: l.asked, currency }) })}${l.paid ? ` · ${t("pay.paid-before", { amount: money({ minor: l.paid, currency }) })}` : ""}</span></p>
        <div class="two"><${In} name=${`line-${l.line}`} label=${t("pay.paid-now")} inputmode="decimal" value=${v.lines[l.line]} onPick=${(x) => line({}, { [l.line]: x })} errors=${errors} />
        ${short && html`<${In} name=${`why-${l.line}`} label=${t("pay.why-short")} options=${termsOf("refusalReasons")} none=${t("pay.no-reason")} value=${v.reasons[l.line]} onPick=${(x) => set({ reasons: { ...v.reasons, [l.line]: x } })} errors=${errors} />`}</div></li>`;
    })}</ul>
    <p><${Mark} kind=${sum === null ? "gap" : "info"}>${sum === null ? t("pay.sum-wrong") : t("pay.sum", { amount: money({ minor: sum, currency }) })}<//></p>`}</fieldset>`;
}

function paymentOf(v, c, from) {
  const currency = currencyOf(c);
  const amount = v.byLine ? { minor: sumOf(v, c), currency } : amountAt("amount", v.amount, currency);
  if (!amount?.minor) throw new FieldError("amount", t("pay.need-amount"));
  const lines = v.byLine ? linesOf(c).map((l) => ({ line: l.line, minor: amountAt(`line-${l.line}`, v.lines[l.line] || "0", currency).minor, reason: v.reasons[l.line] || undefined })) : undefined;
  // A line at nought is a statement: nothing was paid for it.
  return ["payment", { from, amount, on: v.on, reference: v.reference.trim(), says: v.says?.trim(), lines }];
}

const PaidFields = ({ v, set, errors, c }) => html`${!v.byLine && html`<${In} name="amount" label=${t("pay.amount")} hint=${currencyOf(c)} inputmode="decimal" value=${v.amount} onPick=${pick(set, "amount")} errors=${errors} />`}
  <${Lines} v=${v} set=${set} errors=${errors} c=${c} />
  <div class="two"><${In} name="on" label=${t("pay.on")} type="date" value=${v.on} onPick=${pick(set, "on")} errors=${errors} /><${In} name="reference" label=${t("pay.reference")} hint=${t("pay.reference-hint")} value=${v.reference} onPick=${pick(set, "reference")} errors=${errors} maxlength="200" /></div>`;
const unpaid = { amount: "", byLine: false, lines: {}, reasons: {}, on: "", reference: "", says: "" };

const answer = {
  needs: needsAccount,
  begin: ({ more, query }) => ({ ...unpaid, outcome: query.get("outcome") || "", reason: "", words: "", replyBy: "", on: dayHere(), amount: more.account ? major({ minor: Math.max(0, more.account.payer.left), currency: more.account.bill.currency }) : "" }),
  Fields({ value: v, set, errors, context: c }) {
    const paid = v.outcome === "paid" || v.outcome === "paid-short";
    return html`<div class="sheet"><${Choices} label=${t("answer.title")} name="outcome" options=${choices(["paid", "paid-short", "refused", "question"], "answer")} value=${v.outcome} onPick=${(outcome) => set({ outcome })} />
      ${errors.outcome && html`<p class="wrong-here">${errors.outcome}</p>`}
      ${paid && html`<${PaidFields} v=${v} set=${set} errors=${errors} c=${c} />`}
      ${v.outcome && v.outcome !== "paid" && html`${v.outcome !== "question" && html`<${In} name="reason" label=${t("answer.reason")} hint=${t("answer.reason-hint")} options=${termsOf("refusalReasons")} none=${t("pay.no-reason")} value=${v.reason} onPick=${pick(set, "reason")} errors=${errors} />`}
        <${In} name="words" label=${t("answer.words")} area value=${v.words} onPick=${pick(set, "words")} errors=${errors} maxlength="8000" />
        <${In} name="replyBy" label=${t("answer.reply-by")} hint=${t("answer.reply-by-hint")} type="date" value=${v.replyBy} onPick=${pick(set, "replyBy")} errors=${errors} />`}</div>`;
  },
  entries(v, c) {
    if (!v.outcome) throw new FieldError("outcome", t("answer.need-outcome"));
    if (v.outcome === "refused" && !v.reason) throw new FieldError("reason", t("answer.need-reason"));
    const paid = v.outcome === "paid" || v.outcome === "paid-short", payment = paid ? paymentOf(v, c, "payer") : null;
    const body = { outcome: v.outcome, paid: payment?.[1].amount, ...(v.outcome !== "paid" && { reason: v.reason, words: v.words.trim(), replyBy: v.replyBy }) };
    return payment ? [["answer", body], payment] : [["answer", body]];
  },
};

const payment = {
  needs: needsAccount,
  rename: { lines: "amount" },
  begin: ({ query }) => ({ ...unpaid, from: query.get("from") || "payer", on: dayHere() }),
  Fields: ({ value: v, set, errors, context: c }) => html`<div class="sheet"><${Choices} label=${t("pay.from")} name="from" options=${choices(["payer", "customer"], "pay.from")} value=${v.from} onPick=${(from) => set({ from, byLine: false, lines: {}, reasons: {} })} />
    ${v.from === "payer" ? html`<${PaidFields} v=${v} set=${set} errors=${errors} c=${c} />` : html`<${PaidFields} v=${v} set=${set} errors=${errors} c=${{ ...c, more: { ...c.more, account: { ...c.more.account, lines: [] } } }} />`}
    <${In} name="says" label=${t("pay.says")} area value=${v.says} onPick=${pick(set, "says")} errors=${errors} maxlength="8000" /></div>`,
  entries: (v, c) => [paymentOf(v, c, v.from)],
};

const oldParts = (job) => (job.parts || []).filter((p) => p.body.action !== "fitted");
const NEXT = { "": "held", held: "requested", requested: "shipped", shipped: "received" };

const partReturn = {
  begin({ job, query }) {
    const list = oldParts(job), p = list.find((x) => x.entry === query.get("part")) || list[0];
    return { part: p?.entry || "", held: p ? NEXT[heldNow(job, p)] || heldNow(job, p) : "held", tracking: "", photo: "" };
  },
  Fields({ value: v, set, errors, context: c }) {
    const list = oldParts(c.job);
    if (!list.length) return html`<${Notice}><p>${t("return.none")}</p><//>`;
    return html`<div class="sheet"><${In} name="part" label=${t("return.part")} options=${list.map((p) => ({ id: p.entry, title: [term("components", p.body.component), p.body.number, term("partHeld", heldNow(c.job, p))].filter(Boolean).join(" · ") }))} value=${v.part} onPick=${(part) => set({ part, held: NEXT[heldNow(c.job, list.find((p) => p.entry === part))] || "held" })} errors=${errors} />
      <${Choices} label=${t("return.held")} name="held" options=${termsOf("partHeld")} value=${v.held} onPick=${(held) => set({ held })} />
      <${In} name="tracking" label=${t("return.tracking")} value=${v.tracking} onPick=${pick(set, "tracking")} errors=${errors} maxlength="200" />
      <div class="btn-row"><${ShotButton} job=${c.id} body=${{ subject: "other", caption: t("return.caption"), component: list.find((p) => p.entry === v.part)?.body.component }} onKept=${(e) => set({ photo: e.id })}>${t(v.photo ? "return.photo-kept" : "return.photo")}<//></div></div>`;
  },
  entries: (v) => {
    if (v.held === "shipped" && !v.tracking.trim()) throw new FieldError("tracking", t("return.need-tracking"));
    return v.part ? [["part-return", { part: v.part, held: v.held, tracking: v.tracking.trim(), photo: v.photo }]] : [];
  },
};

const settle = {
  needs: needsAccount,
  begin: ({ more }) => ({ outcome: more.account && more.account.payer.left <= 0 ? "paid" : "", reason: "" }),
  Fields({ value: v, set, errors, context: c }) {
    const a = c.more.account;
    return html`<div class="sheet">${a && html`<p class="strong">${a.payer.left > 0 ? t("settle.left", { amount: money({ minor: a.payer.left, currency: a.bill.currency }) }) : t("settle.nothing-left")}</p>`}
      <${Choices} label=${t("settle.outcome")} name="outcome" options=${choices(["paid", "paid-short-accepted", "charged-to-customer", "written-off", "withdrawn"], "settle")} value=${v.outcome} onPick=${(outcome) => set({ outcome })} />
      ${errors.outcome && html`<p class="wrong-here">${errors.outcome}</p>`}
      <${In} name="reason" label=${t("settle.reason")} hint=${t("settle.reason-hint")} area value=${v.reason} onPick=${pick(set, "reason")} errors=${errors} maxlength="8000" /></div>`;
  },
  entries: (v) => [["settle", { outcome: v.outcome, reason: v.reason.trim() }]],
};

// What was recorded by mistake is withdrawn, with a reason; it stays to be seen.
const strike = {
  begin: () => ({ reason: "" }),
  Fields({ value: v, set, errors, context: c }) {
    const lists = { sends: "send", answers: "answer", payments: "payment", settlements: "settle", partReturns: "part-return", replies: "reply" };
    const [list] = Object.keys(lists).filter((l) => (c.job[l] || []).some((x) => x.entry === c.query.get("entry"))), it = (c.job[list] || []).find((x) => x.entry === c.query.get("entry"));
    return html`<div class="sheet">${it && html`<p><b>${kindName(lists[list])}</b> <span class="num">${t("timeline.number", { n: String(it.number) })}</span> <span class="soft">${moment(it.at)} · ${it.by}</span></p>`}
      <p class="soft small">${t("strike.what")}</p><${In} name="reason" label=${t("strike.reason")} area value=${v.reason} onPick=${pick(set, "reason")} errors=${errors} maxlength="8000" /></div>`;
  },
  entries: (v, c) => [["strike", { entry: c.query.get("entry"), reason: v.reason.trim() }]],
};

export const STEPS = { send, answer, payment, return: partReturn, settle, strike };
