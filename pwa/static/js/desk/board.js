// The board: what runs out first and what it is worth. Jobs with a last day come by that day, overdue first; those without follow, the
// latest change first.
import { html, useCallback, useEffect, useRef, useState } from "../view.js";
import { Screen, Mark, Notice, Wrong, Go } from "../parts.js";
import { Link, go, here } from "../route.js";
import { useNews } from "../events.js";
import * as api from "../api.js";
import { cards } from "../source.js";
import { DeskNav } from "./nav.js";
import { SetupCard } from "./setup-state.js";
import { useKeys } from "./keys.js";
import { CSV } from "../csv.js";
import { useMoney, amounts } from "./sums.js";
import { t, term, dueName, money, daysLeft, moment } from "../words.js";

const FILTERS = ["open", "gathering", "complete", "sent", "answered", "disputed", "settled", "return"];

// page reads one page: first those with a deadline, then those without.
async function page({ show, q }, from) {
  const words = { q, limit: 50 };
  if (!from || from.part === "dated") {
    const key = show === "return" ? { key: "due", value: "return" } : { key: "state", value: show };
    const got = await api.jobs({ ...words, ...key, order: "due", cursor: from?.at });
    if (got.next) return { jobs: got.jobs, next: { part: "dated", at: got.next } };
    if (show === "return" || got.jobs.length >= 25) return { jobs: got.jobs, next: show === "return" ? null : { part: "undated" } };
    const rest = await page({ show, q }, { part: "undated" });
    return { jobs: [...got.jobs, ...rest.jobs], next: rest.next };
  }
  const got = await api.jobs({ ...words, key: "undated", value: show, cursor: from.at });
  return { jobs: got.jobs, next: got.next ? { part: "undated", at: got.next } : null };
}

function useBoard(filter) {
  const [state, set] = useState({ jobs: null, next: null, error: null, stale: false });
  const news = useNews("jobs", "session"), turn = useRef(0);
  const load = useCallback(async (from) => {
    const mine = ++turn.current;
    try {
      const got = await page(filter, from);
      if (mine === turn.current) set((s) => ({ jobs: from ? [...s.jobs, ...got.jobs] : got.jobs, next: got.next, error: null, stale: false }));
    } catch (e) {
      if (mine !== turn.current) return;
      if (e.status !== 0 || from) return set((s) => ({ ...s, error: e }));
      const kept = await cards({ order: "due", q: filter.q, limit: 50 });
      set({ jobs: kept.jobs, next: null, error: null, stale: true });
    }
  }, [filter.show, filter.q]);
  useEffect(() => { load(null); }, [load, news]);
  useEffect(() => { // who comes back to the board sees what others did meanwhile
    const again = () => { if (!document.hidden && (state.jobs?.length ?? 0) <= 100) load(null); };
    document.addEventListener("visibilitychange", again);
    return () => document.removeEventListener("visibilitychange", again);
  });
  return { ...state, more: () => load(state.next), retry: () => load(null) };
}

const dayOf = (c) => (c.dues?.[0]?.day || c.due ? daysLeft(c.dues?.[0]?.day || c.due) : null);
const GROUPS = [["late", (n) => n !== null && n < 0], ["week", (n) => n !== null && n >= 0 && n <= 7], ["later", (n) => n !== null && n > 7], ["undated", (n) => n === null]];

export function Board({ query }) {
  const [typed, type] = useState(query.get("q") || "");
  const show = FILTERS.includes(query.get("show")) ? query.get("show") : "open";
  const filter = { show, q: query.get("q") || "" };
  const { jobs, next, error, stale, more, retry } = useBoard(filter);
  const sums = useMoney();
  const search = useRef(), list = useRef();
  const at = (change) => `/board?${new URLSearchParams(Object.entries({ show, q: typed.trim(), ...change }).filter(([, v]) => v && v !== "open"))}`;
  useEffect(() => {
    if (typed.trim() === filter.q) return undefined;
    const timer = setTimeout(() => go(at({}), { replace: true }), 250);
    return () => clearTimeout(timer);
  }, [typed]);
  const rows = () => [...(list.current?.querySelectorAll("a.board-row") || [])];
  const move = (by) => () => {
    const all = rows();
    if (!all.length) return false;
    const now = all.indexOf(document.activeElement);
    all[Math.max(0, Math.min(all.length - 1, now < 0 ? (by > 0 ? 0 : all.length - 1) : now + by))].focus();
    return true;
  };
  useKeys({ "/": () => { setTimeout(() => search.current?.focus()); }, ArrowDown: move(1), ArrowUp: move(-1), n: () => go("/new"), b: () => scrollTo(0, 0) });
  const inSearch = (e) => {
    if (e.key === "ArrowDown" || e.key === "Enter") { e.preventDefault(); move(1)(); }
    if (e.key === "Escape") { e.preventDefault(); if (typed) type(""); else rows()[0]?.focus(); }
  };
  const groups = GROUPS.map(([id, fits]) => [id, (jobs || []).filter((c) => fits(dayOf(c)))]).filter(([, l]) => l.length);
  return html`<${Screen} title=${t("board.title")} foot=${html`<${Go} to="/new" kind="main big" icon="plus">${t("jobs.new")}<//>`}>
    <${DeskNav} at="/board" /><${SetupCard} />
    <form class="search" role="search" onSubmit=${(e) => e.preventDefault()}>
      <input type="search" ref=${search} aria-label=${t("jobs.search")} aria-keyshortcuts="/" placeholder=${t("board.search-hint")} value=${typed} onInput=${(e) => type(e.target.value)} onKeyDown=${inSearch} />
    </form>
    <div class="tabs" role="group" aria-label=${t("board.show")}>${FILTERS.map((f) => html`<button key=${f} type="button" aria-pressed=${String(show === f)} onClick=${() => go(at({ show: f }), { replace: true })}>${t(`board.${f}`)}${sums?.jobs[f] !== undefined && html` <span class="num">(${sums.jobs[f]})</span>`}</button>`)}</div>
    ${sums && html`<p class="board-sum"><span class="soft">${t("board.stake", { n: sums.jobs.open })}</span> <b class="num">${amounts(sums.money.open) || t("board.nothing")}</b></p>`}
    ${stale && html`<${Notice} kind="care"><p>${t("jobs.stale")}</p><//>`}
    <${Wrong} error=${error} retry=${retry} />
    ${!jobs && !error && html`<p class="soft">${t("loading")}</p>`}
    ${jobs && !jobs.length && html`<p class="soft">${t(filter.q ? "jobs.none-found" : "board.none")}</p>`}
    <div ref=${list}>${groups.map(([id, l]) => html`<section class="board-group" key=${id} aria-labelledby=${`g-${id}`}>
      <h2 id=${`g-${id}`} class=${id}>${t(`board.group-${id}`)} <span class="soft small num">${amounts(sum(l))}</span></h2>
      <ul class="board-rows">${l.map((c) => html`<li key=${c.job}><${Row} c=${c} /></li>`)}</ul></section>`)}</div>
    ${next && html`<div class="btn-row"><button type="button" class="btn wide" onClick=${more}>${t("jobs.more")}</button></div>`}
    <div class="btn-row"><${CSV} path="/jobs.csv" query=${{ ...(show === "return" ? { key: "due", value: "return", order: "due" } : { key: "state", value: show }), q: filter.q }} />
      <${CSV} path="/due.csv" what="due" /><${CSV} path="/payments.csv" what="payments" /><${CSV} path="/parts-to-return.csv" what="parts" /></div>
    <p class="soft small print-only">${t("board.printed", { when: moment(new Date().toISOString()) })}</p>
  <//>`;
}

const sum = (l) => l.reduce((m, c) => { if (c.stake?.minor) m[c.stake.currency] = (m[c.stake.currency] || 0) + c.stake.minor; return m; }, {});

const dueText = (d) => {
  const n = daysLeft(d.day || d.at);
  return n < 0 ? t("due.late", { n: -n }) : n === 0 ? t("due.today") : t("due.left", { n });
};

function Row({ c }) {
  const first = c.dues?.[0], n = dayOf(c), kind = n === null ? "" : n < 0 ? "late" : n <= 5 ? "soon" : "";
  const unit = [c.maker, c.unitKind && term("unitKinds", c.unitKind), c.model].filter(Boolean).join(" · ");
  return html`<${Link} to=${`/job/${c.job}`} class=${`board-row ${kind}`}>
    <span class="when">${first ? html`<b>${dueText(first)}</b><span class="small">${dueName(first)}</span>` : html`<span class="soft small">${t("board.no-day")}</span>`}</span>
    <span class="who"><b>${c.customer || t("jobs.no-customer")}</b> <span class="soft num">${c.number}</span><span class="soft small">${unit}</span></span>
    <span class="by small"><span>${c.payer || ""}</span><span class="soft">${c.technician || ""}</span></span>
    <span class="marks"><${Mark}>${term("jobStages", c.stage)}<//>
      ${c.gaps > 0 && c.state === "gathering" && html`<${Mark} kind="gap" icon="gap">${t("check.gaps", { n: c.gaps })}<//>`}
      ${(c.dues || []).slice(1).map((d) => html`<${Mark} key=${d.code} kind=${daysLeft(d.day || d.at) < 0 ? "gap" : ""} icon="clock">${dueName(d)}: ${dueText(d)}<//>`)}</span>
    <span class="stake num">${c.stake?.minor ? html`<span class="only-read">${t("board.to-come")} </span><b>${money(c.stake)}</b>` : ""}</span>
  <//>`;
}
