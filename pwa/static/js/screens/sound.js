// A sound alone: recorded here, listened to, and only then kept; the way of a photo from there on.
import { html, useState } from "../view.js";
import { Screen, Notice, Pick, Field, Do, tell } from "../parts.js";
import { Icon } from "../icons.js";
import { ShotButton } from "../shot-button.js";
import { LONGEST } from "../clip.js";
import { useRecorder, canRecord } from "../recorder.js";
import { keepPhoto } from "../intake.js";
import { nameOf } from "../photos.js";
import { findPlace } from "../place.js";
import { back } from "../route.js";
import { t, termsOf } from "../words.js";

export function Sound({ id, query }) {
  const [what, choose] = useState({ subject: query.get("subject") || "symptom", component: query.get("component") || "", caption: "" });
  const sound = useRecorder(), { step } = sound;
  const start = () => { findPlace(); return sound.start(); };
  const keep = async () => {
    await keepPhoto(id, sound.file, what, true);
    tell(t("sound.kept", { n: 1 }));
    back(`/job/${id}/visit`);
  };
  const drop = () => { sound.drop(); tell(t("sound.discarded")); };
  // The buttons keep their places: a screen reader's or a keyboard's focus stays with what comes next.
  const foot = !canRecord() ? null : step === "done" ? html`<${Do} key="do" act=${keep} kind="main big" icon="met">${t("sound.keep")}<//><${Do} key="again" act=${start} kind="big" icon="again">${t("sound.again")}<//>`
    : step === "on" ? html`<button key="do" type="button" class="btn main big" onClick=${sound.stop}><${Icon} name="stop" />${t("sound.stop")}</button>`
      : html`<${Do} key="do" act=${start} kind="main big" icon="mic">${t("sound.start")}<//>`;
  return html`<${Screen} title=${t("sound.title")} up=${`/job/${id}/visit`} foot=${foot}>
    <section class="sheet stack" aria-labelledby="h-sound"><h2 id="h-sound">${nameOf(what)}</h2>
      ${step === "idle" && !sound.problem && html`<p>${t("sound.what", { n: LONGEST })}</p>`}
      ${step === "on" && html`<p class="pad-screen"><output role="timer" aria-live="off" class="num">${t("sound.left", { n: sound.left })}</output></p><progress class="whole" max=${LONGEST} value=${LONGEST - sound.left} aria-label=${t("sound.progress")}></progress>`}
      <div role="status"><p>${sound.says}</p></div>
      ${sound.problem && html`<${Notice} kind="care"><p>${sound.problem}</p><//>`}
      ${step === "done" && html`<audio class="clip" controls preload="metadata" src=${sound.url} aria-label=${t("sound.listen")}></audio>
        <div class="btn-row"><button type="button" class="btn quiet" onClick=${drop}><${Icon} name="close" />${t("sound.discard")}</button></div>`}
    </section>
    <details class="sheet"><summary>${t("sound.about")}</summary>
      <${Pick} label=${t("shoot.subject")} options=${termsOf("subjects")} value=${what.subject} onPick=${(v) => choose({ ...what, subject: v })} />
      <${Pick} label=${t("shoot.component")} none=${t("shoot.no-component")} options=${termsOf("components")} value=${what.component} onPick=${(v) => choose({ ...what, component: v })} />
      <${Field} label=${t("shoot.caption")} value=${what.caption} onInput=${(e) => choose({ ...what, caption: e.target.value })} maxlength="500" />
    </details>
    ${step !== "on" && html`<${ShotButton} job=${id} body=${what} onKept=${() => back(`/job/${id}/visit`)} kind="quiet wide" gallery="sound" icon="document">${t("sound.choose")}<//>`}
  <//>`;
}
