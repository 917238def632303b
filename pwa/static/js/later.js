// What is fetched when it is first needed: every screen but the list of jobs, and the desk's parts. Each is a module of its own, so a phone
// reads no more than what it shows. The service worker keeps them all for when there is no line.
import { html, useEffect, useState } from "./view.js";
import { Screen, Wrong } from "./parts.js";
import { t } from "./words.js";

// The desk's parts are not drawn before its texts and its look are here.
const desk = (part) => () => Promise.all([part(), import("./desk/look.js").then((m) => m.ready)]).then(([m]) => m);

const modules = { // by component
  JobPage: () => import("./screens/job.js"), Visit: () => import("./screens/visit.js"), Missing: () => import("./screens/missing.js"), Shoot: () => import("./screens/shoot.js"),
  Read: () => import("./screens/read.js"), DamageForm: () => import("./screens/damage.js"), Sign: () => import("./screens/sign.js"), Around: () => import("./screens/around.js"),
  Leave: () => import("./screens/leave.js"), Write: () => import("./screens/write.js"), Sound: () => import("./screens/sound.js"), MarkPhoto: () => import("./screens/mark.js"),
  CoverPhoto: () => import("./screens/cover.js"), NewJob: () => import("./screens/new-job.js"), Outbox: () => import("./screens/outbox.js"), Phone: () => import("./screens/phone.js"),
  Board: desk(() => import("./desk/board.js")), Figures: desk(() => import("./desk/figures.js")), Keys: desk(() => import("./desk/keys.js")), Setup: desk(() => import("./desk/setup.js")),
  Privacy: desk(() => import("./desk/privacy.js")), ClaimForm: desk(() => import("./desk/claim-form.js")), Compare: desk(() => import("./desk/compare.js")), Dispute: desk(() => import("./dispute/dispute.js")),
  ClaimPart: desk(() => import("./desk/claim-part.js")), Clashes: desk(() => import("./desk/clashes.js")), Timeline: desk(() => import("./desk/timeline.js")), Links: desk(() => import("./desk/links.js")),
  SetupCard: desk(() => import("./desk/setup-state.js")), CalendarAddress: desk(() => import("./desk/calendar.js")), Import: desk(() => import("./desk/import.js")), FromRegister: desk(() => import("./desk/import.js")),
};

const loaded = new Map(), fetching = new Map(); // by component
/** load fetches a component's module, once. */
export function load(name) {
  if (!fetching.has(name)) {
    fetching.set(name, modules[name]().then((m) => { loaded.set(name, m[name]); }));
    fetching.get(name).catch(() => fetching.delete(name));
  }
  return fetching.get(name);
}

/** Later shows a component by its name, as soon as it is here; quiet leaves the place empty until then. */
export function Later({ show, quiet, ...props }) {
  const Here = loaded.get(show);
  const [, drawn] = useState(null), [error, fail] = useState(null);
  useEffect(() => {
    let live = true;
    if (!Here) load(show).then(() => live && drawn(show), () => live && fail(new Error(t("api.no-answer"))));
    return () => { live = false; };
  }, [show]);
  if (Here) return html`<${Here} ...${props} />`;
  if (quiet) return null;
  // A browser may remember that a module could not be had: only a new start asks for it again.
  return html`<${Screen} title="Kickplate" up="/">${error ? html`<${Wrong} error=${error} retry=${() => location.reload()} />` : html`<p class="soft">${t("loading")}</p>`}<//>`;
}
