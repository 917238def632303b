// The desk's questions about a job, answered by the server: who pays and why, what it comes to line by line, what is drafted
// for the claim, and what answers a refusal. Without an answer from the server nothing is shown: a bill is never guessed.
import { html, useEffect, useState } from "./view.js";
import { Do, Mark, Notice } from "./parts.js";
import { useLoaded } from "./events.js";
import { CSV } from "./csv.js";
import * as api from "./api.js";
import { t, money } from "./words.js";

/** Receipt makes what the customer takes along: a short code of the shop's log as it stands, and all of it as a QR code. */
export function Receipt({ id }) {
  const [slip, show] = useState(null);
  const [picture, draw] = useState("");
  useEffect(() => {
    if (!slip) return undefined;
    const url = URL.createObjectURL(new Blob([slip.qr], { type: "image/svg+xml" }));
    draw(url);
    return () => URL.revokeObjectURL(url);
  }, [slip]);
  return html`<section class="sheet stack" aria-labelledby="h-receipt"><h2 id="h-receipt">${t("receipt.title")}</h2>
    <p class="soft small">${t("receipt.what")}</p>
    ${slip && html`<p>${[slip.shop, slip.number].filter(Boolean).join(" · ")}</p><p class="strong num">${slip.code}</p>
      ${picture && html`<img src=${picture} width="240" height="240" alt=${t("receipt.qr")} />`}`}
    <div class="btn-row"><${Do} act=${async () => show(await api.receipt(id))} icon="box">${t(slip ? "receipt.again" : "receipt.make")}<//>
      ${slip && html`<${Do} act=${() => print()} kind="quiet">${t("receipt.print")}<//>`}</div>
  </section>`;
}

/** Chains says whether the entries of each device that wrote on the job are all here, in the order in which they were made. */
export function Chains({ id, job }) {
  const { value } = useLoaded(() => api.chains(id), [id, job.entries], `sent:${id}`);
  const list = value?.chains || [];
  if (!list.length) return null;
  return html`<section class="sheet" aria-labelledby="h-chains"><h2 id="h-chains">${t("chains.title")}</h2><ul class="rows">
    ${list.map((c) => html`<li key=${c.device}><p><${Mark} kind=${c.flaws?.length ? "doubt" : "met"} icon=${c.flaws?.length ? "doubt" : "met"}>${c.device}<//></p>
      <p class="small">${c.says}</p>${(c.flaws || []).map((f) => html`<p class="small" key=${f.kind + f.seq}>${f.says}</p>`)}</li>`)}</ul></section>`;
}

const verdicts = { covered: ["met", "met"], partly: ["doubt", "doubt"], "not-covered": ["gap", "gap"], "cannot-say": ["doubt", "doubt"] };

/** Office shows coverage and bill of a job. */
export function Office({ id, job }) {
  const { value } = useLoaded(async () => {
    const [cover, bill] = await Promise.all([api.coverage(id), api.bill(id)]);
    return { cover, bill };
  }, [id, job.entries], `sent:${id}`); // what was kept here changes the answer once it is there
  if (!value) return null;
  const { cover, bill } = value;
  const amount = (minor) => money({ minor, currency: bill.currency });
  const [kind, icon] = verdicts[cover.verdict] || ["", "info"];
  return html`<section class="sheet" aria-labelledby="h-office"><div class="head-row"><h2 id="h-office">${t("office.title")}</h2>
      <${Mark} kind=${kind} icon=${icon}>${t(`office.${cover.verdict}`)}<//></div>
    <p>${cover.says}</p>
    ${cover.boundary && html`<${Notice} kind="care"><p>${cover.rule}</p><//>`}
    ${cover.changes?.length > 0 && html`<details><summary>${t("office.changes")}</summary><ul>${cover.changes.map((c) => html`<li key=${c}>${c}</li>`)}</ul></details>`}
    ${bill.lines?.length > 0 && html`<ul class="rows bundle-list">
      ${bill.lines.map((l) => html`<li key=${l.id}><div class="head-row"><span>${l.says}</span><span class="num strong">${amount(l.amount)}</span></div>
        <p class="soft small">${[l.why, l.payer ? t("office.by-payer", { amount: amount(l.payer) }) : "", l.customer ? t("office.by-customer", { amount: amount(l.customer) }) : "", l.shop ? t("office.by-shop", { amount: amount(l.shop) }) : ""].filter(Boolean).join(" · ")}</p></li>`)}
      <li><div class="head-row"><b>${t("office.total")}</b><b class="num">${amount(bill.total)}</b></div>
        <p class="soft small">${[t("office.by-payer", { amount: amount(bill.payer) }), bill.customer ? t("office.by-customer", { amount: amount(bill.customer) }) : "", bill.shop ? t("office.by-shop", { amount: amount(bill.shop) }) : "", bill.doubt ? t("office.in-doubt", { amount: amount(bill.doubt) }) : ""].filter(Boolean).join(" · ")}</p></li>
    </ul>`}
    ${bill.lines?.length > 0 && html`<div class="btn-row"><${CSV} path=${`/jobs/${id}/account.csv`} /></div>`}
    ${(bill.problems || []).map((p) => html`<${Notice} kind="care" key=${p}><p>${p}</p><//>`)}
    <p class="soft small">${cover.rule}</p>
  </section>`;
}
