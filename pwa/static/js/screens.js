// Which screen an address opens. The list of jobs comes with the app's start, every other one when it is first opened.
import { html } from "./view.js";
import { Jobs } from "./screens/jobs.js";
import { Later, load } from "./later.js";

const ofJob = { // by the part of a job's address
  visit: "Visit", missing: "Missing", shoot: "Shoot", read: "Read", damage: "DamageForm", sign: "Sign", around: "Around", leave: "Leave", write: "Write", sound: "Sound", mark: "MarkPhoto", cover: "CoverPhoto",
  claim: "ClaimForm", compare: "Compare", dispute: "Dispute",
};
const others = { new: "NewJob", outbox: "Outbox", phone: "Phone", board: "Board", figures: "Figures", keys: "Keys", setup: "Setup", privacy: "Privacy" };

// find tells what an address opens: {name, id}; without a name it is the list of jobs.
function find([first, id, part]) {
  if (first === "job" && id) return { name: Object.hasOwn(ofJob, part ?? "") ? ofJob[part] : "JobPage", id };
  return { name: Object.hasOwn(others, first ?? "") ? others[first] : undefined };
}

/** pick draws the screen of an address. */
export function pick({ path, query }) {
  const { name, id } = find(path);
  return name ? html`<${Later} show=${name} key=${id ? location.href : name} id=${id} query=${query} />` : html`<${Jobs} />`;
}

/** fetchScreen begins to fetch the screen of an address. */
export function fetchScreen({ path }) {
  const { name } = find(path);
  if (name) load(name).catch(() => {}); // the screen itself says so
}
