// Covering a part of a photo: two taps (or one stroke) from corner to corner lay a filled rectangle or oval over it. Whoever can't point at
// the glass places one in the middle, and moves and sizes it with buttons.
import { html, useState } from "../view.js";
import { Screen, Choices, Do, tell } from "../parts.js";
import { Icon } from "../icons.js";
import { Picture, nameOf } from "../photos.js";
import { CoverLayer, inside, useStroke } from "../marks.js";
import { useJob } from "../use-job.js";
import { record } from "../record.js";
import { back } from "../route.js";
import { t } from "../words.js";

const MOST = 100, STEP = 25, LEAST = 10;

export function CoverPhoto({ id, query }) {
  const { data } = useJob(id, { fetch: false });
  const photo = data?.job.photos?.find((p) => p.entry === query.get("photo"));
  const old = photo && (data.job.covers || []).findLast((c) => c.body.photo === photo.entry);
  const [drawn, draw] = useState(null), [tool, pick] = useState("rectangle"), [from, begin] = useState(null), [shape, measured] = useState(null);
  const stroke = useStroke(shape, (a, b, far) => lift(a, b, far));
  if (!photo) return html`<${Screen} title=${t("cover.title")} up=${`/job/${id}`}><p class="soft">${t(data ? "mark.no-photo" : "loading")}</p><//>`;
  const shapes = drawn ?? old?.body.shapes ?? [], last = shapes.at(-1);
  const add = (a, b) => {
    if (shapes.length >= MOST) return tell(t("cover.most"));
    const [x1, x2] = [a[0], b[0]].sort((p, q) => p - q), [y1, y2] = [a[1], b[1]].sort((p, q) => p - q);
    draw([...shapes, { shape: tool, x1, y1, x2: Math.max(x2, inside(x1 + LEAST)), y2: Math.max(y2, inside(y1 + LEAST)) }].map(proper));
    begin(null);
  };
  const lift = (a, b, far) => {
    if (far > 30) add(a, b);
    else if (from) add(from, b);
    else begin(b);
  };
  const change = (dx1, dy1, dx2, dy2) => () => {
    const s = { ...last, x1: inside(last.x1 + dx1), y1: inside(last.y1 + dy1), x2: inside(last.x2 + dx2), y2: inside(last.y2 + dy2) };
    if (s.x2 - s.x1 >= LEAST && s.y2 - s.y1 >= LEAST) draw([...shapes.slice(0, -1), s]);
  };
  const move = (dx, dy) => {
    if (last.x1 + dx < 0 || last.x2 + dx > 1000) dx = 0;
    if (last.y1 + dy < 0 || last.y2 + dy > 1000) dy = 0;
    return change(dx, dy, dx, dy)();
  };
  const keep = async () => {
    if (!shapes.length) throw new Error(t("cover.none"));
    await record(id, "cover", { photo: photo.entry, shapes }, old ? { supersedes: old.latest, why: t("cover.changed") } : {});
    tell(t("cover.kept"));
    back(`/job/${id}`);
  };
  const key = (icon, label, act) => html`<button type="button" class="btn quiet" aria-label=${label} onClick=${act}><span aria-hidden="true">${icon}</span></button>`;
  return html`<${Screen} title=${t("cover.title")} up=${`/job/${id}`} foot=${html`<${Do} act=${keep} kind="main big" icon="met" disabled=${!drawn || !shapes.length}>${t("cover.keep")}<//>
      <button type="button" class="btn big" disabled=${!shapes.length} onClick=${() => { draw(shapes.slice(0, -1)); begin(null); }}><${Icon} name="again" />${t("cover.undo")}</button>`}>
    <div class="columns"><div>
      <div class="marking"><${Picture} digest=${photo.body.digest} job=${id} alt=${nameOf(photo.body)} type=${data.job.facts?.[photo.body.digest]?.type} whole onShape=${measured} />
        ${shape && html`<${CoverLayer} shapes=${shapes} shape=${shape} from=${from} ...${stroke} />`}</div>
      <p class="soft small" role="status">${from ? t("cover.now-other") : t("cover.how")} ${t("cover.count", { n: shapes.length })}</p>
    </div><div class="sheet stack">
      <${Choices} label=${t("cover.shape")} name="shape" options=${["rectangle", "ellipse"].map((x) => ({ id: x, title: t(`cover.${x}`) }))} value=${tool} onPick=${(x) => { pick(x); begin(null); }} />
      <div class="btn-row"><button type="button" class="btn" onClick=${() => add([400, 400], [600, 600])}>${t("cover.middle")}</button></div>
      ${last && drawn && html`<fieldset><legend>${t("cover.move")}</legend>
        <div class="btn-row">${key("←", t("mark.left"), () => move(-STEP, 0))}${key("↑", t("mark.up"), () => move(0, -STEP))}${key("↓", t("mark.down"), () => move(0, STEP))}${key("→", t("mark.right"), () => move(STEP, 0))}</div>
        <div class="btn-row">${key("⇔", t("cover.wider"), change(-STEP, 0, STEP, 0))}${key("⇥", t("cover.narrower"), change(STEP, 0, -STEP, 0))}${key("⇕", t("cover.taller"), change(0, -STEP, 0, STEP))}${key("⤓", t("cover.lower"), change(0, STEP, 0, -STEP))}</div></fieldset>`}
      <p class="soft small form-foot">${t("cover.layer")}</p>
    </div></div>
  <//>`;
}

// A shape that was begun at the right or lower edge keeps a width and a height.
const proper = (s) => ({ ...s, x1: Math.min(s.x1, s.x2 - LEAST), y1: Math.min(s.y1, s.y2 - LEAST) });
