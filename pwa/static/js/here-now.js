// The visit that goes on, at the top of the list: from an unlocked phone to a kept photo it is one tap here and one on the camera.
import { html } from "./view.js";
import { Go } from "./parts.js";
import { ShotButton } from "./shot-button.js";
import { useJob } from "./use-job.js";
import { go } from "./route.js";
import { visitOn } from "./visit-on.js";
import { openVisit, openFindings, wantOf } from "./steps.js";
import { t, term } from "./words.js";

/** HereNow shows the visit that goes on, with the camera ready for the next picture that the checklist asks for. */
export function HereNow() {
  const id = visitOn();
  return id && html`<${Here} id=${id} />`;
}

function Here({ id }) {
  const { data } = useJob(id, { fetch: false });
  if (!data || !openVisit(data.job)) return null;
  const want = openFindings(data.report).map((f) => wantOf(data, f)).find((w) => w?.kind === "photo" && !w.damage && !w.tooLate && !w.notYet);
  const subject = want?.subject || "other", component = want?.component || "";
  return html`<section class="sheet stack" aria-labelledby="h-here-now"><h2 id="h-here-now">${t("here.title", { who: data.job.customer.name || data.job.open.number })}</h2>
    <div class="btn-row"><${ShotButton} job=${id} body=${{ subject, component }} kind="main big wide" onKept=${(e) => go(`/job/${id}/shoot?${new URLSearchParams({ subject, ...(component && { component }), entry: e.id })}`)}>${t("step.shoot", { what: [term("subjects", subject), component && term("components", component)].filter(Boolean).join(", ") })}<//>
      <${Go} to=${`/job/${id}/visit`} kind="wide" icon="door">${t("job.visit-on")}<//></div></section>`;
}
