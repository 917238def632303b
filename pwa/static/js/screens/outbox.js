// The outbox: what waits, how far each file has come, and what the server refused, each with its sentence.
import { html, useEffect, useState } from "../view.js";
import { Screen, Notice, Mark, Ask, tell } from "../parts.js";
import { Icon } from "../icons.js";
import { Link } from "../route.js";
import { useLoaded, useNews, hear } from "../events.js";
import { waiting, state, kick, sendAgain, discard, progressOf } from "../outbox.js";
import { signedOut } from "../me.js";
import { t, kindName, size, moment } from "../words.js";

export function Outbox() {
  const news = useNews("outbox", "session");
  const [tick, set] = useState(0);
  useEffect(() => hear("progress", () => set((n) => n + 1)), []);
  const { value: list } = useLoaded(waiting, [news]);
  const { value: s } = useLoaded(state, [news, tick]);
  const [asked, ask] = useState(null);
  if (!list || !s) return html`<${Screen} title=${t("outbox.title")} up="/"><p class="soft">${t("loading")}</p><//>`;
  const refused = list.filter((e) => e.refused), open = list.filter((e) => !e.refused);
  const drop = async () => { await discard(asked.id); ask(null); tell(t("outbox.discarded")); };
  return html`<${Screen} title=${t("outbox.title")} up="/" foot=${open.length > 0 && html`<button type="button" class="btn main big" onClick=${kick}><${Icon} name="up" />${t("outbox.send-now")}</button>`}>
    ${!list.length && html`<${Notice} kind="good"><p>${t("outbox.empty")}</p><//>`}
    ${signedOut() && html`<${Notice} kind="wrong"><p>${t("outbox.signed-out")}</p><div class="btn-row"><${Link} to="/enter" class="btn">${t("enter.title")}<//></div><//>`}
    ${s.trouble && !signedOut() && html`<${Notice} kind=${s.trouble.kind === "no-answer" ? "" : "wrong"}><p>${s.trouble.says}</p><p>${t("outbox.kept-here")}</p><//>`}
    ${refused.length > 0 && html`<section class="sheet" aria-labelledby="h-refused"><h2 id="h-refused">${t("outbox.refused", { n: refused.length })}</h2><ul class="rows">${refused.map((e) => html`<li key=${e.id}>
      <p><b>${kindName(e.kind)}</b> <span class="soft small">${moment(e.made)}</span></p><p>${e.refused.says}</p>${e.refused.where && html`<p class="soft small">${e.refused.where}</p>`}
      <div class="btn-row"><button type="button" class="btn" onClick=${() => sendAgain(e.id)}><${Icon} name="again" />${t("outbox.again")}</button>
        <${Link} to=${`/job/${e.job}`} class="btn quiet">${t("outbox.job")}<//>
        <button type="button" class="btn danger" onClick=${() => ask(e)}>${t("outbox.discard")}</button></div></li>`)}</ul></section>`}
    ${open.length > 0 && html`<section class="sheet" aria-labelledby="h-open"><div class="head-row"><h2 id="h-open">${t("outbox.waiting", { n: s.count, size: size(s.bytes) })}</h2></div>
      ${s.bytes > 0 && html`<p class="progress"><progress max=${s.bytes} value=${s.done} aria-label=${t("status.progress")}></progress><span class="num small">${size(s.done)}</span></p>`}
      <ul class="rows">${open.map((e) => html`<li key=${e.id}><${Link} to=${`/job/${e.job}`}>${kindName(e.kind)}<//> <span class="soft small">${moment(e.made)}</span>
        ${e.digest && html`<p class="progress"><progress max=${e.bytes} value=${progressOf(e.digest)} aria-label=${t("outbox.photo-progress")}></progress><span class="num small">${t("outbox.of", { done: size(progressOf(e.digest)), all: size(e.bytes) })}</span></p>`}</li>`)}</ul></section>`}
    ${asked && html`<${Ask} title=${t("outbox.discard-title")} onClose=${() => ask(null)}><p>${t("outbox.discard-text")}</p>
      <div class="btn-row"><button type="button" class="btn" onClick=${() => ask(null)}>${t("cancel")}</button><button type="button" class="btn danger" onClick=${drop}>${t("outbox.discard-do")}</button></div><//>`}
  <//>`;
}
