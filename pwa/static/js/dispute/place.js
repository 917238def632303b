// A place on the unit or in the room: picked on a drawing or from a list, or said in words. The list does everything that pointing does.
import { html } from "../view.js";
import { In } from "../desk/fields.js";
import { views, regionAt, middleOf } from "./views.js";
import { t, term, termsOf } from "../words.js";

/** Drawing shows a view with numbered pins: [{x, y, n}]. */
export function Drawing({ view, pins = [], chosen, onPick, label }) {
  const v = views.find((x) => x.id === view);
  if (!v) return null;
  const press = (e) => {
    const box = e.currentTarget.getBoundingClientRect();
    const at = (p, from, size) => Math.round(Math.min(1, Math.max(0, (p - from) / size)) * 1000);
    onPick?.(at(e.clientX, box.left, box.width), at(e.clientY, box.top, box.height));
  };
  return html`<svg class=${`drawn ${onPick ? "picks" : ""}`} viewBox="0 0 1000 1000" role="img" aria-label=${label || t(`view-of.${view}`)} onClick=${onPick && press}>
    ${v.regions.map(([area, x, y, w, h]) => html`<rect key=${area} x=${x} y=${y} width=${w} height=${h} rx="6" class=${area === chosen ? "region on" : "region"}><title>${term("areas", area)}</title></rect>`)}
    <path class="lines" d=${v.lines} />
    ${pins.map((p) => html`<g key=${p.n} class="pin"><circle cx=${p.x} cy=${p.y} r="34" /><text x=${p.x} y=${p.y + 13} text-anchor="middle">${p.n}</text></g>`)}</svg>`;
}

/** placeOf is what an entry keeps of a picked place. */
export const placeOf = (v) => ({ area: v.area || (v.place || "").trim(), ...(v.view && v.x !== undefined && { view: v.view, x: v.x, y: v.y }) });

/** PlacePicker asks for the place. value has area (of the vocabulary) or place (own words), and view, x, y. */
export function PlacePicker({ value, set, errors, pin = "●" }) {
  const point = (x, y) => set({ x, y, area: regionAt(value.view, x, y) || value.area });
  const list = (area) => {
    const m = middleOf(value.view, area);
    set({ area, x: m?.x, y: m?.y });
  };
  return html`<div class="place">
    <${In} name="area" label=${t("place.area")} options=${termsOf("areas")} none=${t("place.words")} value=${value.area} onPick=${list} errors=${errors} />
    ${!value.area && html`<${In} name="place" label=${t("place.in-words")} hint=${t("place.in-words-hint")} value=${value.place} onPick=${(place) => set({ place })} errors=${errors} maxlength="100" />`}
    <${In} name="view" label=${t("place.drawing")} options=${views.map((v) => ({ id: v.id, title: t(`view-of.${v.id}`) }))} value=${value.view} onPick=${(view) => { const m = middleOf(view, value.area); set({ view, x: m?.x, y: m?.y }); }} />
    <p class="soft small">${t("place.how")}</p>
    <${Drawing} view=${value.view} chosen=${value.area} pins=${value.x === undefined ? [] : [{ x: value.x, y: value.y, n: pin }]} onPick=${point} />
    ${value.x !== undefined && html`<div class="btn-row"><button type="button" class="btn quiet" onClick=${() => set({ x: undefined, y: undefined })}>${t("place.clear")}</button></div>`}</div>`;
}
