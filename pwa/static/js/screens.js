// Which screen an address opens. The list of jobs comes with the app's start; every other screen is a module that is fetched when it is
// first opened, or soon after the start, so that a phone has little to read before it is of use. The service worker has them all.
import { html, useEffect, useState } from "./view.js";
import { Screen, Wrong } from "./parts.js";
import { Jobs } from "./screens/jobs.js";
import { Desk, loadDesk } from "./later.js";
import { t } from "./words.js";

// The part of a job's address, the component, the module.
const ofJob = {
  "": ["JobPage", () => import("./screens/job.js")], visit: ["Visit", () => import("./screens/visit.js")], missing: ["Missing", () => import("./screens/missing.js")],
  shoot: ["Shoot", () => import("./screens/shoot.js")], read: ["Read", () => import("./screens/read.js")], damage: ["DamageForm", () => import("./screens/damage.js")],
  sign: ["Sign", () => import("./screens/sign.js")], around: ["Around", () => import("./screens/around.js")], leave: ["Leave", () => import("./screens/leave.js")],
  write: ["Write", () => import("./screens/write.js")], sound: ["Sound", () => import("./screens/sound.js")], mark: ["MarkPhoto", () => import("./screens/mark.js")],
  cover: ["CoverPhoto", () => import("./screens/cover.js")],
};
const others = { new: ["NewJob", () => import("./screens/new-job.js")], outbox: ["Outbox", () => import("./screens/outbox.js")], phone: ["Phone", () => import("./screens/phone.js")] };
const ofDesk = { board: "Board", figures: "Figures", keys: "Keys", setup: "Setup", privacy: "Privacy" };
const ofClaim = { claim: "ClaimForm", compare: "Compare", dispute: "Dispute" };

const loaded = new Map(), fetching = new Map(); // by component
function load([name, fetch]) {
  if (!fetching.has(name)) {
    fetching.set(name, fetch().then((m) => loaded.set(name, m[name])));
    fetching.get(name).catch(() => fetching.delete(name));
  }
  return fetching.get(name);
}

// find tells what an address opens: {screen, id} or {desk, id}; neither is the list of jobs.
function find([first, id, part]) {
  if (first === "job" && id) return Object.hasOwn(ofClaim, part ?? "") ? { desk: ofClaim[part], id } : { screen: Object.hasOwn(ofJob, part ?? "") ? ofJob[part ?? ""] : ofJob[""], id };
  return { desk: Object.hasOwn(ofDesk, first ?? "") ? ofDesk[first] : undefined, screen: Object.hasOwn(others, first ?? "") ? others[first] : undefined };
}

/** pick draws the screen of an address. */
export function pick({ path, query }) {
  const { screen, desk, id } = find(path), key = id && location.href;
  if (desk) return html`<${Desk} show=${desk} key=${key} id=${id} query=${query} />`;
  if (screen) return html`<${Fetched} screen=${screen} key=${key || screen[0]} id=${id} query=${query} />`;
  return html`<${Jobs} />`;
}

/** fetchScreen begins to fetch the screen of an address. */
export function fetchScreen({ path }) {
  const { screen, desk } = find(path);
  (screen ? load(screen) : desk ? loadDesk() : Promise.resolve()).catch(() => {}); // the screen itself says so
}

/** fetchScreens fetches all, one after the other: then they are there in a cellar, and after another window has taken a new version. */
export async function fetchScreens() {
  for (const s of [...Object.values(ofJob), ...Object.values(others)]) await load(s).catch(() => {});
}

function Fetched({ screen, ...props }) {
  const Here = loaded.get(screen[0]);
  const [, drawn] = useState(null), [error, fail] = useState(null);
  useEffect(() => {
    let live = true;
    if (!Here) load(screen).then(() => live && drawn(screen), () => live && fail(new Error(t("api.no-answer"))));
    return () => { live = false; };
  }, [screen]);
  if (Here) return html`<${Here} ...${props} />`;
  // A browser may remember that a module could not be had: only a new start asks for it again.
  return html`<${Screen} title="Kickplate" up="/">${error ? html`<${Wrong} error=${error} retry=${() => location.reload()} />` : html`<p class="soft">${t("loading")}</p>`}<//>`;
}
