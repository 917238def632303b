// What the shop owes its customers: to hand over a copy of what is held on one, to erase it, and to keep nothing longer than said.
import { html, useState } from "../view.js";
import { Ask, Choices, Do, Field, Mark, Notice, Screen, Wrong, tell } from "../parts.js";
import { DeskNav } from "./nav.js";
import { useLoaded } from "../events.js";
import { Icon } from "../icons.js";
import * as api from "../api.js";
import * as me from "../me.js";
import * as ask from "./ask.js";
import { record } from "../record.js";
import { dropJob } from "../erased.js";
import { Link } from "../route.js";
import { t, term, day, moment, size, kindName, capital } from "../words.js";

const isOwner = () => me.who()?.actor.role === "owner";

/** Privacy is one customer's data when a job is given, else how long jobs are kept. */
export function Privacy({ query }) {
  const job = query.get("job");
  return html`<${Screen} title=${t(job ? "privacy.customer" : "privacy.title")} up=${job ? `/job/${job}` : "/board"}><${DeskNav} at="/privacy" />
    ${job ? html`<${OneCustomer} key=${job} job=${job} />` : html`<div class="columns"><div><${Find} /></div><div>${isOwner() && html`<${Retention} />`}</div></div>`}<//>`;
}

function Find() {
  const [typed, type] = useState(""), [q, search] = useState("");
  const { value, error } = useLoaded(async () => (q ? api.jobs({ q, order: "opened", limit: 20 }) : { jobs: [] }), [q]);
  return html`<section class="sheet stack" aria-labelledby="h-find"><h2 id="h-find">${t("privacy.find")}</h2><p class="soft small">${t("privacy.find-what")}</p>
    <form role="search" onSubmit=${(e) => { e.preventDefault(); search(typed.trim()); }}><${Field} label=${t("privacy.find-by")} type="search" value=${typed} onInput=${(e) => type(e.target.value)} />
      <div class="btn-row"><button type="submit" class="btn"><${Icon} name="search" />${t("privacy.search")}</button></div></form>
    <${Wrong} error=${error} />
    ${q && value && !value.jobs.length && html`<p class="soft">${t("jobs.none-found")}</p>`}
    <ul class="rows">${(value?.jobs || []).filter((c) => c.stage !== "erased").map((c) => html`<li key=${c.job}><${Link} to=${`/privacy?job=${c.job}`}>${[c.customer || t("jobs.no-customer"), c.number].filter(Boolean).join(" · ")}<//> <span class="soft small">${c.place || ""}</span></li>`)}</ul></section>`;
}

function OneCustomer({ job }) {
  const [turn, again] = useState(0);
  const { value, error } = useLoaded(() => ask.customer(job), [job, turn]);
  const [picked, pick] = useState([job]), [gone, erased] = useState(null);
  if (gone) return html`<${Done} jobs=${gone} />`;
  if (error) return html`<${Wrong} error=${error} retry=${() => again(turn + 1)} />`;
  if (!value) return html`<p class="soft">${t("loading")}</p>`;
  const { customer: c, jobs } = value;
  const toggle = (id) => () => pick(picked.includes(id) ? picked.filter((x) => x !== id) : [...picked, id]);
  return html`<div class="columns"><div>
      <section class="sheet" aria-labelledby="h-who"><h2 id="h-who">${c.name || t("jobs.no-customer")}</h2><p class="soft small">${[c.phone, c.email].filter(Boolean).join(" · ")}</p>
        <fieldset><legend>${t("privacy.jobs")}</legend><p class="soft small">${t("privacy.jobs-what")}</p>
          ${jobs.map((j) => html`<label class="tick" key=${j.job}><input type="checkbox" checked=${picked.includes(j.job)} onChange=${toggle(j.job)} /><span><b>${j.number || j.job.slice(0, 8)}</b> ${[j.customer, j.unit, j.place].filter(Boolean).join(" · ")}
            <br /><span class="soft small">${day(j.opened)} · ${term("jobStages", j.stage)}${j.by?.length ? ` · ${t("privacy.agrees", { what: j.by.map((x) => t(`privacy.by-${x}`)).join(", ") })}` : ""}</span>
            ${j.hold && html` <${Mark} kind="doubt" icon="caution">${t("privacy.held")}<//>`}</span></label>`)}</fieldset>
        ${value.more && html`<p class="soft small">${t("privacy.more")}</p>`}</section>
      <${Copy} jobs=${picked} />
      <${LegalHold} job=${job} held=${jobs[0].hold} onDone=${() => again(turn + 1)} />
    </div><div>${isOwner() ? html`<${Erase} key=${picked.join()} jobs=${picked} onDone=${() => erased(picked)} />` : html`<section class="sheet" aria-labelledby="h-erase"><h2 id="h-erase">${t("privacy.erase")}</h2><p class="soft">${t("privacy.owner-only")}</p></section>`}</div></div>`;
}

function Copy({ jobs }) {
  const [reason, say] = useState("");
  const make = async () => {
    const blob = await ask.exportData({ jobs, reason: reason.trim() });
    const url = URL.createObjectURL(blob);
    Object.assign(document.createElement("a"), { href: url, download: "customer-data.zip" }).click();
    setTimeout(() => URL.revokeObjectURL(url), 60000);
    tell(t("privacy.copied", { size: size(blob.size) }));
  };
  return html`<section class="sheet stack" aria-labelledby="h-copy"><h2 id="h-copy">${t("privacy.copy")}</h2><p class="soft small">${t("privacy.copy-what")}</p>
    <${Field} label=${t("privacy.copy-reason")} value=${reason} maxlength="500" onInput=${(e) => say(e.target.value)} />
    <div class="btn-row"><${Do} act=${make} icon="down" disabled=${!jobs.length}>${t("privacy.copy-do")}<//></div></section>`;
}

function LegalHold({ job, held, onDone }) {
  const [reason, say] = useState(""), [wrong, fail] = useState("");
  const put = async () => {
    if (!reason.trim()) { fail(t("privacy.need-reason")); return; }
    fail("");
    await record(job, "hold", { state: held ? "lifted" : "on", reason: reason.trim() });
    say("");
    for (let i = 0; i < 100 && (await ask.customer(job)).jobs[0].hold === held; i++) await new Promise((done) => setTimeout(done, 200)); // it goes through the outbox
    tell(t(held ? "privacy.lifted" : "privacy.put"));
    onDone();
  };
  return html`<section class="sheet stack" aria-labelledby="h-hold"><h2 id="h-hold">${t("privacy.hold")}</h2><p class="soft small">${t("privacy.hold-what")}</p>
    ${held && html`<${Notice} kind="care"><p>${t("privacy.hold-on")}</p><//>`}
    <${Field} label=${t(held ? "privacy.hold-lift-reason" : "privacy.hold-reason")} value=${reason} maxlength="500" onInput=${(e) => say(e.target.value)} />
    ${wrong && html`<${Notice} kind="wrong"><p>${wrong}</p><//>`}
    <div class="btn-row"><${Do} act=${put} icon="caution">${t(held ? "privacy.hold-lift" : "privacy.hold-put")}<//></div></section>`;
}

function Done({ jobs }) {
  return html`<section class="sheet stack narrow-form" aria-labelledby="h-erase"><h2 id="h-erase">${t("privacy.erased")}</h2><${Notice} kind="good"><p>${t("privacy.erased-what", { n: jobs.length })}</p><//>
    <p>${t("privacy.erased-check")}</p><p>${t("privacy.erased-reach")}</p><ul class="rows">${jobs.map((id, i) => html`<li key=${id}><${Link} to=${`/job/${id}`}>${t("privacy.shell", { n: i + 1 })}<//></li>`)}</ul></section>`;
}

function Erase({ jobs, onDone }) {
  const [would, show] = useState(null), [seen, confirm] = useState([]), [reason, say] = useState(""), [basis, pick] = useState("asked");
  const [error, fail] = useState(null), [sure, askAgain] = useState(false);
  const look = async () => { fail(null); confirm([]); show((await ask.eraseWould(jobs)).jobs); };
  const warnings = [...new Set((would || []).flatMap((e) => e.warnings || []))], held = (would || []).filter((e) => e.hold);
  const ready = would && !held.length && warnings.every((w) => seen.includes(w)) && reason.trim();
  const erase = async () => {
    askAgain(false);
    await ask.erase({ jobs, reason: reason.trim(), basis, despite: seen });
    for (const id of jobs) await dropJob(id);
    onDone();
  };
  const refused = (e) => { askAgain(false); fail(e); };
  const sum = (what) => would.reduce((n, e) => n + e[what], 0);
  return html`<section class="sheet stack" aria-labelledby="h-erase"><h2 id="h-erase">${t("privacy.erase")}</h2><p class="soft small">${t("privacy.erase-what")}</p>
    <div class="btn-row"><${Do} act=${look} onError=${fail} icon="list" disabled=${!jobs.length}>${t("privacy.look", { n: jobs.length })}<//></div>
    ${error && html`<${Notice} kind="wrong"><p>${error.message}</p><//>`}
    ${would && html`<div class="stack">
      ${would.map((e) => html`<div key=${e.job}><h3>${[e.number, e.customer].filter(Boolean).join(" · ") || e.job}</h3>
        <p><b>${t("privacy.goes")}</b> ${counts(e.goes)}</p><p><b>${t("privacy.stays")}</b> ${counts(e.stays) || t("privacy.nothing")}</p>
        <p>${e.originals ? t("privacy.files", { n: e.originals, size: size(e.bytes) }) : t("privacy.no-files")}${e.shared ? ` ${t("privacy.shared", { n: e.shared })}` : ""}</p>
        ${e.out?.length > 0 && html`<p>${t("privacy.out")} ${e.out.map((o) => [t("bundle.version", { n: o.version }), o.to && t("privacy.out-to", { to: o.to }), day(o.at)].filter(Boolean).join(", ")).join("; ")}.</p>`}
        ${e.hold && html`<${Notice} kind="wrong"><p>${t("privacy.on-hold", { why: e.hold })}</p><//>`}</div>`)}
      ${would.length > 1 && html`<p class="strong">${t("privacy.sum")} ${t("privacy.files", { n: sum("originals"), size: size(sum("bytes")) })}</p>`}
      ${warnings.length > 0 && html`<fieldset><legend>${t("privacy.warnings")}</legend>${warnings.map((w) => html`<label class="tick" key=${w}><input type="checkbox" checked=${seen.includes(w)} onChange=${() => confirm(seen.includes(w) ? seen.filter((x) => x !== w) : [...seen, w])} /><span>${t(`privacy.warn-${w}`)}</span></label>`)}</fieldset>`}
      <${Choices} label=${t("privacy.basis")} name="basis" options=${["asked", "mistake"].map((id) => ({ id, title: t(`privacy.basis-${id}`) }))} value=${basis} onPick=${pick} />
      <${Field} label=${t("privacy.reason")} hint=${t("privacy.reason-hint")} value=${reason} maxlength="500" onInput=${(e) => say(e.target.value)} />
      <div class="btn-row"><button type="button" class="btn danger" disabled=${!ready} onClick=${() => askAgain(true)}>${t("privacy.erase-do")}</button></div>
      ${!ready && !held.length && html`<p class="soft small">${t("privacy.not-ready")}</p>`}</div>`}
    ${sure && html`<${Ask} title=${t("privacy.sure", { n: jobs.length })} onClose=${() => askAgain(false)}><p>${t("privacy.sure-text")}</p>
      <div class="btn-row"><button type="button" class="btn" onClick=${() => askAgain(false)}>${t("cancel")}</button><${Do} act=${erase} onError=${refused} kind="danger">${t("privacy.erase-sure")}<//></div><//>`}
  </section>`;
}

const counts = (kinds) => Object.entries(kinds || {}).sort((a, b) => b[1] - a[1]).map(([k, n]) => `${capital(kindName(k))} ${n}`).join(", ");

function Retention() {
  const [turn, again] = useState(0), { value, error } = useLoaded(() => ask.retention(), [turn]);
  const [form, fill] = useState(null), [wrong, fail] = useState(null), [list, propose] = useState(null), [picked, pick] = useState([]), [sure, askAgain] = useState(false);
  const rules = form || value?.rules;
  if (error) return html`<${Wrong} error=${error} retry=${() => again(turn + 1)} />`;
  if (!rules) return html`<p class="soft">${t("loading")}</p>`;
  const save = async () => {
    fail(null);
    await ask.setRetention({ months: Number(rules.months) || 0, idle: Number(rules.idle) || 0, auto: Boolean(rules.auto) });
    fill(null); again(turn + 1); propose(null);
    tell(t("retention.saved"));
  };
  const due = async () => { fail(null); const p = await ask.proposeRetention(); propose(p); pick(p.due.map((d) => d.job)); again(turn + 1); };
  const carry = async () => {
    askAgain(false);
    const run = await ask.carryRetention(picked);
    for (const id of run.jobs) await dropJob(id);
    propose(null); again(turn + 1);
    tell(t("retention.done", { n: run.jobs.length }));
  };
  const set = (name) => (e) => fill({ ...rules, [name]: e.target.type === "checkbox" ? e.target.checked : e.target.value });
  const row = (d, more) => html`<b>${[d.number, d.customer].filter(Boolean).join(" · ") || d.job.slice(0, 8)}</b> <span class="soft small">${t("retention.since", { from: day(d.from), day: day(d.day) })} ${capital(d.why)}.</span>${more}`;
  return html`<section class="sheet stack" aria-labelledby="h-retention"><h2 id="h-retention">${t("retention.title")}</h2><p class="soft small">${t("retention.what")}</p>
    <${Field} label=${t("retention.months")} hint=${t("retention.none")} inputmode="numeric" value=${String(rules.months || "")} onInput=${set("months")} />
    <${Field} label=${t("retention.idle")} hint=${t("retention.none")} inputmode="numeric" value=${String(rules.idle || "")} onInput=${set("idle")} />
    <label class="tick"><input type="checkbox" checked=${rules.auto} onChange=${set("auto")} /><span>${t("retention.auto")}</span></label>
    ${wrong && html`<${Notice} kind="wrong"><p>${wrong.message}</p><//>`}
    <div class="btn-row"><${Do} act=${save} onError=${fail} kind="main" icon="met">${t("retention.save")}<//><${Do} act=${due} onError=${fail} icon="list" disabled=${Boolean(form)}>${t("retention.see")}<//></div>
    ${list && html`<div class="stack"><h3>${t("retention.due", { n: list.due.length })}</h3>
      ${list.due.map((d) => html`<label class="tick" key=${d.job}><input type="checkbox" checked=${picked.includes(d.job)} onChange=${() => pick(picked.includes(d.job) ? picked.filter((x) => x !== d.job) : [...picked, d.job])} /><span>${row(d)}</span></label>`)}
      ${list.due.length > 0 && html`<div class="btn-row"><button type="button" class="btn danger" disabled=${!picked.length} onClick=${() => askAgain(true)}>${t("retention.carry", { n: picked.length })}</button></div>`}
      ${list.kept.length > 0 && html`<h3>${t("retention.kept")}</h3><ul class="rows">${list.kept.map((d) => html`<li key=${d.job}>${row(d, html` <${Mark} kind="doubt" icon="caution">${d.kept}<//>`)}</li>`)}</ul>`}</div>`}
    ${value?.runs.length > 0 && html`<details><summary>${t("retention.runs")}</summary><ul class="rows">${value.runs.map((r) => html`<li key=${r.at}>${moment(r.at)} · ${r.by}${r.auto ? ` (${t("retention.by-itself")})` : ""}: ${t(`retention.run-${r.what}`, { n: r.what === "erased" ? (r.jobs || []).length : r.due || 0 })}</li>`)}</ul></details>`}
    ${sure && html`<${Ask} title=${t("privacy.sure", { n: picked.length })} onClose=${() => askAgain(false)}><p>${t("privacy.sure-text")}</p>
      <div class="btn-row"><button type="button" class="btn" onClick=${() => askAgain(false)}>${t("cancel")}</button><${Do} act=${carry} onError=${(e) => { askAgain(false); fail(e); }} kind="danger">${t("privacy.erase-sure")}<//></div><//>`}
  </section>`;
}
