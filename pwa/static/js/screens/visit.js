// The visit, stage by stage: cautions first, then what the rule pack asks for here, then what else can be kept.
import { html, useEffect, useRef, useState } from "../view.js";
import { Screen, Notice, Mark, Go, Do, Pick, tell } from "../parts.js";
import { Icon } from "../icons.js";
import { LONGEST } from "../clip.js";
import { ShotButton } from "../shot-button.js";
import { Step } from "./missing.js";
import { useJob } from "../use-job.js";
import { useLoaded } from "../events.js";
import { readJob } from "../source.js";
import * as core from "../core.js";
import { record } from "../record.js";
import { go } from "../route.js";
import { findPlace, placeNow } from "../place.js";
import { stages, stageTitle, openVisit, openFindings, needed, wantOf } from "../steps.js";
import { leftAround } from "../around.js";
import { t, term, termsOf, clockTime } from "../words.js";

export function Visit({ id, query }) {
  const { data, error } = useJob(id);
  const job = data?.job;
  const list = stages().filter((s) => s !== "claim");
  const open = data ? openFindings(data.report) : [];
  const on = job && openVisit(job);
  const usual = on ? list.find((s) => s !== "book" && open.some((f) => f.stage === s && f.severity === "required")) || "leave" : "arrive";
  const [picked, pick] = useState(query.get("stage"));
  const [waited, enough] = useState(core.ready());
  useEffect(() => { core.whenReady(1500).then(() => enough(true)); }, []);
  const stage = picked || usual, bar = useRef();
  // The cautions come from the rules on the phone; what stands below them should not move when they do.
  const known = Boolean(data && (data.cautions || (!core.canCheck() && waited)));
  useEffect(() => {
    const now = bar.current?.querySelector('[aria-current="step"]');
    if (now) bar.current.scrollLeft = now.offsetLeft - (bar.current.clientWidth - now.offsetWidth) / 2;
  }, [stage, known]);
  if (!known) return html`<${Screen} title=${t("visit.title")} up=${`/job/${id}`}><p class="soft">${error ? error.message : t("loading")}</p><//>`;
  const here = open.filter((f) => f.stage === stage);
  const required = data ? needed(data.report).length : 0;
  const next = list[list.indexOf(stage) + 1];
  return html`<${Screen} title=${job.customer.name || t("visit.title")} up=${`/job/${id}`} foot=${html`
      ${next ? html`<button type="button" class="btn main big" onClick=${() => { pick(next); scrollTo(0, 0); }}>${t("visit.next", { stage: stageTitle(next) })}<${Icon} name="next" /></button>` : html`<${Go} to=${`/job/${id}/leave`} kind="main big" icon="door">${t("leave.title")}<//>`}
      <${Go} to=${`/job/${id}/missing`} kind="big" icon="list">${t("missing.title")}<span class="count">${data.report ? required : "?"}</span><//>`}>
    <div class="steps" ref=${bar} role="group" aria-label=${t("visit.stages")}>${list.map((s) => {
      const n = open.filter((f) => f.stage === s && f.severity === "required").length;
      return html`<button type="button" key=${s} aria-current=${s === stage ? "step" : undefined} onClick=${() => pick(s)}>${stageTitle(s)}
        ${data.report && html`<span class=${`count ${n ? "" : "zero"}`}>${n || html`<span class="only-read">${t("check.none-open")}</span><span aria-hidden="true">✓</span>`}</span>`}</button>`;
    })}</div>
    ${data.problem && html`<${Notice} kind="care"><p>${data.problem}</p><div class="btn-row"><${Go} to=${`/job/${id}/write?what=papers`}>${t("papers.title")}<//></div><//>`}
    ${!on && stage !== "book" && html`<div class="sheet stack"><p>${t((job.visits || []).length ? "visit.left-before" : "visit.not-there")}</p><${Arrive} id=${id} /></div>`}
    ${(data.cautions?.[stage] || []).map((c) => html`<${Caution} key=${c.id} id=${id} caution=${c} stage=${stage} />`)}
    ${on && (stage === "arrive" || stage === "leave") && leftAround(job, stage === "leave") > 0 && html`<div class="sheet"><${Go} to=${`/job/${id}/around${stage === "leave" ? "?when=leave" : ""}`} kind="big wide" icon="camera">${t(stage === "leave" ? "around.do-leave" : "around.do", { n: leftAround(job, stage === "leave") })}<//></div>`}
    <section class="sheet" aria-labelledby="h-here"><div class="head-row"><h2 id="h-here">${stageTitle(stage)}</h2>${on && html`<span class="soft small">${t("visit.since", { time: clockTime(on.arrived.body.when || on.arrived.at) })}</span>`}</div>
      ${!here.length && data.report && html`<p><${Mark} kind="met" icon="met">${t("visit.stage-done")}<//></p>`}
      <ul class="rows">${here.map((f) => {
        const want = wantOf(data, f);
        return html`<li key=${f.id} class=${`finding ${f.outcome}`}><span class="sign"><${Icon} name=${f.outcome} /></span><div>
          <p><span class="only-read">${t(`outcome.${f.outcome}`)}: </span><b>${f.title}</b>${f.severity === "advised" && html` <span class="soft small">(${t("check.advised")})</span>`}</p>
          <p class="small">${f.outcome === "doubt" ? f.sentence : f.cure}</p>
          ${want?.tooLate && html`<p class="small"><${Mark} kind="doubt" icon="clock">${t("visit.too-late", { event: term("events", want.before) })}<//></p>`}
          ${want && html`<div class="btn-row"><${Step} want=${want} id=${id} kind="wide" /></div>`}</div></li>`;
      })}</ul></section>
    ${stage === "measure" && (data.conflicts || []).map((c) => html`<${Notice} key=${c.id + c.component} kind="care"><p>${c.says}</p><p class="strong">${c.ask}</p><//>`)}
    <${More} id=${id} data=${data} stage=${stage} on=${on} />
  <//>`;
}

function Arrive({ id }) {
  const arrive = async () => {
    findPlace();
    await record(id, "arrive", { position: placeNow() });
    tell(t("visit.arrived"));
  };
  return html`<${Do} act=${arrive} kind="main big wide" icon="door">${t("visit.arrive")}<//>`;
}

/** Caution is shown before a live step; saying "seen" is an entry of its own. */
export function Caution({ id, caution, stage }) {
  const seen = () => record(id, "caution-shown", { caution: caution.id, before: stage });
  return html`<section class="caution" aria-label=${caution.title}><h2><${Icon} name="caution" />${caution.title}</h2><p>${caution.text}</p>
    <div class="btn-row"><${Do} act=${seen} kind="quiet wide">${t("caution.seen")}<//></div></section>`;
}

const mark = (id, kind, says) => async () => { await record(id, kind, {}); tell(says); };

function More({ id, data, stage, on }) {
  const { job } = data, begun = job.workStarts?.length > 0, done = job.workFinishes?.length > 0;
  const shot = (subject) => html`<${ShotButton} key=${subject} job=${id} body=${{ subject }} onKept=${(e) => go(`/job/${id}/shoot?subject=${subject}&entry=${e.id}`)}>${term("subjects", subject)}<//>`;
  const clip = html`<${ShotButton} key="clip" job=${id} clip body=${{ subject: "symptom" }} icon="film">${t("clip.take", { n: LONGEST })}<//>`;
  const link = (to, icon, text) => html`<${Go} key=${to} to=${`/job/${id}/${to}`} icon=${icon}>${text}<//>`;
  const sound = (subject) => link(`sound${subject ? `?subject=${subject}` : ""}`, "mic", t("sound.take", { n: LONGEST }));
  const sets = {
    book: [link("write?what=papers", "note", t("papers.title"))],
    arrive: [leftAround(job, false) ? null : link("around", "camera", t("around.title")), shot("whole-unit"), shot("surroundings"), link("damage?seen=on-arrival", "damage", t("damage.found"))],
    look: [shot("rating-plate"), shot("symptom"), link("write?what=sign", "search", t("seen.add")), clip, sound(), link("write?what=papers", "note", t("papers.plate")), link("damage?seen=on-arrival", "damage", t("damage.found")), link("sign?about=damage-on-arrival", "pen", t("sign.damage"))],
    measure: [link("read", "meter", t("read.another")), link("write?what=sign", "search", t("seen.add")), shot("meter-display"), link("write?what=cause", "note", t("step.cause"))],
    repair: [link("write?what=part", "part", t("part.add")), link("write?what=sign", "search", t("seen.add")), shot("failed-part"), shot("part-label"), shot("fitted-part"), link("write?what=correction", "note", t("step.correction")), link("damage?seen=during-work", "damage", t("damage.during")), link("write?what=refrigerant", "note", t("step.refrigerant"))],
    prove: [shot("after-repair"), link("shoot?subject=after-repair&match=yes", "camera", t("view.matched")), clip, sound("after-repair"), link("read?moment=as-left", "meter", t("read.as-left")), link("sign?about=work-done", "pen", t("sign.work"))],
    leave: [leftAround(job, true) ? null : link("around?when=leave", "camera", t("around.title-leave")), link("write?what=labour", "clock", t("step.labour")), link("write?what=trip", "clock", t("step.trip")), link("damage?seen=on-leaving", "damage", t("damage.leaving")), link("leave", "door", t("leave.title"))],
  };
  return html`
    ${stage === "repair" && on && !begun && html`<${Do} act=${mark(id, "work-start", t("visit.work-started"))} kind="main big wide" icon="part">${t("visit.work-start")}<//>`}
    ${stage === "prove" && on && begun && !done && html`<${Do} act=${mark(id, "work-finish", t("visit.work-finished"))} kind="main big wide" icon="met">${t("visit.work-finish")}<//>`}
    ${(stage === "measure" || stage === "repair") && html`<${Suspect} id=${id} />`}
    <section class="sheet" aria-labelledby="h-more"><h2 id="h-more">${t("visit.more")}</h2><div class="btn-row">${sets[stage] || []}
      <${Go} to=${`/job/${id}/shoot`} icon="camera">${t("shoot.other")}<//><${Go} to=${`/job/${id}/write?what=note`} icon="note">${t("notes.add")}<//></div></section>`;
}

/** Suspect answers "what must I show before I take this part off?" while it can still be shown. */
function Suspect({ id }) {
  const [component, pick] = useState("");
  const { value } = useLoaded(() => (component ? readJob(id, component) : Promise.resolve(null)), [component], `journal:${id}`);
  return html`<section class="sheet" aria-labelledby="h-suspect"><h2 id="h-suspect">${t("suspect.title")}</h2>
    <${Pick} label=${t("suspect.pick")} none=${t("suspect.none")} options=${termsOf("components")} value=${component} onPick=${pick} />
    ${component && value?.more?.length > 0 && html`<p class="soft small">${t("suspect.what")}</p><ul class="rows">${value.more.map((w) => html`<li key=${w.id}><b>${w.title}</b><p class="small">${w.cure}</p><div class="btn-row"><${Step} want=${w} id=${id} /></div></li>`)}</ul>`}
    ${component && value && !value.more?.length && html`<p class="soft">${t("suspect.nothing")}</p>`}</section>`;
}
