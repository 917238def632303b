// One photo: what it is to show, the camera, and at once whether it can be read. Retake is one tap.
import { html, useEffect, useState } from "../view.js";
import { Screen, Notice, Pick, Field, Go, Do, Mark } from "../parts.js";
import { ShotButton } from "../shot-button.js";
import { Picture, nameOf } from "../photos.js";
import { Viewfinder, canView } from "../viewfinder.js";
import { useJob } from "../use-job.js";
import { useLoaded, useNews } from "../events.js";
import { lookAt } from "../intake.js";
import { readJob } from "../source.js";
import { writtenAt } from "../small.js";
import * as core from "../core.js";
import { record } from "../record.js";
import { go } from "../route.js";
import { stepFor, openFindings, wantOf } from "../steps.js";
import { t, term, termsOf, moment } from "../words.js";

export function Shoot({ id, query }) {
  const { data } = useJob(id, { fetch: false });
  const asked = { subject: query.get("subject") || "other", component: query.get("component") || "", pair: query.get("pair") || "", damage: query.get("damage") || "", reading: query.get("reading") || "", for: query.get("for") || "" };
  const [what, choose] = useState({ subject: asked.subject, component: asked.component, area: query.get("area") || "", caption: "" });
  const [shown, show] = useState(query.get("entry") || null);
  const [first, pairUp] = useState(query.get("first") || null); // the wide picture that waits for its close one
  const job = data?.job;
  const photo = job?.photos?.find((p) => p.entry === shown);
  const want = asked.for && data?.wanted?.find((w) => w.id === asked.for);
  const closing = asked.pair && first;
  const subject = closing ? asked.pair : what.subject;
  const body = { subject, component: what.component, area: what.area, caption: what.caption, ...(closing && { pairedWith: first, pair: "wide-close" }) };
  const bind = async (entry, instead) => {
    if (!asked.reading && !asked.damage) return;
    await core.whenReady(10000); // a picture may come before this screen knows the job
    const now = (await readJob(id))?.job;
    if (asked.reading) await bindToReading(id, now, asked.reading, entry.id);
    if (asked.damage) await bindToDamage(id, now, asked.damage, entry.id, instead);
  };
  const kept = async (entry) => {
    await bind(entry);
    if (asked.pair && !first) pairUp(entry.id);
    else if (closing) pairUp(null);
    show(entry.id);
  };
  const next = data && openFindings(data.report).map((f) => wantOf(data, f)).find((w) => w?.kind === "photo" && w.id !== asked.for);
  const nextStep = next && stepFor(next, id);
  return html`<${Screen} title=${t("shoot.title", { what: term("subjects", subject) })} up=${`/job/${id}/visit`} foot=${html`
      <${ShotButton} job=${id} body=${body} onKept=${kept} kind="main big">${t(closing ? "shoot.close" : photo ? "shoot.another" : "shoot.do")}<//>
      ${photo && !closing && (nextStep ? html`<${Go} to=${nextStep.to} kind="big" icon="next">${t("shoot.next", { what: next.title })}<//>` : html`<${Go} to=${`/job/${id}/visit`} kind="big" icon="door">${t("visit.back")}<//>`)}`}>
    ${want && html`<div class="sheet"><p class="strong">${want.title}</p><p>${want.cure}</p></div>`}
    ${closing && html`<${Notice}><p>${t("shoot.now-close")}</p><//>`}
    ${photo && html`<${Kept} id=${id} data=${data} photo=${photo} onRetake=${async (entry) => { if (entry) await bind(entry, photo.entry); show(null); }} />`}
    <details class="sheet" open=${!asked.for && !photo}><summary>${t("shoot.what")}: ${nameOf(body)}</summary>
      <${Pick} label=${t("shoot.subject")} options=${termsOf("subjects")} value=${what.subject} onPick=${(v) => choose({ ...what, subject: v })} />
      <${Pick} label=${t("shoot.component")} none=${t("shoot.no-component")} options=${termsOf("components")} value=${what.component} onPick=${(v) => choose({ ...what, component: v })} />
      <${Field} label=${t("shoot.area")} hint=${t("shoot.area-hint")} value=${what.area} onInput=${(e) => choose({ ...what, area: e.target.value })} maxlength="100" />
      <${Field} label=${t("shoot.caption")} value=${what.caption} onInput=${(e) => choose({ ...what, caption: e.target.value })} maxlength="500" />
    </details>
    ${canView() && !closing && html`<details class="sheet" open=${query.get("match") === "yes"}><summary>${t("view.title")}</summary><${Viewfinder} id=${id} job=${job} body=${body} onKept=${kept} /></details>`}
    <${ShotButton} job=${id} body=${body} onKept=${kept} kind="quiet wide" gallery>${t("shoot.gallery")}<//>
  <//>`;
}

// bindToReading writes the reading's correction that names the picture of its display.
async function bindToReading(id, job, entry, photo) {
  const r = job?.readings?.find((x) => x.entry === entry);
  if (r) await record(id, "reading", { ...r.body, photo }, { supersedes: r.latest, why: t("read.display-added") });
}
async function bindToDamage(id, job, entry, photo, instead) {
  const d = job?.damages?.find((x) => x.entry === entry);
  if (d) await record(id, "damage", { ...d.body, photos: [...(d.body.photos || []).filter((p) => p !== instead), photo] }, { supersedes: d.latest, why: t("damage.photo-added") });
}

/** Kept shows a photo just taken and says whether it can be read. */
function Kept({ id, data, photo, onRetake }) {
  const digest = photo.body.digest;
  const [looked, see] = useState(undefined);
  useNews("core"); // a look that came before the rules is repeated with them
  useEffect(() => {
    let live = true;
    const others = {};
    for (const p of data.job.photos) {
      const f = data.job.facts?.[p.body.digest]?.fingerprint;
      if (f && p.body.digest !== digest && p.body.subject === photo.body.subject) others[p.body.digest] = f;
    }
    lookAt(digest, id, others).then((x) => live && see(x), () => live && see(null));
    return () => { live = false; };
  }, [digest, core.ready()]);
  // When the phone could not look (another phone's photo, a kind of file it can't show), the server's examination counts.
  const seen = looked?.sharp ? looked : data.job.facts?.[digest] || looked;
  const { value: written } = useLoaded(() => writtenAt(digest), [digest]);
  const again = data.job.photos.filter((p) => p.body.digest === digest).length > 1;
  const bad = [];
  if (seen?.sharp === "no") bad.push(t("shoot.blurred"));
  if (seen?.dark === "yes") bad.push(t("shoot.dark"));
  if (seen?.bright === "yes") bad.push(t("shoot.bright"));
  if (again) bad.push(t("shoot.same-bytes"));
  else if (seen?.alike?.length) bad.push(t("shoot.same-again"));
  const doubt = !bad.length && (seen?.sharp === "doubt" || seen?.dark === "doubt" || seen?.bright === "doubt");
  const unseen = looked === null && !seen && !/^(video|audio|application)/.test(data.job.facts?.[digest]?.type || "") && !/\.pdf$/i.test(photo.body.name || "");
  const retake = async (entry) => {
    await record(id, "strike", { entry: photo.entry, reason: t("shoot.retaken") });
    await onRetake(entry);
    go(`${location.pathname}?${new URLSearchParams({ ...Object.fromEntries(new URLSearchParams(location.search)), entry: entry.id })}`, { replace: true });
  };
  const strike = async () => {
    await record(id, "strike", { entry: photo.entry, reason: t("shoot.withdrawn") });
    onRetake();
  };
  const { digest: _, bytes, name, source, captured, position, ...same } = photo.body;
  return html`<section class="sheet stack" aria-label=${t("shoot.just-taken")}>
    <${Picture} key=${digest} digest=${digest} job=${id} alt=${nameOf(photo.body)} whole />
    ${seen === undefined && html`<p class="soft">${t("shoot.looking")}</p>`}
    ${bad.length > 0 && html`<${Notice} kind="wrong">${bad.map((b) => html`<p key=${b}>${b}</p>`)}<//>`}
    ${unseen && html`<${Notice} kind="care"><p>${t("shoot.unseen")}</p><//>`}
    ${doubt && html`<${Notice} kind="care"><p>${t("shoot.doubt")}</p><//>`}
    <p class="soft small">${t("photos.taken")} <span class="num">${moment(written && photo.body.source !== "camera" ? written : photo.at)}</span></p>
    ${written && photo.body.source === "camera" && html`<${Notice} kind="care"><p>${t("shoot.old-file", { when: moment(written) })}</p><//>`}
    ${seen && !bad.length && !doubt && seen.sharp && html`<p><${Mark} kind="met" icon="met">${t("shoot.good")}<//></p>`}
    <div class="btn-row"><${ShotButton} job=${id} body=${same} onKept=${retake} kind=${bad.length ? "main" : ""} icon="again">${t("shoot.retake")}<//>
      <${Go} to=${`/job/${id}/mark?photo=${photo.entry}`} kind="quiet" icon="pen">${t("photos.mark")}<//>
      <${Do} act=${strike} kind="quiet" icon="close">${t("shoot.withdraw")}<//></div>
  </section>`;
}
