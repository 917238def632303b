// Pictures on the dispute page: the shop's own with where they stand in the order of things, the other side's as they were received.
import { html } from "../view.js";
import { Mark } from "../parts.js";
import { Picture } from "../photos.js";
import { t, moment, size } from "../words.js";

const orderMark = { before: ["met", "clock"], after: ["info", "clock"], "cannot-tell": ["doubt", "doubt"], conflicting: ["doubt", "doubt"] };

/** OrderMark says whether something was before the first work, in one word; says is the sentence about it. */
export function OrderMark({ order }) {
  const [kind, icon] = orderMark[order?.answer] || ["", "clock"];
  return order ? html`<${Mark} kind=${kind} icon=${icon}>${t(`order.${order.answer}`)}<//>` : null;
}

/** Clock tells by which clock the order is told, to whom asks. */
export const Clock = ({ says }) => says && html`<details class="by-clock"><summary class="small">${t("order.which")}</summary><p class="soft small">${says}</p></details>`;

/** Shown is one picture of the shop. */
export const Shown = ({ id, photo, whole }) => html`<figure class="proof"><${Picture} digest=${photo.digest} job=${id} alt=${photo.title} whole=${whole} />
  <figcaption><span class="num strong">${photo.number}</span> ${photo.title} <${OrderMark} order=${photo.order} />
  <${Clock} says=${photo.order?.says} /></figcaption></figure>`;

/** Received is a picture or paper of the other side: what its file says, neither trusted nor doubted. */
export function Received({ id, job, photo }) {
  const f = job.facts?.[photo.digest], x = f?.taken;
  return html`<figure class="proof"><${Picture} digest=${photo.digest} job=${id} alt=${photo.title} type=${f?.type} />
    <figcaption><p>${photo.number ? html`<span class="num strong">${photo.number}</span> ` : ""}${photo.title}</p>
    <p class="small"><${Mark} icon="down">${t("received.mark")}<//> ${moment(photo.at)}</p>
    <p class="soft small">${[f?.type, f?.width && `${f.width} × ${f.height}`, f?.bytes && size(f.bytes), f?.camera].filter(Boolean).join(", ")}</p>
    ${f && /^image/.test(f.type || "") && f.examiner !== "phone" && html`<p class="small">${x ? t("received.taken", { when: `${x.local.replace("T", " ")}${x.offset ? ` ${x.offset}` : ""}` }) : t("received.no-date")}${x && !x.offset ? ` ${t("received.no-zone")}` : ""}</p>`}</figcaption></figure>`;
}
