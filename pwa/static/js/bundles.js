// The claim bundle: build it, see what was built, download it.
import { html, useEffect, useState } from "./view.js";
import { Do, Mark, Notice, tell } from "./parts.js";
import { useLoaded } from "./events.js";
import { Icon } from "./icons.js";
import { Later } from "./later.js";
import * as me from "./me.js";
import * as api from "./api.js";
import { pull } from "./source.js";
import { t, moment, size } from "./words.js";

export function Bundles({ id, data }) {
  const { job, report, unsent } = data, list = [...(job.bundles || [])].reverse();
  const [hold, keepBack] = useState([]), [chosen, choose] = useState(false);
  const { value: choice } = useLoaded(() => api.holdChoice(id), [id, job.entries]);
  useEffect(() => { if (choice && !chosen) keepBack(choice.hold); }, [choice]);
  const [fresh, built] = useState(null);
  const [error, fail] = useState(null);
  const toggle = (what) => () => { choose(true); keepBack(hold.includes(what) ? hold.filter((x) => x !== what) : [...hold, what]); };
  const build = async () => {
    fail(null);
    try {
      built(await api.build(id, hold));
      await pull(id);
      tell(t("bundle.is-built"));
    } catch (e) { fail(e); }
  };
  const waits = [...(unsent || [])].length;
  const shown = fresh && !list.some((b) => b.body.version === fresh.version) ? [{ entry: "fresh", body: fresh, at: new Date().toISOString() }, ...list] : list;
  return html`<section class="sheet" aria-labelledby="h-bundle"><h2 id="h-bundle">${t("bundle.title")}</h2>
    <p class="soft small">${t("bundle.what")}</p>
    ${error && html`<${Notice} kind="wrong"><p>${error.message}</p><//>`}
    ${report && report.counts.open > 0 && html`<p><${Mark} kind="doubt" icon="doubt">${t("bundle.open", { n: report.counts.open })}<//></p>`}
    ${waits > 0 && html`<p><${Mark} kind="info" icon="up">${t("bundle.unsent", { n: waits })}<//></p>`}
    <fieldset><legend class="small">${t("bundle.hold")}</legend>
      ${["customer", "position", "covered"].map((w) => html`<label class="tick" key=${w}><input type="checkbox" checked=${hold.includes(w)} onChange=${toggle(w)} /><span>${t(`bundle.hold-${w}`)}${w !== "customer" && choice ? html` <span class="soft small">${t(`bundle.has-${w}`, { n: w === "covered" ? choice.covered : choice.positions })}</span>` : ""}</span></label>`)}
      ${choice?.remembered && html`<p class="soft small">${t("bundle.remembered", { payer: choice.payer })}</p>`}
    </fieldset>
    <${Do} act=${build} kind="main wide" icon="box" disabled=${waits > 0}>${t(shown.length ? "bundle.build-again" : "bundle.build")}<//>
    ${shown.length > 0 && html`<ul class="rows bundle-list">${shown.map((b) => html`<li key=${b.entry}>
      <p><b>${t("bundle.version", { n: b.body.version })}</b> <${Mark} kind=${b.body.complete ? "met" : "doubt"} icon=${b.body.complete ? "met" : "doubt"}>${t(b.body.complete ? "bundle.complete" : "bundle.incomplete")}<//></p>
      <p class="soft small">${moment(b.at)} · ${size(b.body.bytes)}${b.body.held?.length ? ` · ${t("bundle.held-back", { what: b.body.held.map((h) => t(`bundle.hold-${h}`)).join(", ") })}` : ""}</p>
      <div class="btn-row"><a class="btn" href=${api.bundleAddress(id, b.body.version)} download=${b.body.name}><${Icon} name="down" />${t("bundle.download")}</a></div></li>`)}</ul>`}
    ${me.isOffice() && job.bundles?.length > 0 && html`<${Later} show="Links" quiet id=${id} job=${job} />`}
  </section>`;
}
