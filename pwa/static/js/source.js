// Jobs, wherever they are: on the phone first, then fresh from the server. A screen gets what is here at once, and hears
// "journal:<job>" when more has come.
import * as api from "./api.js";
import * as core from "./core.js";
import { db, getMeta, setMeta } from "./db.js";
import { say } from "./events.js";
import { dropErased, dropJob } from "./erased.js";
import { learnWords } from "./words.js";

/** cards lists jobs: {jobs, next, stale}. stale means that the server did not answer and these are the ones on the phone. */
export async function cards(q) {
  try {
    const page = await api.jobs(q);
    await dropErased().catch((e) => { if (e.status !== 0) throw e; });
    return { jobs: await withLocal(page.jobs, q), next: page.next, stale: false };
  } catch (e) {
    if (e.status !== 0) throw e;
    return { jobs: await withLocal([], q), stale: true };
  }
}

// withLocal adds the jobs that only the phone knows (made here, or read before) and keeps the cards of the others.
async function withLocal(fromServer, q) {
  const d = await db(), have = new Map(fromServer.map((c) => [c.job, c]));
  const tx = d.transaction("jobs", "readwrite");
  for (const c of fromServer) {
    const was = (await tx.store.get(c.job)) || { id: c.job, head: 0 };
    await tx.store.put({ ...was, card: c, seen: Date.now() });
  }
  const all = await tx.store.getAll();
  await tx.done;
  if (q.cursor) return fromServer;
  const waitingFor = new Set((await d.getAll("entries")).map((e) => e.job));
  const words = (q.q || "").toLowerCase().split(/\s+/).filter(Boolean);
  const extra = all.filter((j) => j.card && !have.has(j.id) && (fromServer.length === 0 || waitingFor.has(j.id)))
    .map((j) => j.card).filter((c) => fits(c, q) && words.every((w) => cardText(c).includes(w)));
  const list = [...fromServer, ...extra];
  return fromServer.length ? list : list.sort(q.order === "due" ? byDue : (a, b) => String(b.changed || "").localeCompare(String(a.changed || "")));
}
// fits tells whether a card belongs to a list, as the server's index would.
const fits = (c, { key, value }) => (key === "day" ? String(c.appointment || "").startsWith(value) : key === "state" ? c.state !== "settled" : true);
const byDue = (a, b) => String(a.due || "9999").localeCompare(String(b.due || "9999"));
const cardText = (c) => [c.number, c.customer, c.place, c.unitKind, c.maker, c.model, c.serial, c.payer, ...(c.words || [])].join(" ").toLowerCase();

/**
 * readJob gives a job as the phone knows it: {job, report, wanted, problem, checked}. With the core it is folded and checked here from
 * the journal and the outbox together; without, it is the server's last answer. undefined when nothing is known of it.
 */
export async function readJob(id, suspect = "") {
  const d = await db();
  const [stored, journal, outbox] = await Promise.all([d.get("jobs", id), d.getAllFromIndex("journal", "job", id), d.getAllFromIndex("entries", "job", id)]);
  const unsent = new Set(outbox.map((e) => e.id));
  if (core.canCheck() && (journal.length || outbox.length)) {
    const kept = [...journal.map((e) => ({ raw: e.raw, received: e.received, leaf: e.leaf })), ...outbox.map((e) => ({ raw: e.raw }))];
    const fresh = [...outbox, ...journal.filter((e) => !e.received)];
    return same(id + suspect, await core.look(kept, { seen: await seenHere(d, fresh), suspect }), unsent, stored?.card);
  }
  if (!stored?.state) return undefined;
  return { job: stored.state, report: stored.check?.report, wanted: stored.check?.wanted, conflicts: stored.check?.conflicts, views: stored.check?.views, problem: stored.problem, unsent, card: stored.card };
}

const answers = new Map(); // what readJob said last, by job and suspect
// same gives the last answer again while nothing in it has changed, so that no screen is drawn again for it.
function same(key, seen, unsent, card) {
  const was = answers.get(key), rest = JSON.stringify([[...unsent], card]);
  if (was?.seen === seen && was.rest === rest) return was.answer;
  const answer = { ...seen, checked: true, unsent, card };
  if (answers.size > 3) answers.clear();
  answers.set(key, { seen, rest, answer });
  return answer;
}

// seenHere collects this phone's own looks at photos that the server has not looked at yet.
async function seenHere(d, entries) {
  const digests = new Set(entries.map((e) => e.digest ?? (e.raw.includes('"kind":"photo"') ? JSON.parse(e.raw).body.digest : null)).filter(Boolean));
  const { store } = d.transaction("thumbs");
  const found = await Promise.all([...digests].map(async (digest) => [digest, (await store.get(digest))?.facts]));
  return Object.fromEntries(found.filter(([, facts]) => facts));
}

const pulling = new Map(), after = new Map();
/** pull brings a job's journal up to date from the server, and says so when something came. It throws when there is no answer. */
export function pull(id) {
  if (!pulling.has(id)) pulling.set(id, pullNow(id).finally(() => pulling.delete(id)));
  // One that is under way may have read before what is asked for now was there: another follows it.
  else if (!after.has(id)) after.set(id, pulling.get(id).catch(() => {}).then(() => { after.delete(id); return pull(id); }));
  return after.get(id) ?? pulling.get(id);
}

// pullShell keeps what is left of an erased job: that there was one, and who erased it.
async function pullShell(id) {
  const state = await api.job(id), d = await db();
  await d.put("jobs", { id, erased: true, state });
  say(`journal:${id}`);
}

async function pullNow(id) {
  const d = await db(), known = await d.get("jobs", id);
  if (known?.erased) { if (!known.state) await pullShell(id); return; }
  let head = known?.head || 0, more = true, came = 0;
  while (more) {
    const page = await api.entriesOf(id, head);
    if (page.entries.some((e) => e.stub || e.entry.kind === "erase")) {
      await dropJob(id);
      return pullShell(id);
    }
    const tx = d.transaction(["journal", "jobs"], "readwrite");
    for (const e of page.entries) await tx.objectStore("journal").put({ id: e.entry.id, job: id, raw: JSON.stringify(e.entry), received: e.received, leaf: e.leaf });
    head += page.entries.length;
    came += page.entries.length;
    const was = (await tx.objectStore("jobs").get(id)) || { id };
    await tx.objectStore("jobs").put({ ...was, head, seen: Date.now() });
    await tx.done;
    more = page.entries.length > 0 && head < page.head;
  }
  if (!core.canCheck()) {
    const state = await api.job(id);
    let check = null, problem = null;
    try { check = await api.check(id); } catch (e) { if (e.status === 0) throw e; problem = e.message; }
    const was = (await d.get("jobs", id)) || { id, head };
    await d.put("jobs", { ...was, state, check, problem });
    came++;
  }
  if (came) say(`journal:${id}`);
}

/** keepCard notes a job made on this phone so that lists show it before the server knows it. */
export async function keepCard(card) {
  const d = await db();
  const was = (await d.get("jobs", card.job)) || { id: card.job, head: 0 };
  await d.put("jobs", { ...was, card: { ...was.card, ...card }, seen: Date.now() });
  say("jobs");
}

// packOf is a pack as it is kept: its text, which costs the screen nothing to load and hand on, and what picks it for a job.
function packOf(id, digest, text) {
  const { units, coverage, abstract } = JSON.parse(text);
  return { id, digest, head: { id, units, coverage, abstract }, text };
}

/** keptPacks are the rule packs on this phone: [{id, digest, head, text}]. */
export const keptPacks = async () => ((await getMeta("packs")) || []).map((p) => (p.text ? p : packOf(p.id, p.digest, JSON.stringify(p.pack)))); // earlier versions kept them unfolded

/** pullWords brings the vocabulary and the rule packs up to date, and keeps them for when there is no signal. */
export async function pullWords() {
  const kept = await getMeta("vocabulary");
  if (kept) learnWords(kept);
  const old = await keptPacks();
  if (old.length) await core.usePacks(old);
  const words = await api.vocabulary();
  const newer = JSON.stringify(words) !== JSON.stringify(kept);
  if (newer) {
    learnWords(words);
    await setMeta("vocabulary", words);
  }
  const { packs } = await api.packs();
  const known = new Map(old.map((p) => [p.digest, p]));
  const now = [];
  for (const p of packs) now.push(known.get(p.digest) ?? packOf(p.id, p.digest, await api.pack(p.id)));
  if (now.map((p) => p.digest).join() !== old.map((p) => p.digest).join()) {
    await setMeta("packs", now);
    await core.usePacks(now);
  }
  if (newer) say("words");
}
