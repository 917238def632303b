// All jobs: what is due first, what changed last, and finding one again.
import { html, useState, useEffect } from "../view.js";
import { Screen, Mark, Notice, Wrong, Go } from "../parts.js";
import { Icon } from "../icons.js";
import { Link } from "../route.js";
import { useLoaded } from "../events.js";
import { cards } from "../source.js";
import { t, term, dueName, day, daysLeft, clockTime } from "../words.js";
import { InstallHint } from "../install.js";
import { dayHere } from "../hash.js";
import { HereNow } from "../here-now.js";
import { isOffice, isOwner } from "../me.js";
import { Later } from "../later.js";
import { Unroll } from "../unroll.js";


// The lists: the day's jobs and the open ones go by the server's index; the others are orders of all.
const LISTS = {
  changed: () => ({ order: "changed" }), today: () => ({ key: "day", value: dayHere() }), open: () => ({ key: "state", value: "open" }), due: () => ({ order: "due" }), opened: () => ({ order: "opened" }),
};

export function Jobs() {
  const [order, setOrder] = useState(localStorage.getItem("jobs-order") || "changed");
  const [typed, type] = useState(new URLSearchParams(location.search).get("q") || "");
  const [q, search] = useState(typed);
  const [more, setMore] = useState([]);
  const [next, setNext] = useState(undefined);
  useEffect(() => { const timer = setTimeout(() => search(typed.trim()), 250); return () => clearTimeout(timer); }, [typed]);
  useEffect(() => localStorage.setItem("jobs-order", order), [order]);
  const asked = () => ({ q, limit: 50, ...(LISTS[order] || LISTS.changed)() });
  const { value, error } = useLoaded(() => cards(asked()), [order, q], "jobs", "session");
  useEffect(() => { setMore([]); setNext(value?.next); }, [value]);
  const loadMore = async () => {
    const page = await cards({ ...asked(), cursor: next });
    setMore([...more, ...page.jobs]);
    setNext(page.next);
  };
  const list = [...(value?.jobs || []), ...more];
  return html`<${Screen} title=${t("jobs.title")}
    actions=${html`${isOffice() && html`<${Link} to="/board" class="icon-btn" aria-label=${t("jobs.board")}><${Icon} name="clock" /><//>`}<${Link} to="/phone" class="icon-btn" aria-label=${t("phone.title")}><${Icon} name="phone" /><//>`}
    foot=${html`<${Go} to="/new" kind="main big" icon="plus">${t("jobs.new")}<//>`}>
    <${HereNow} />
    <${InstallHint} />
    <form class="search" role="search" onSubmit=${(e) => { e.preventDefault(); search(typed.trim()); }}>
      <input type="search" aria-label=${t("jobs.search")} placeholder=${t("jobs.search-hint")} value=${typed} onInput=${(e) => type(e.target.value)} />
    </form>
    <div class="tabs" role="group" aria-label=${t("jobs.order")}>
      ${Object.keys(LISTS).map((o) => html`<button key=${o} type="button" aria-pressed=${String(order === o)} onClick=${() => setOrder(o)}>${t(`jobs.order-${o}`)}</button>`)}
    </div>
    ${value?.stale && html`<${Notice} kind="care"><p>${t("jobs.stale")}</p><//>`}
    <${Wrong} error=${error} retry=${() => search(q + " ")} />
    ${value && !list.length && html`<p class="soft">${t(q ? "jobs.none-found" : order === "due" ? "jobs.none-due" : order === "today" ? "jobs.none-today" : "jobs.none")}</p>`}
    <ul class="job-list"><${Unroll} first=${4} step=${3}>${list.map((c) => html`<li key=${c.job}><${Card} card=${c} /></li>`)}<//></ul>
    ${value && isOwner() && html`<${Later} show="SetupCard" quiet />`}
    ${next && html`<div class="btn-row"><button type="button" class="btn wide" onClick=${loadMore}>${t("jobs.more")}</button></div>`}
  <//>`;
}

/** DueMark says how many days are left until a card's next deadline. */
export function DueMark({ card }) {
  const due = card?.due, what = due && (card.dues?.[0] ? dueName(card.dues[0]) : card.dueWhat);
  const n = due ? daysLeft(due) : null;
  if (n === null) return null;
  const text = n < 0 ? t("due.late", { n: -n }) : n === 0 ? t("due.today") : t("due.left", { n });
  return html`<${Mark} kind=${n < 0 ? "gap" : n <= 5 ? "doubt" : ""} icon="clock">${what ? `${what}: ${text}` : text}<//>`;
}

function Card({ card: c }) {
  const n = c.due ? daysLeft(c.due) : null;
  const kind = n !== null && n < 0 ? "late" : n !== null && n <= 5 ? "soon" : c.gaps === 0 && !c.doubts ? "done" : "";
  const unit = [c.maker, c.unitKind && term("unitKinds", c.unitKind), c.model].filter(Boolean).join(" · ");
  return html`<${Link} to=${`/job/${c.job}`} class=${`job-card ${kind}`}>
    <div class="head-row"><h2>${c.customer || t(c.stage === "erased" ? "jobs.erased" : "jobs.no-customer")}</h2><span class="soft num">${c.number}</span></div>
    ${c.place && html`<p>${c.place}</p>`}
    ${c.appointment && html`<p class="strong">${c.appointment.length > 10 ? `${day(c.appointment)}, ${clockTime(c.appointment)}` : day(c.appointment)}</p>`}
    ${unit && html`<p class="soft">${unit}</p>`}
    <div class="marks">
      ${c.stage !== "erased" && html`<${GapMarks} gaps=${c.gaps} doubts=${c.doubts} />`}
      <${DueMark} card=${c} />
      ${c.stage && html`<${Mark}>${term("jobStages", c.stage)}<//>`}
    </div>
    <p class="soft small">${t("jobs.changed", { day: day(c.changed), time: clockTime(c.changed) })}</p>
  <//>`;
}

function GapMarks({ gaps, doubts }) {
  if (gaps === undefined || gaps === -1) return html`<${Mark} icon="not-needed">${t("jobs.no-pack")}<//>`;
  if (!gaps && !doubts) return html`<${Mark} kind="met" icon="met">${t("jobs.complete")}<//>`;
  return html`${gaps > 0 && html`<${Mark} kind="gap" icon="gap">${t("check.gaps", { n: gaps })}<//>`}${doubts > 0 && html`<${Mark} kind="doubt" icon="doubt">${t("check.doubts", { n: doubts })}<//>`}`;
}
