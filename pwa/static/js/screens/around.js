// Looking around: five guided pictures, one tap each, on arrival and again on leaving over the outline of the first; then, place by place,
// whether damage was seen. What is kept are ordinary photos and ordinary records of damage.
import { html, useEffect, useState } from "../view.js";
import { Screen, Notice, Mark, Go, Do, tell } from "../parts.js";
import { ShotButton } from "../shot-button.js";
import { Picture, nameOf } from "../photos.js";
import { Finder, canView, useCamera } from "../viewfinder.js";
import { useJob } from "../use-job.js";
import { keepPhoto, lookAt } from "../intake.js";
import { record } from "../record.js";
import { seenAround, views, viewTitle, hintOf, subjectOf } from "../around.js";
import { t, term } from "../words.js";

export function Around({ id, query }) {
  const { data } = useJob(id, { fetch: false });
  const leaving = query.get("when") === "leave", up = `/job/${id}/visit?stage=${leaving ? "leave" : "arrive"}`;
  const camera = useCamera();
  const [taken, add] = useState({}), [at, move] = useState(undefined), [poor, doubt] = useState({});
  // Where the browser has been allowed the camera before, it shows at once: no tap is spent on it.
  useEffect(() => { if (canView()) navigator.permissions?.query({ name: "camera" }).then((p) => p.state === "granted" && camera.open(), () => {}); }, []);
  const title = t(leaving ? "around.title-leave" : "around.title");
  if (!data) return html`<${Screen} title=${title} up=${up}><p class="soft">${t("loading")}</p><//>`;
  const list = seenAround(data.job, leaving), has = (v) => taken[v.area] || (leaving ? v.after : v.before);
  const now = at === undefined ? (list.find((v) => !has(v))?.area ?? null) : at;
  const view = list.find((v) => v.area === now), n = views().indexOf(now);
  if (!view) return html`<${Overview} id=${id} data=${data} list=${list} leaving=${leaving} poor=${poor} title=${title} up=${up} again=${move} />`;
  const ghost = leaving ? view.before : null;
  const body = { subject: subjectOf(view.area), area: view.area, ...(ghost && { pairedWith: ghost.entry, pair: "before-after" }) };
  const on = (area, done) => list.slice(views().indexOf(area) + 1).find((v) => !done[v.area] && !(leaving ? v.after : v.before))?.area ?? null;
  const kept = (entry) => {
    const area = view.area, done = { ...taken, [area]: entry.id };
    add(done);
    move(on(area, done));
    lookAt(entry.digest, id).then((f) => doubt((p) => ({ ...p, [area]: f?.sharp === "no" ? "blurred" : f?.dark === "yes" ? "dark" : f?.bright === "yes" ? "bright" : "" })), () => {});
  };
  const take = async () => kept(await keepPhoto(id, await camera.shot(), body, true));
  return html`<${Screen} title=${title} up=${up} foot=${html`
      ${camera.on ? html`<${Do} act=${take} kind="main big" icon="camera">${t("view.take")}<//>` : html`<${ShotButton} job=${id} body=${body} onKept=${kept} kind="main big" quiet>${t("around.shoot", { what: viewTitle(view.area) })}<//>`}
      <button type="button" class="btn big slim" onClick=${() => move(on(view.area, taken))}>${t("around.skip")}</button>`}>
    <div class="head-row"><h2 aria-live="polite">${t("around.progress", { n: String(n + 1), all: String(list.length), what: viewTitle(view.area) })}</h2></div>
    <div class="steps" role="group" aria-label=${t("around.views")}>${list.map((v, i) => html`<button type="button" key=${v.area} aria-current=${v.area === now ? "step" : undefined} aria-label=${`${i + 1} ${viewTitle(v.area)}${has(v) ? `: ${t("around.taken")}` : ""}`} onClick=${() => move(v.area)}>${has(v) ? "✓" : i + 1}</button>`)}</div>
    <p>${hintOf(view.area)}</p>
    ${leaving && html`<p class="soft">${t(ghost ? "around.same-spot" : "around.no-before")}</p>`}
    ${camera.problem && html`<${Notice} kind="care"><p>${camera.problem}</p><//>`}
    ${camera.on ? html`<${Finder} camera=${camera} ghost=${ghost?.body.digest} job=${id} />`
      : html`${ghost && html`<${Picture} key=${ghost.entry} digest=${ghost.body.digest} job=${id} alt=${nameOf(ghost.body)} />`}
        ${canView() && html`<div class="btn-row"><${Do} act=${camera.open} kind="wide" icon="camera">${t("view.open")}<//></div>`}`}
  <//>`;
}

// Overview shows the five places once more: what was taken, and whether damage was seen there.
function Overview({ id, data, list, leaving, poor, title, up, again }) {
  const none = (v, photo) => async () => {
    await record(id, "damage", { area: v.area, kind: "none", seen: leaving ? "on-leaving" : "on-arrival", photos: [leaving ? v.after : v.before].filter(Boolean).map((p) => p.entry) });
    tell(t("around.none-kept", { what: viewTitle(v.area) }));
  };
  const half = (p, which) => (p ? html`<span class="shot"><${Picture} digest=${p.body.digest} job=${id} alt=${`${t(`twin.${which}`)}: ${nameOf(p.body)}`} /><span class="under">${leaving && html`<b>${t(`twin.${which}`)}</b> `}<span class="nr num">${p.number}</span></span></span>` : html`<p class="soft">${t("around.not-taken")}</p>`);
  return html`<${Screen} title=${title} up=${up} foot=${html`<${Go} to=${up} kind="main big" icon="door">${t("visit.back")}<//>`}>
    <p>${t("around.overview")}</p>
    <ul class="rows sheet">${list.map((v) => html`<li key=${v.area} class="view-row"><h2>${viewTitle(v.area)}</h2>
      <div class="pair">${leaving && half(v.before, "before")}${half(leaving ? v.after : v.before, leaving ? "after" : "before")}</div>
      ${poor[v.area] && html`<${Notice} kind="care"><p>${t(`shoot.${poor[v.area]}`)}</p><//>`}
      ${v.damages.map((d) => html`<p key=${d.entry}><${Mark} kind=${d.body.kind === "none" ? "met" : "doubt"} icon=${d.body.kind === "none" ? "met" : "damage"}>${d.body.kind === "none" ? t("damage.none") : term("damageKinds", d.body.kind)}<//></p>`)}
      <div class="btn-row">${!v.damages.length && html`<${Do} act=${none(v)} icon="met">${t("around.none")}<//>`}
        <${Go} to=${`/job/${id}/damage?${new URLSearchParams({ seen: leaving ? "on-leaving" : "on-arrival", area: v.area })}`} kind="quiet" icon="damage">${t("around.damage")}<//>
        <button type="button" class="btn quiet" onClick=${() => again(v.area)}>${t((leaving ? v.after : v.before) ? "shoot.retake" : "around.take")}</button></div></li>`)}</ul>
    ${!leaving && html`<div class="btn-row"><${ShotButton} job=${id} body=${{ subject: "work-area" }}>${t("around.inside")}<//></div>`}
  <//>`;
}
