// The reply to a refusal: what answers the payer's reason, what of it is here, and a letter; one press records the letter and builds the
// bundle that goes with it.
import { html, useEffect, useState } from "../view.js";
import { Screen, Do, Mark, Notice, Wrong, tell } from "../parts.js";
import { Icon } from "../icons.js";
import { useLoaded } from "../events.js";
import { go } from "../route.js";
import { pull } from "../source.js";
import * as api from "../api.js";
import * as ask from "./ask.js";
import { In, Tick, showAt } from "./fields.js";
import { t, day, size } from "../words.js";

export function ReplyScreen({ id }) {
  const [reason, pickReason] = useState(""), [letter, write] = useState(null), [hold, keepBack] = useState([]), [done, finish] = useState(null), [error, fail] = useState(null), [errors, wrong] = useState({});
  const { value: h, error: unread } = useLoaded(() => ask.refusal(id, reason), [id, reason]);
  useEffect(() => { if (h) write(h.letter || ""); }, [h]);
  const make = async () => {
    fail(null);
    wrong({});
    try {
      const got = await ask.reply(id, { reason: h.reason || reason, letter, hold });
      await pull(id).catch(() => {});
      finish(got);
      tell(t("reply.made"));
    } catch (e) { if (!showAt(wrong, e)) fail(e); }
  };
  const back = `/job/${id}`;
  if (done) {
    return html`<${Screen} title=${t("claim.reply")} up=${back} foot=${html`<${Do} act=${() => go(`${back}/claim?what=send&version=${done.bundle.version}`, { replace: true })} kind="main big" icon="up">${t("reply.sent")}<//>`}>
      <${Notice} kind="good" title=${t("reply.made")}><p>${t("reply.what-next", { n: done.bundle.version })} ${size(done.bundle.bytes)}</p>
        <div class="btn-row"><a class="btn" href=${api.bundleAddress(id, done.bundle.version)} download=${done.bundle.name}><${Icon} name="down" />${t("bundle.download")}</a></div><//>
      <section class="sheet" aria-labelledby="h-letter"><h2 id="h-letter">${t("reply.letter")}</h2><p class="letter">${done.reply.letter}</p></section><//>`;
  }
  return html`<${Screen} title=${t("claim.reply")} up=${back} foot=${h?.answer && h.title && h.reason && html`<${Do} act=${make} kind="main big" icon="box">${t("reply.do")}<//>`}>
    <div class="narrow-form"><${Wrong} error=${unread || error} />
      ${!h && !unread && html`<p class="soft">${t("loading")}</p>`}
      ${h && !h.answer && html`<${Notice} kind="care"><p>${t("reply.nothing")}</p><//>`}
      ${h && html`<div class="sheet"><${In} name="reason" label=${t("answer.reason")} options=${h.reasons} none=${t("pay.no-reason")} value=${reason || h.reason || ""} onPick=${pickReason} errors=${errors} />
        ${h.words && html`<p>${t("reply.words")} “${h.words}”</p>`}${h.replyBy && html`<p><${Mark} kind="doubt" icon="clock">${t("reply.by", { day: day(h.replyBy) })}<//></p>`}</div>
      ${(h.items || []).length > 0 && html`<section class="sheet" aria-labelledby="h-answers"><h2 id="h-answers">${t("reply.answers")}</h2><ul class="rows">${h.items.map((x) => html`<li key=${x.what} class=${`finding ${x.missing ? "gap" : "met"}`}><span class="sign"><${Icon} name=${x.missing ? "gap" : "met"} /></span><div>
        <p><span class="only-read">${t(x.missing ? "outcome.gap" : "outcome.met")}: </span><b>${x.what}</b> ${x.numbers?.length > 0 && html`<span class="soft num">${t("reply.numbers", { list: x.numbers.slice(0, 12).join(", ") })}</span>`}</p>${x.cure && html`<div class="cure"><p>${x.cure}</p></div>`}</div></li>`)}</ul></section>`}
      ${letter !== null && h.letter && html`<div class="sheet"><${In} name="letter" label=${t("reply.letter")} hint=${t("reply.letter-hint")} area rows="14" value=${letter} onPick=${write} errors=${errors} maxlength="8000" />
        <fieldset><legend class="small">${t("bundle.hold")}</legend>${["customer", "position"].map((w) => html`<${Tick} key=${w} checked=${hold.includes(w)} onPick=${(on) => keepBack(on ? [...hold, w] : hold.filter((x) => x !== w))}>${t(`bundle.hold-${w}`)}<//>`)}</fieldset></div>`}`}
    </div><//>`;
}
