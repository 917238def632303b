// One pair: before and after beside each other, and the later one laid over the earlier one, as far as that can be done.
import { html, useEffect, useState } from "../view.js";
import { Choices, Do, Notice } from "../parts.js";
import { Picture } from "../photos.js";
import { Tick } from "../desk/fields.js";
import { Shown } from "./photo.js";
import * as ask from "./ask.js";
import { t } from "../words.js";

export function Pair({ id, before, after, why }) {
  const [found, show] = useState(null), [error, fail] = useState(null);
  const lay = async () => {
    fail(null);
    const a = await ask.alignment(id, before.entry, after.entry);
    show({ ...a, blob: a.aligned ? await ask.overlay(id, before.entry, after.entry) : null });
  };
  return html`<div class="claim-pair"><p class="soft small">${why}</p>
    <div class="side-by-side"><div><h4>${t("pair.before")}</h4><${Shown} id=${id} photo=${before} whole /></div><div><h4>${t("pair.after")}</h4><${Shown} id=${id} photo=${after} whole /></div></div>
    ${error && html`<${Notice} kind="wrong"><p>${error.message}</p><//>`}
    ${!found && html`<div class="btn-row"><${Do} act=${lay} onError=${fail} icon="camera">${t("pair.lay-over")}<//></div>`}
    ${found && !found.aligned && html`<${Notice} kind="care"><p>${found.says}</p><//>`}
    ${found?.aligned && html`<${Overlay} id=${id} before=${before} found=${found} />`}</div>`;
}

function Overlay({ id, before, found }) {
  const [url, set] = useState(""), [part, slide] = useState(50), [how, pick] = useState("wipe"), [marked, mark] = useState(true);
  useEffect(() => {
    const u = URL.createObjectURL(found.blob);
    set(u);
    return () => URL.revokeObjectURL(u);
  }, [found.blob]);
  const style = how === "wipe" ? `clip-path: inset(0 ${100 - part}% 0 0)` : `opacity: ${part / 100}`;
  const areas = found.changed || [];
  return html`<div class="laid"><h4>${t("pair.overlay")}</h4><p class="small" data-says>${found.says}</p>
    <div class="lay"><${Picture} digest=${before.digest} job=${id} alt=${t("pair.overlay-alt", { what: before.title })} whole />
      ${url && html`<img class="lay-over" src=${url} alt="" style=${style} />`}
      ${how === "wipe" && html`<span class="lay-seam" style=${`left: ${part}%`}></span>`}
      ${marked && areas.length > 0 && html`<svg class="lay-marks" viewBox="0 0 1000 1000" preserveAspectRatio="none" aria-hidden="true">${areas.map((a, i) => html`<rect key=${i} x=${a.x} y=${a.y} width=${a.width} height=${a.height} />`)}</svg>`}</div>
    <label class="slide"><span>${t(how === "wipe" ? "pair.wipe-label" : "pair.fade-label")}</span><input type="range" min="0" max="100" value=${part} onInput=${(e) => slide(Number(e.target.value))} /></label>
    <${Choices} label=${t("pair.how")} name=${`how-${before.entry}-${found.after}`} options=${["wipe", "fade"].map((x) => ({ id: x, title: t(`pair.${x}`) }))} value=${how} onPick=${pick} />
    ${areas.length > 0 ? html`<${Tick} checked=${marked} onPick=${mark}>${t("pair.marked", { n: areas.length })}<//>` : html`<p class="soft small">${t("pair.none-marked")}</p>`}</div>`;
}
