// Pictures: small ones from the phone's own store first, a grid that stays smooth with hundreds, and one at a time in full.
import { html, useEffect, useRef, useState } from "./view.js";
import { Icon } from "./icons.js";
import { Mark, Go } from "./parts.js";
import * as api from "./api.js";
import { db } from "./db.js";
import { smallPicture, ownBytes, whenHere } from "./small.js";
import { MarkLayer, marksOn, shapesOn } from "./marks.js";
import { t, term, areaName, moment, size, number } from "./words.js";

async function bigPicture(digest) {
  return (await ownBytes(digest)) || api.picture(digest, "view");
}

/** Picture shows a digest's picture once it comes into view; alt is what it shows. */
export function Picture({ digest, job, alt, whole, type, onShape, now }) {
  const box = useRef(), [url, set] = useState(null), [bad, fail] = useState(false);
  useEffect(() => {
    let made = null, stop = null;
    const load = () => { stop = whenHere(job, () => (whole ? bigPicture(digest) : smallPicture(digest, job)), (blob) => { made = URL.createObjectURL(blob); fail(false); set(made); }, () => fail(true)); };
    const seen = new IntersectionObserver((list) => { if (list.some((x) => x.isIntersecting)) { seen.disconnect(); load(); } }, { rootMargin: "300px" });
    if (now) load(); else seen.observe(box.current);
    return () => { stop?.(); seen.disconnect(); if (made) URL.revokeObjectURL(made); };
  }, [digest, whole]);
  const icon = type === "application/pdf" ? "document" : /^audio/.test(type || "") ? "sound" : /^video/.test(type || "") ? "film" : "camera";
  return html`<span class=${`pic ${whole ? "whole" : ""}`} ref=${box}>${url && !bad ? html`<img src=${url} alt=${alt} decoding="async" onLoad=${(e) => onShape?.(e.currentTarget.naturalHeight / e.currentTarget.naturalWidth)} onError=${() => fail(true)} />`
    : html`<${Icon} name=${icon} /><span class="only-read">${alt}</span>`}</span>`;
}

/** Clip plays a clip: from the phone while it is there, else from the server. */
function Clip({ digest, type, name }) {
  const [url, set] = useState(null);
  useEffect(() => {
    let made = null, live = true;
    db().then((d) => d.get("files", digest)).then((own) => { if (own) made = URL.createObjectURL(own.blob); if (live) set(made || api.originalAddress(digest)); });
    return () => { live = false; if (made) URL.revokeObjectURL(made); };
  }, [digest]);
  if (!url) return null;
  return type.startsWith("audio") ? html`<audio class="clip" controls preload="metadata" src=${url} aria-label=${name}></audio>` : html`<video class="clip" controls playsinline preload="metadata" src=${url} aria-label=${name}></video>`;
}

/** nameOf is how people call a photo: its subject and what it concerns. */
export const nameOf = (b) => [term("subjects", b.subject), b.component && term("components", b.component), areaName(b.area)].filter(Boolean).join(", ");

function TimeMark({ view }) {
  if (!view?.time?.basis) return null;
  const kind = { corroborated: "met", consistent: "met", "single-source": "", conflicting: "gap" }[view.time.basis];
  return html`<${Mark} kind=${kind} icon="clock">${t(`time.${view.time.basis}`)}<//>`;
}

const doubtful = (facts) => facts && (facts.sharp === "no" || facts.dark === "yes" || facts.bright === "yes");

/** pairOf is the other half of a photo's pair: {photo, mine, theirs}, which half each is (before, after, wide, close); null without one. */
export function pairOf(job, p) {
  const photos = job.photos || [], other = p.body.pairedWith && photos.find((x) => x.entry === p.body.pairedWith);
  const halves = (x) => (x.body.pair === "before-after" ? ["before", "after"] : ["wide", "close"]);
  if (other) return { photo: other, mine: halves(p)[1], theirs: halves(p)[0] };
  const later = photos.findLast((x) => x.body.pairedWith === p.entry);
  return later ? { photo: later, mine: halves(later)[0], theirs: halves(later)[1] } : null;
}

// What is near enough to the screen to be drawn: the rest of a long list is one empty line each. The first ones always are.
const FIRST = 6, NEAR = "1200px";
function useNear(count) {
  const list = useRef(), watch = useRef(null), [near, set] = useState(new Set());
  useEffect(() => {
    watch.current = new IntersectionObserver((seen) => set((was) => {
      const now = new Set(was);
      let changed = false;
      for (const x of seen) {
        const i = Number(x.target.dataset.at);
        if (x.isIntersecting === now.has(i)) continue;
        changed = true;
        if (x.isIntersecting) { now.add(i); continue; }
        now.delete(i);
        x.target.style.minHeight = `${x.boundingClientRect.height}px`; // nothing below may move
      }
      return changed ? now : was;
    }), { rootMargin: NEAR });
    return () => watch.current.disconnect();
  }, []);
  useEffect(() => { for (const li of list.current?.children || []) watch.current.observe(li); }, [count]);
  return [list, (i) => i < FIRST || near.has(i)];
}

/** Photos is the job's grid, after the pairs of before and after. */
export function Photos({ data }) {
  const { job, views } = data, list = job.photos || [];
  const [at, open] = useState(null), [ref, near] = useNear(list.length);
  const pairs = list.filter((p) => p.body.pair === "before-after" && list.some((x) => x.entry === p.body.pairedWith));
  return html`<section class="sheet" aria-labelledby="h-photos"><div class="head-row"><h2 id="h-photos">${t("photos.title")}</h2><span class="soft">${t("photos.count", { n: list.length })}</span></div>
    ${list.length > 1 && html`<div class="btn-row shots-row"><${Go} to=${`/job/${job.id}/compare`} kind="quiet">${t("photos.compare")}<//></div>`}
    ${!list.length && html`<p class="soft">${t("photos.none")}</p>`}
    ${pairs.length > 0 && html`<${Pairs} data=${data} pairs=${pairs} onOpen=${(p) => open(list.indexOf(p))} />`}
    <ul class="shots" ref=${ref}>${list.map((p, i) => {
      if (!near(i)) return html`<li key=${p.entry} data-at=${i} class="later"><span class="only-read">${p.number} ${nameOf(p.body)}</span></li>`;
      const facts = job.facts?.[p.body.digest], pair = pairOf(job, p);
      return html`<li key=${p.entry} data-at=${i}><button type="button" class="shot" onClick=${() => open(i)}>
        <${Picture} digest=${p.body.digest} job=${job.id} alt=${nameOf(p.body)} type=${facts?.type} />
        <span class="under"><span class="nr num">${p.number}</span>${nameOf(p.body)}
          <br /><span class="soft num">${moment(p.body.captured || p.at)}</span>
          ${pair && html`<br /><span class="soft">${t(`twin.${pair.theirs}-is`, { n: String(pair.photo.number) })}</span>`}
          <br /><${TimeMark} view=${views?.[p.entry]} />
          ${doubtful(facts) && html` <${Mark} kind="doubt" icon="doubt">${t("photos.look")}<//>`}
          ${data.unsent?.has(p.entry) && html` <${Mark} kind="info" icon="up">${t("photos.unsent")}<//>`}
        </span></button></li>`;
    })}</ul>
    ${at !== null && list[at] && html`<${Viewer} data=${data} at=${at} onMove=${open} onClose=${() => open(null)} />`}
  </section>`;
}

/** Pairs shows before and after side by side, folded away when they are many. */
function Pairs({ data, pairs, onOpen }) {
  const { job } = data, [all, unfold] = useState(pairs.length <= 6);
  const half = (p, which) => html`<button type="button" class="shot" onClick=${() => onOpen(p)}><${Picture} digest=${p.body.digest} job=${job.id} alt=${`${t(`twin.${which}`)}: ${nameOf(p.body)}`} />
    <span class="under"><b>${t(`twin.${which}`)}</b> <span class="nr num">${p.number}</span><span class="soft num">${moment(p.body.captured || p.at)}</span></span></button>`;
  return html`<h3 id="h-pairs">${t("twin.title")}</h3><ul class="pairs" aria-labelledby="h-pairs">${(all ? pairs : pairs.slice(0, 5)).map((p) => {
    const other = job.photos.find((x) => x.entry === p.body.pairedWith);
    return html`<li key=${p.entry}><p class="strong">${nameOf(other.body)}</p><div class="pair">${half(other, "before")}${half(p, "after")}</div></li>`;
  })}</ul>${!all && html`<div class="btn-row"><button type="button" class="btn quiet" onClick=${() => unfold(true)}>${t("twin.all", { n: pairs.length })}</button></div>`}
    <h3>${t("photos.all")}</h3>`;
}

function Viewer({ data, at, onMove, onClose }) {
  const { job, views } = data, p = job.photos[at], facts = job.facts?.[p.body.digest], view = views?.[p.entry];
  const ref = useRef(), [shape, measured] = useState(null), [bare, strip] = useState(false);
  const marks = marksOn(job, p.entry), covers = shapesOn(job, p.entry).length, pair = pairOf(job, p), type = facts?.type || "";
  useEffect(() => { if (!ref.current.open) ref.current.showModal(); }, []);
  useEffect(() => measured(null), [p.entry]);
  const key = (e) => {
    if (e.key === "ArrowRight" && at < job.photos.length - 1) onMove(at + 1);
    if (e.key === "ArrowLeft" && at > 0) onMove(at - 1);
  };
  const alike = (job.likenesses || []).filter((l) => l.body.photo === p.entry);
  return html`<dialog class="viewer" ref=${ref} onCancel=${(e) => { e.preventDefault(); onClose(); }} onKeyDown=${key} aria-label=${nameOf(p.body)}>
    <div class="bar"><button type="button" class="btn" disabled=${at === 0} onClick=${() => onMove(at - 1)}><${Icon} name="back" /><span class="only-read">${t("photos.previous")}</span></button>
      <button type="button" class="btn" onClick=${onClose}><${Icon} name="close" />${t("close")}</button>
      <button type="button" class="btn" disabled=${at === job.photos.length - 1} onClick=${() => onMove(at + 1)}><span class="only-read">${t("photos.next")}</span><${Icon} name="next" /></button></div>
    ${/^(video|audio)/.test(type) ? html`<${Clip} key=${p.body.digest} digest=${p.body.digest} type=${type} name=${nameOf(p.body)} />`
      : html`<div class=${pair ? "pair twins" : ""}><div>${pair && html`<p class="half">${t(`twin.${pair.mine}`)} <span class="num">${p.number}</span></p>`}<div class="marking"><${Picture} key=${p.body.digest} digest=${p.body.digest} job=${job.id} alt=${nameOf(p.body)} type=${type} whole onShape=${measured} />${shape && !bare && html`<${MarkLayer} marks=${marks} shape=${shape} />`}</div></div>
        ${pair && html`<button type="button" class="other" onClick=${() => onMove(job.photos.indexOf(pair.photo))}><span class="half">${t(`twin.${pair.theirs}`)} <span class="num">${pair.photo.number}</span></span><${Picture} key=${pair.photo.body.digest} digest=${pair.photo.body.digest} job=${job.id} alt=${nameOf(pair.photo.body)} whole /></button>`}</div>`}
    <div class="under stack">
      <h2><span class="num">${p.number}</span> ${nameOf(p.body)}</h2>
      ${p.body.caption && html`<p>${p.body.caption}</p>`}
      <dl class="facts">
        <dt>${t("photos.taken")}</dt><dd>${moment(view?.time?.at || p.body.captured || p.at)} <${TimeMark} view=${view} /><br /><span class="soft small">${view?.time?.says || ""}</span></dd>
        ${view?.place?.says && html`<dt>${t("photos.place")}</dt><dd>${view.place.says}</dd>`}
        <dt>${t("photos.by")}</dt><dd>${p.by}${p.body.from && ` (${p.body.from})`}</dd>
        ${p.received && html`<dt>${t("photos.received")}</dt><dd>${moment(p.received)}</dd>`}
        ${facts && html`<dt>${t("photos.file")}</dt><dd>${[facts.width && `${facts.width} × ${facts.height}`, size(facts.bytes || p.body.bytes), facts.camera].filter(Boolean).join(", ")}</dd>`}
        ${facts?.sharp && html`<dt>${t("photos.legible")}</dt><dd>${t(`sharp.${facts.sharp}`)}${facts.dark === "yes" ? `, ${t("photos.dark")}` : ""}${facts.bright === "yes" ? `, ${t("photos.bright")}` : ""} <span class="soft small">${facts.sharpness ? t("photos.sharpness", { n: number(facts.sharpness) }) : ""}</span></dd>`}
        ${facts?.codes?.length > 0 && html`<dt>${t("photos.codes")}</dt><dd class="num">${facts.codes.map((c) => c.text).join(", ")}</dd>`}
        ${covers > 0 && html`<dt>${t("photos.covers")}</dt><dd>${t("photos.covers-on", { n: covers })}</dd>`}
        ${marks.length > 0 && html`<dt>${t("photos.marks")}</dt><dd>${t("photos.marks-on", { n: marks.length })} ${marks.map((m) => m.text).filter(Boolean).join("; ")}</dd>`}
        ${alike.length > 0 && html`<dt>${t("photos.alike")}</dt><dd>${alike.map((l) => html`<p><a href=${`/job/${l.body.otherJob}`}>${t(l.body.bits === 0 && l.body.digest === l.body.otherDigest ? "photos.same" : "photos.similar")}</a></p>`)}</dd>`}
        <dt>SHA-256</dt><dd class="small num">${p.body.digest}</dd>
      </dl>
      <div class="btn-row"><a class="btn" href=${api.originalAddress(p.body.digest)} download=${p.body.name || ""}><${Icon} name="down" />${t("photos.original")}</a>
        ${!/^(video|audio|application)/.test(type) && html`<${Go} to=${`/job/${job.id}/mark?photo=${p.entry}`} icon="pen">${t("photos.mark")}<//>
          <${Go} to=${`/job/${job.id}/cover?photo=${p.entry}`} icon="box">${t("photos.cover")}<//>`}
        ${job.photos.length > 1 && html`<${Go} to=${`/job/${job.id}/compare?a=${p.entry}`}>${t("photos.compare")}<//>`}
        ${marks.length > 0 && html`<button type="button" class="btn quiet" aria-pressed=${bare} onClick=${() => strip(!bare)}>${t("photos.bare")}</button>`}</div>
    </div>
  </dialog>`;
}
