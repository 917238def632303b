// The signature: on a screen that shows exactly what is signed, bound to those pictures' SHA-256. "Not present" and
// "declines" are ways out of equal standing, recorded with their reason.
import { html, useEffect, useRef, useState } from "../view.js";
import { Screen, Field, Choices, Do, Go, Notice, tell } from "../parts.js";
import { Icon } from "../icons.js";
import { Picture, nameOf } from "../photos.js";
import { useJob } from "../use-job.js";
import { record } from "../record.js";
import { back } from "../route.js";
import { t, term, areaName, termsOf, moment } from "../words.js";

// shownFor picks the photos that belong on the screen: those of the damage, or those of the finished work.
function shownFor(job, about) {
  const photos = job.photos || [], by = (f) => photos.filter(f);
  const seen = { "damage-on-arrival": "on-arrival", "damage-during-work": "during-work" }[about];
  if (seen) {
    const named = new Set((job.damages || []).filter((d) => d.body.seen === seen).flatMap((d) => d.body.photos || []));
    return by((p) => named.has(p.entry));
  }
  if (about === "work-done") return by((p) => ["after-repair", "as-left-display", "fitted-part"].includes(p.body.subject));
  return [];
}

export function Sign({ id, query }) {
  const { data } = useJob(id, { fetch: false });
  const [about, setAbout] = useState(query.get("about") || "work-done");
  const [outcome, end] = useState("signed");
  const [form, fill] = useState({ name: "", role: t("sign.customer"), reason: "" });
  const [strokes, draw] = useState([]), [drawn, see] = useState({});
  if (!data) return html`<${Screen} title=${t("sign.title")} up=${`/job/${id}/visit`}><p class="soft">${t("loading")}</p><//>`;
  // Nobody signs for a picture that is not on the screen, be it that none was taken or that it could not be shown.
  const { job } = data, wanted = shownFor(job, about), photos = wanted.filter((p) => drawn[p.entry]), lacking = wanted.length - photos.length;
  const damages = (job.damages || []).filter((d) => d.body.kind !== "none" && d.body.seen === { "damage-on-arrival": "on-arrival", "damage-during-work": "during-work" }[about]);
  const ofDamage = about.startsWith("damage-"), bare = ofDamage && !photos.length && !damages.length;
  const statement = t(`sign.statement-${about}${ofDamage && !photos.length ? "-words" : ""}`);
  const name = form.name || job.customer.name || "";
  const set = (k) => (e) => fill({ ...form, [k]: e.target.value });
  const save = async () => {
    if (outcome === "signed" && bare) throw new Error(t("sign.no-damage"));
    if (outcome === "signed" && !strokes.length) throw new Error(t("sign.need-strokes"));
    if (outcome === "signed" && !name.trim()) throw new Error(t("sign.need-name"));
    if (outcome !== "signed" && form.reason.trim().length < 3) throw new Error(t("sign.need-reason"));
    await record(id, "acknowledge", {
      about, outcome, name: outcome === "absent" ? "" : name.trim(), role: outcome === "absent" ? "" : form.role.trim(), reason: outcome === "signed" ? "" : form.reason.trim(), statement: bare ? "" : statement,
      shown: outcome === "signed" ? photos.map((p) => p.entry) : [], shownDigests: outcome === "signed" ? photos.map((p) => p.body.digest) : [], strokes: outcome === "signed" ? strokes : [],
    });
    tell(t("sign.kept"));
    back(`/job/${id}/visit`);
  };
  return html`<${Screen} title=${t("sign.title")} up=${`/job/${id}/visit`} foot=${html`<${Do} act=${save} kind="main big" icon="met">${t("sign.keep")}<//>`}>
    <details class="sheet" open=${!query.get("about")}><summary>${t("sign.about")}</summary>
      <${Choices} label=${t("sign.about")} name="about" options=${termsOf("about")} value=${about} onPick=${setAbout} /></details>
    <section class="sheet stack" aria-labelledby="h-shown"><h2 id="h-shown">${term("about", about)}</h2>
      ${!bare && html`<p class="strong">${statement}</p>`}
      ${damages.map((d) => html`<p key=${d.entry}><b>${areaName(d.body.area)}</b>: ${term("damageKinds", d.body.kind)}${d.body.words ? `. ${d.body.words}` : ""}</p>`)}
      ${about === "work-done" && (job.corrections || []).map((c) => html`<p key=${c.entry}>${c.body.text}</p>`)}
      ${wanted.length > 0 && html`<ul class="shots">${wanted.map((p) => html`<li key=${p.entry}><span class="shot"><${Picture} now digest=${p.body.digest} job=${id} alt=${nameOf(p.body)} onShape=${() => see((d) => ({ ...d, [p.entry]: true }))} /><span class="under"><span class="nr num">${p.number}</span>${nameOf(p.body)}<br /><span class="soft small num">${moment(p.at)}</span></span></span></li>`)}</ul>`}
      ${lacking > 0 && html`<p class="soft small">${t("sign.lacking", { n: lacking })}</p>`}
      ${bare && html`<${Notice} kind="care"><p>${t("sign.no-damage")}</p><div class="btn-row"><${Go} to=${`/job/${id}/damage?seen=${about === "damage-on-arrival" ? "on-arrival" : "during-work"}`} icon="damage">${t(about === "damage-on-arrival" ? "damage.found" : "damage.during")}<//></div><//>`}
    </section>
    <${Choices} label=${t("sign.outcome")} name="outcome" options=${termsOf("acknowledgementOutcomes").map((o) => ({ id: o.id, title: t(`sign.outcome-${o.id}`) }))} value=${outcome} onPick=${end} />
    ${outcome === "signed" ? html`<section class="sheet" aria-label=${t("sign.title")}><div class="two"><${Field} label=${t("sign.name")} value=${name} onInput=${set("name")} maxlength="100" autocomplete="off" /><${Field} label=${t("sign.role")} value=${form.role} onInput=${set("role")} maxlength="60" /></div>
        <${Pad} strokes=${strokes} onDraw=${draw} /></section>`
      : html`<div class="sheet">${outcome === "declined" && html`<${Field} label=${t("sign.name")} value=${name} onInput=${set("name")} maxlength="100" />`}
        <${Field} label=${t("sign.reason")} hint=${t(`sign.reason-${outcome}`)}><textarea value=${form.reason} onInput=${set("reason")} maxlength="1000"></textarea><//></div>`}
    <p class="soft small">${t("legal.note")}</p>
  <//>`;
}

/** Pad takes pen strokes in a box 1000 units wide, the units of the entry. */
function Pad({ strokes, onDraw }) {
  const ref = useRef(), now = useRef(null), all = useRef(strokes);
  all.current = strokes;
  const paint = () => {
    const c = ref.current, g = c.getContext("2d"), k = c.width / 1000;
    g.fillStyle = "#fff";
    g.fillRect(0, 0, c.width, c.height);
    Object.assign(g, { strokeStyle: "#111", lineWidth: 6 * k, lineCap: "round", lineJoin: "round" });
    for (const s of [...all.current, ...(now.current ? [now.current] : [])]) {
      g.beginPath();
      for (let i = 0; i + 1 < s.length; i += 2) (i ? g.lineTo : g.moveTo).call(g, s[i] * k, s[i + 1] * k);
      if (s.length === 2) g.lineTo(s[0] * k + 0.1, s[1] * k);
      g.stroke();
    }
  };
  useEffect(paint, [strokes]);
  const point = (e) => {
    const r = ref.current.getBoundingClientRect(), to = (x, most) => Math.max(0, Math.min(most, Math.round(x)));
    return [to(((e.clientX - r.left) / r.width) * 1000, 1000), to(((e.clientY - r.top) / r.width) * 1000, 500)];
  };
  const down = (e) => { e.preventDefault(); ref.current.setPointerCapture(e.pointerId); now.current = point(e); paint(); };
  const move = (e) => {
    if (!now.current || now.current.length >= 4000) return;
    const [x, y] = point(e), n = now.current.length;
    if (Math.abs(now.current[n - 2] - x) + Math.abs(now.current[n - 1] - y) < 4) return;
    now.current.push(x, y);
    paint();
  };
  const up = () => { if (now.current) { const s = now.current; now.current = null; onDraw([...all.current, s]); } };
  return html`<canvas ref=${ref} class="sign-pad" width="1000" height="500" role="img" aria-label=${t(strokes.length ? "sign.drawn" : "sign.here")}
      onPointerDown=${down} onPointerMove=${move} onPointerUp=${up} onPointerCancel=${up}></canvas>
    <div class="btn-row"><button type="button" class="btn quiet" onClick=${() => onDraw([])}><${Icon} name="again" />${t("sign.clear")}</button></div>`;
}
