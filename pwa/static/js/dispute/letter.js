// The answer letter, drafted from what is on record and changed by a person, and the dispute file that goes with it.
import { html, useEffect, useState } from "../view.js";
import { Do, Mark, Notice, Screen, Wrong, tell } from "../parts.js";
import { In, Tick } from "../desk/fields.js";
import { Icon } from "../icons.js";
import { bundleAddress } from "../api.js";
import { pull } from "../source.js";
import { home, keep } from "./form.js";
import * as ask from "./ask.js";
import { t, termsOf, size, placeName } from "../words.js";

export function Letter({ id, view, query, data }) {
  const open = view.allegations.filter((a) => !a.ended), named = query.getAll("allegation");
  const [picked, pick] = useState(named.length ? named : open.map((a) => a.entry));
  const [draft, drawn] = useState(null), [text, write] = useState(""), [error, fail] = useState(null), [again, repeat] = useState(0);
  const [extras, choose] = useState([]), [hold, keepBack] = useState([]), [built, show] = useState(null), [sent, send] = useState("");
  useEffect(() => {
    let live = true;
    fail(null);
    if (picked.length) ask.letter(id, picked).then((d) => { if (live) { drawn(d); write(d.letter); } }, (e) => live && fail(e));
    return () => { live = false; };
  }, [picked.join(), again]);
  const toggle = (list, set, x) => (on) => set(on ? [...list, x] : list.filter((y) => y !== x));
  const build = async () => {
    fail(null);
    const made = await ask.file(id, { allegations: picked, letter: text, include: extras, hold });
    show(made);
    tell(t("letter.is-built"));
    await pull(id).catch(() => {});
  };
  const record = async () => {
    await keep(id, "respond", { allegations: picked, letter: text, leans: draft?.leans || [], sent: sent.trim() });
    tell(t("dispute.kept"));
    send("");
  };
  const waits = data.unsent?.size || 0;
  return html`<${Screen} title=${t("letter.title")} up=${home(id)} foot=${html`<${Do} act=${build} onError=${fail} kind="main big" icon="box" disabled=${!picked.length || !text.trim() || waits > 0}>${t("letter.build")}<//>`}>
    <${Wrong} error=${error} retry=${() => repeat((n) => n + 1)} />
    ${waits > 0 && html`<${Notice} kind="care"><p>${t("bundle.unsent", { n: waits })}</p><//>`}
    ${built && html`<${Notice} kind="good" title=${t("letter.is-built")}><p>${t("bundle.version", { n: built.bundle.version })}, ${size(built.bundle.bytes)}</p>
      <div class="btn-row"><a class="btn" href=${bundleAddress(id, built.bundle.version)} download=${built.bundle.name}><${Icon} name="down" />${t("bundle.download")}</a></div>
      <p class="small">${t("letter.link-hint")}</p><//>`}
    <div class="columns"><div><div class="sheet"><fieldset><legend>${t("letter.which")}</legend>${open.map((a) => html`<${Tick} key=${a.entry} checked=${picked.includes(a.entry)} onPick=${toggle(picked, pick, a.entry)}>${t("claimed.title", { n: a.number, area: placeName(a.area) })}<//>`)}</fieldset>
        ${!open.length && html`<p class="soft">${t("letter.none-open")}</p>`}
        <fieldset><legend>${t("letter.extras")}</legend><p class="soft small">${t("letter.extras-what")}</p>${termsOf("fileExtras").map((x) => html`<${Tick} key=${x.id} checked=${extras.includes(x.id)} onPick=${toggle(extras, choose, x.id)}>${x.title}<//>`)}</fieldset>
        <fieldset><legend>${t("letter.hold")}</legend>${["customer", "position"].map((w) => html`<${Tick} key=${w} checked=${hold.includes(w)} onPick=${toggle(hold, keepBack, w)}>${t(`bundle.hold-${w}`)}<//>`)}</fieldset></div>
      ${draft && html`<div class="sheet"><h2>${t("letter.exhibits")}</h2>${draft.exhibits.length ? html`<ol class="points">${draft.exhibits.map((x) => html`<li key=${x.entry}><span class="num strong">${x.no}</span> ${x.title}</li>`)}</ol>` : html`<p class="soft">${t("letter.no-exhibits")}</p>`}</div>`}</div>
    <div class="sheet"><p class="soft small">${t("letter.read-it")}</p>
      <${In} name="letter" label=${t("letter.text")} area rows="24" value=${text} onPick=${write} maxlength="8000" />
      <p class="small"><${Mark} icon="info">${t("letter.no-advice")}<//></p>
      <${In} name="sent" label=${t("letter.sent")} hint=${t("letter.sent-hint")} value=${sent} onPick=${send} maxlength="200" />
      <div class="btn-row"><${Do} act=${record} onError=${fail} icon="up" disabled=${!sent.trim() || !picked.length}>${t("letter.record-sent")}<//></div></div></div>
  <//>`;
}
