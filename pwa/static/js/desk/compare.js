// Two photos of a job against each other: side by side, or one over the other with a line that is moved, both zoomed alike.
import { html, useEffect, useRef, useState } from "../view.js";
import { Screen, Choices, Notice } from "../parts.js";
import { useJob } from "../use-job.js";
import { go } from "../route.js";
import { Picture, nameOf } from "../photos.js";
import { In } from "./fields.js";
import { useKeys } from "./keys.js";
import { t, moment, number } from "../words.js";

const ZOOMS = [1, 1.5, 2, 3, 4, 6, 8];

export function Compare({ id, query }) {
  const { data } = useJob(id, { fetch: false });
  const [way, setWay] = useState(localStorage.getItem("compare-way") || "beside"), [split, move] = useState(50), [zoom, setZoom] = useState(0), [at, moveTo] = useState([50, 50]);
  const list = (data?.job?.photos || []).filter((p) => !/^(video|audio|application)/.test(data.job.facts?.[p.body.digest]?.type || ""));
  const find = (which, other) => list.find((p) => p.entry === query.get(which)) || list[other];
  const first = find("a", 0), second = find("b", Math.min(1, list.length - 1));
  const pick = (which) => (entry) => go(`/job/${id}/compare?${new URLSearchParams({ a: first?.entry || "", b: second?.entry || "", [which]: entry })}`, { replace: true });
  const nearer = (by) => () => setZoom((z) => Math.max(0, Math.min(ZOOMS.length - 1, z + by)));
  const shift = (dx, dy) => moveTo(([x, y]) => [Math.max(0, Math.min(100, x + dx)), Math.max(0, Math.min(100, y + dy))]);
  useEffect(() => localStorage.setItem("compare-way", way), [way]);
  const slide = (by) => () => { if (way !== "over" || document.activeElement?.type === "range") return false; move((s) => Math.max(0, Math.min(100, s + by))); return true; };
  useKeys({ "+": nearer(1), "=": nearer(1), "-": nearer(-1), 0: () => { setZoom(0); moveTo([50, 50]); }, ArrowLeft: slide(-5), ArrowRight: slide(5), b: () => go("/board") });
  if (!data?.job) return html`<${Screen} title=${t("compare.title")} up=${`/job/${id}`}><p class="soft">${t("loading")}</p><//>`;
  const options = list.map((p) => ({ id: p.entry, title: `${p.number}. ${nameOf(p.body)}, ${moment(p.body.captured || p.at)}` }));
  const pane = (p, which) => html`<figure class="pane" key=${which}><${Frame} key=${p.entry} p=${p} job=${id} zoom=${ZOOMS[zoom]} at=${at} onShift=${shift} /><figcaption><b class="num">${p.number}</b> ${nameOf(p.body)} <span class="soft small">${moment(p.body.captured || p.at)} · ${p.by}</span></figcaption></figure>`;
  return html`<${Screen} title=${t("compare.title")} up=${`/job/${id}`}>
    ${list.length < 2 ? html`<${Notice}><p>${t("compare.too-few")}</p><//>` : html`
    <div class="two"><${In} name="a" label=${t("compare.first")} options=${options} value=${first.entry} onPick=${pick("a")} /><${In} name="b" label=${t("compare.second")} options=${options} value=${second.entry} onPick=${pick("b")} /></div>
    <div class="compare-bar"><${Choices} label=${t("compare.way")} name="way" options=${["beside", "over"].map((w) => ({ id: w, title: t(`compare.${w}`) }))} value=${way} onPick=${setWay} />
      <div class="btn-row" role="group" aria-label=${t("compare.zoom")}><button type="button" class="btn" onClick=${nearer(-1)} disabled=${zoom === 0}><span aria-hidden="true">−</span><span class="only-read">${t("compare.farther")}</span></button><output class="num">${t("compare.times", { n: number(ZOOMS[zoom]) })}</output><button type="button" class="btn" onClick=${nearer(1)} disabled=${zoom === ZOOMS.length - 1}><span aria-hidden="true">+</span><span class="only-read">${t("compare.nearer")}</span></button></div>
      ${zoom > 0 && html`<div class="btn-row" role="group" aria-label=${t("compare.shift")}>${[["left", -12, 0], ["right", 12, 0], ["up", 0, -12], ["down", 0, 12]].map(([d, x, y]) => html`<button key=${d} type="button" class="btn quiet" onClick=${() => shift(x, y)}><span aria-hidden="true">${{ left: "←", right: "→", up: "↑", down: "↓" }[d]}</span><span class="only-read">${t(`mark.${d}`)}</span></button>`)}</div>`}</div>
    ${way === "beside" ? html`<div class="two-panes">${pane(first, "a")}${pane(second, "b")}</div>` : html`<${Over} first=${first} second=${second} job=${id} split=${split} onSplit=${move} zoom=${ZOOMS[zoom]} at=${at} onShift=${shift} />`}`}<//>`;
}

// Frame shows a picture, so many times as large, with the place at [x, y] per cent in the middle; it can be dragged.
function Frame({ p, job, zoom, at, onShift }) {
  const ref = useRef(), from = useRef(null);
  useEffect(() => { const s = ref.current.style; s.setProperty("--zoom", zoom); s.setProperty("--x", `${at[0]}%`); s.setProperty("--y", `${at[1]}%`); }, [zoom, at]);
  const down = (e) => { if (zoom > 1) { from.current = [e.clientX, e.clientY]; e.currentTarget.setPointerCapture?.(e.pointerId); } };
  const drag = (e) => {
    if (!from.current) return;
    const box = ref.current.getBoundingClientRect(), [x, y] = from.current;
    from.current = [e.clientX, e.clientY];
    onShift(((x - e.clientX) / box.width) * 100 / (zoom - 1 || 1), ((y - e.clientY) / box.height) * 100 / (zoom - 1 || 1));
  };
  return html`<div class="frame-in" ref=${ref} onPointerDown=${down} onPointerMove=${drag} onPointerUp=${() => { from.current = null; }}><${Picture} digest=${p.body.digest} job=${job} alt=${`${p.number}, ${nameOf(p.body)}`} whole /></div>`;
}

function Over({ first, second, job, split, onSplit, zoom, at, onShift }) {
  const ref = useRef();
  useEffect(() => ref.current.style.setProperty("--split", `${split}%`), [split]);
  return html`<div><div class="over" ref=${ref}><${Frame} key=${first.entry} p=${first} job=${job} zoom=${zoom} at=${at} onShift=${onShift} /><div class="upper"><${Frame} key=${second.entry} p=${second} job=${job} zoom=${zoom} at=${at} onShift=${onShift} /></div><span class="seam" aria-hidden="true"></span></div>
    <label class="slide"><span>${t("compare.slide", { a: String(first.number), b: String(second.number) })}</span><input type="range" min="0" max="100" step="1" value=${split} onInput=${(e) => onSplit(Number(e.target.value))} aria-valuetext=${t("compare.slide-at", { n: split })} /></label></div>`;
}
