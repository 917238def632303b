// The bundle's pictures: each is fetched when it comes into view, and held against the bundle's list before it is shown.
import { html, useEffect, useRef, useState } from "../js/view.js";
import { Icon } from "../js/icons.js";
import { t, term, moment } from "../js/words.js";
import { Dialog, Mark, useBlob } from "./parts.js";

const shown = (name) => ({ jpg: "image/jpeg", png: "image/png", webp: "image/webp" })[name.split(".").pop()];

function Picture({ files, name, alt }) {
  const [got, set] = useState({});
  const ref = useRef();
  useEffect(() => {
    let live = true;
    const watch = new IntersectionObserver(async (seen) => {
      if (!seen.some((s) => s.isIntersecting)) return;
      watch.disconnect();
      try {
        const bytes = await files.read(name);
        if (live) set({ bytes, bad: files.bad.has(name) });
      } catch (e) { if (live) set({ error: e.message }); }
    }, { rootMargin: "300px" });
    watch.observe(ref.current);
    return () => { live = false; watch.disconnect(); };
  }, [name]);
  const url = useBlob(got.bytes, shown(name) || "image/jpeg");
  return html`<span class="pic" ref=${ref}>${url ? html`<img src=${url} alt=${alt} />` : html`<${Icon} name=${got.error ? "caution" : "camera"} />`}</span>
    ${got.bad && html`<${Mark} kind="gap" icon="caution">${t("review.picture-other")}<//>`}${got.error && html`<span class="small">${got.error}</span>`}`;
}

const titleOf = (p) => [term("subjects", p.body.subject), p.body.component && term("components", p.body.component)].filter(Boolean).join(", ");

function Shot({ files, photo: p, onOpen }) {
  const title = titleOf(p);
  return html`<li><button type="button" class="shot" onClick=${() => onOpen(p)} disabled=${!p.file}>
    ${p.thumbnail ? html`<${Picture} files=${files} name=${p.thumbnail} alt="" />` : html`<span class="pic"><${Icon} name=${p.file ? "document" : "close"} /></span>`}
    <span class="under"><span class="nr">${p.no}</span>${title}
      ${p.taken && html`<br /><span class="soft">${moment(p.taken)}</span>`}
      ${p.timeBasis && html`<br /><span class="soft">${t(`review.basis-${p.timeBasis}`)}</span>`}
      ${p.kept !== "whole" && html`<br /><${Mark} kind="doubt" icon="doubt">${t(`review.kept-${p.kept}`, { why: p.why || "" })}<//>`}
      ${p.usedBefore && html`<br /><${Mark} kind="doubt" icon="doubt">${t("review.used-before")}<//>`}</span></button></li>`;
}

/** Shots shows photos by number. */
export function Shots({ files, photos }) {
  const [open, show] = useState(null);
  if (!photos.length) return null;
  return html`<ul class="shots">${photos.map((p) => html`<${Shot} key=${p.no} files=${files} photo=${p} onOpen=${show} />`)}</ul>
    ${open && html`<${Viewer} files=${files} photo=${open} onClose=${() => show(null)} />`}`;
}

function Viewer({ files, photo: p, onClose }) {
  const [got, set] = useState({});
  const kind = shown(p.file);
  useEffect(() => {
    let live = true;
    files.read(p.file).then((bytes) => live && set({ bytes }), (e) => live && set({ error: e.message }));
    return () => { live = false; };
  }, []);
  const url = useBlob(got.bytes, kind || "application/octet-stream");
  const title = `${p.no} ${titleOf(p)}`;
  return html`<${Dialog} label=${title} onClose=${onClose}>
    <div class="bar"><button type="button" class="btn" onClick=${onClose}><${Icon} name="close" />${t("review.close")}</button>
      ${url && html`<a class="btn" href=${url} download=${p.file.split("/").pop()}><${Icon} name="down" />${t("review.save")}</a>`}</div>
    <div class="pic">${url && kind ? html`<img src=${url} alt=${title} />` : html`<${Icon} name=${got.error ? "caution" : "document"} />`}</div>
    <div class="under stack"><h2>${title}</h2>${got.error && html`<p role="alert">${got.error}</p>`}
      ${url && !kind && html`<p>${t("review.no-view")}</p>`}
      ${got.bytes && html`<p>${files.good.has(p.file) ? html`<${Mark} kind="met" icon="met">${t("review.same-bytes")}<//>` : files.bad.has(p.file) ? html`<${Mark} kind="gap" icon="caution">${t("review.picture-other")}<//>` : html`<${Mark}>${t("review.not-hashed")}<//>`}</p>`}
      ${p.body.caption && html`<p>${p.body.caption}</p>`}
      <dl class="facts"><dt>${t("review.taken")}</dt><dd>${p.taken ? moment(p.taken) : "–"}</dd><dt>${t("review.received")}</dt><dd>${p.received ? moment(p.received) : "–"}</dd>
        <dt>${t("review.by")}</dt><dd>${p.by}</dd><dt>SHA-256</dt><dd class="num small">${p.sha256}</dd></dl></div><//>`;
}
