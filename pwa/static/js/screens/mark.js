// Marking a photo: a tap sets a ring or words, two taps (or one stroke) an arrow. Whoever can't point at the glass places a mark in the
// middle and moves it with buttons.
import { html, useState } from "../view.js";
import { Screen, Choices, Field, Do, tell } from "../parts.js";
import { Icon } from "../icons.js";
import { Picture, nameOf } from "../photos.js";
import { MarkLayer, inside, useStroke } from "../marks.js";
import { useJob } from "../use-job.js";
import { record } from "../record.js";
import { back } from "../route.js";
import { t } from "../words.js";

const MOST = 100, STEP = 25;

export function MarkPhoto({ id, query }) {
  const { data } = useJob(id, { fetch: false });
  const photo = data?.job.photos?.find((p) => p.entry === query.get("photo"));
  const old = photo && (data.job.markups || []).findLast((m) => m.body.photo === photo.entry);
  const [drawn, draw] = useState(null), [tool, pick] = useState("arrow"), [words, say] = useState(""), [from, begin] = useState(null), [shape, measured] = useState(null), [part, move] = useState("all");
  const stroke = useStroke(shape, (a, b, far) => lift(a, b, far));
  if (!photo) return html`<${Screen} title=${t("mark.title")} up=${`/job/${id}`}><p class="soft">${t(data ? "mark.no-photo" : "loading")}</p><//>`;
  const marks = drawn ?? old?.body.marks ?? [], last = marks.at(-1);
  const add = (m) => {
    if (marks.length >= MOST) return tell(t("mark.most"));
    if (tool === "words" && !words.trim()) return tell(t("mark.need-words"));
    draw([...marks, { ...m, shape: tool, text: words.trim() }]);
    say("");
    begin(null);
  };
  const lift = ([x1, y1], [x2, y2], far) => {
    if (tool !== "arrow") return add({ x1: x2, y1: y2 });
    if (far > 40) add({ x1, y1, x2, y2 });
    else if (from) add({ x1: from[0], y1: from[1], x2, y2 });
    else begin([x2, y2]);
  };
  const nudge = (dx, dy) => () => {
    const m = { ...last };
    if (m.shape !== "arrow" || part !== "tip") { m.x1 = inside(m.x1 + dx); m.y1 = inside(m.y1 + dy); }
    if (m.shape === "arrow" && part !== "end") { m.x2 = inside((m.x2 ?? 0) + dx); m.y2 = inside((m.y2 ?? 0) + dy); }
    draw([...marks.slice(0, -1), m]);
  };
  const keep = async () => {
    if (!marks.length) throw new Error(t("mark.none"));
    await record(id, "markup", { photo: photo.entry, marks }, old ? { supersedes: old.latest, why: t("mark.changed") } : {});
    tell(t("mark.kept"));
    back(`/job/${id}`);
  };
  const key = (icon, label, dx, dy) => html`<button type="button" class="btn quiet" aria-label=${label} onClick=${nudge(dx, dy)}><span aria-hidden="true">${icon}</span></button>`;
  return html`<${Screen} title=${t("mark.title")} up=${`/job/${id}`} foot=${html`<${Do} act=${keep} kind="main big" icon="met" disabled=${!drawn || !marks.length}>${t("mark.keep")}<//>
      <button type="button" class="btn big" disabled=${!marks.length} onClick=${() => draw(marks.slice(0, -1))}><${Icon} name="again" />${t("mark.undo")}</button>`}>
    <div class="columns"><div>
      <div class="marking"><${Picture} digest=${photo.body.digest} job=${id} alt=${nameOf(photo.body)} type=${data.job.facts?.[photo.body.digest]?.type} whole onShape=${measured} />
        ${shape && html`<${MarkLayer} marks=${from ? [...marks, { shape: "words", x1: from[0], y1: from[1], text: "●" }] : marks} shape=${shape} ...${stroke} />`}</div>
      <p class="soft small" role="status">${t(from ? "mark.now-tip" : tool === "arrow" ? "mark.how-arrow" : "mark.how-tap")}</p>
    </div><div class="sheet">
      <${Choices} label=${t("mark.tool")} name="tool" options=${["arrow", "ring", "words"].map((x) => ({ id: x, title: t(`mark.${x}`) }))} value=${tool} onPick=${(x) => { pick(x); begin(null); }} />
      <${Field} label=${t("mark.text")} hint=${t("mark.text-hint")} value=${words} onInput=${(e) => say(e.target.value)} maxlength="60" />
      <div class="btn-row"><button type="button" class="btn" onClick=${() => add({ x1: tool === "arrow" ? 350 : 500, y1: tool === "arrow" ? 350 : 500, ...(tool === "arrow" && { x2: 500, y2: 500 }) })}>${t("mark.middle")}</button></div>
      ${last && drawn && html`<fieldset><legend>${t("mark.move")}</legend>
        ${last.shape === "arrow" && html`<${Choices} label=${t("mark.move-what")} name="part" options=${["all", "tip", "end"].map((x) => ({ id: x, title: t(`mark.move-${x}`) }))} value=${part} onPick=${move} />`}
        <div class="btn-row">${key("←", t("mark.left"), -STEP, 0)}${key("↑", t("mark.up"), 0, -STEP)}${key("↓", t("mark.down"), 0, STEP)}${key("→", t("mark.right"), STEP, 0)}</div></fieldset>`}
      <p class="soft small form-foot">${t("mark.layer")}</p>
    </div></div>
  <//>`;
}
