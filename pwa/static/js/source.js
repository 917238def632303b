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
    await tx.store.put({ ...was, card: c });
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
 * readJob gives a job as the phone knows it: {job, report, wanted, problem, unsent, card}. With the core it is folded and checked here from
 * the journal and the outbox together; until then it is what that gave last, or the server's last answer. undefined when nothing is known of it.
 */
export async function readJob(id, suspect = "") {
  const d = await db();
  const [stored, journal, outbox] = await Promise.all([d.get("jobs", id), d.getAllFromIndex("journal", "job", id), d.getAllFromIndex("entries", "job", id)]);
  const known = { unsent: new Set(outbox.map((e) => e.id)), card: stored?.card };
  if (core.canCheck() && (journal.length || outbox.length)) {
    const kept = [...journal.map((e) => ({ raw: e.raw, received: e.received, leaf: e.leaf })), ...outbox.map((e) => ({ raw: e.raw }))];
    const fresh = [...outbox, ...journal.filter((e) => !e.received)];
    const look = await core.look(kept, { seen: await seenHere(d, fresh), suspect });
    if (!suspect) keepLook(d, id, look, among(journal, outbox)).catch(() => {}); // without room for it the job is shown all the same
    return same(id + suspect, look.result, known);
  }
  const last = await d.get("answers", id);
  if (!last) return undefined;
  if (last.of !== among(journal, outbox)) core.load(); // something came since: what it changes should not be waited for
  if (last.text) return same(id + suspect, core.recall(last.text).result, known);
  const { state, check, problem } = last;
  return { job: state, report: check?.report, wanted: check?.wanted, conflicts: check?.conflicts, views: check?.views, problem, ...known };
}

// among counts the entries of a job, wherever they are. None is ever taken away, so a look at as many is a look at the same.
const among = (journal, outbox) => new Set([...journal, ...outbox].map((e) => e.id)).size;

const looks = new Map(); // the look of each job that is kept
async function keepLook(d, id, look, of) {
  if (looks.get(id) === look) return;
  if (looks.size > 3) looks.clear();
  looks.set(id, look);
  await keepAnswer(d, { id, text: look.text, of });
}

// keepAnswer keeps what a job looks like, unless the phone has dropped the job meanwhile: an erased one, or another person's, leaves nothing.
async function keepAnswer(d, answer) {
  const tx = d.transaction(["jobs", "answers"], "readwrite"), job = await tx.objectStore("jobs").get(answer.id);
  if (job && !job.erased) await tx.objectStore("answers").put(answer);
  await tx.done;
}

const answers = new Map(); // what readJob said last, by job and suspect
// same gives the last answer again while nothing in it has changed, so that no screen is drawn again for it.
function same(key, seen, known) {
  const was = answers.get(key), rest = JSON.stringify([[...known.unsent], known.card]);
  if (was?.seen === seen && was.rest === rest) return was.answer;
  const answer = { ...seen, ...known };
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
  await d.put("jobs", { id, erased: true });
  await d.put("answers", { id, state });
  say(`journal:${id}`);
}

async function pullNow(id) {
  const d = await db(), known = await d.get("jobs", id);
  if (known?.erased) { if (!(await d.getKey("answers", id))) await pullShell(id); return; }
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
    await tx.objectStore("jobs").put({ ...was, head });
    await tx.done;
    more = page.entries.length > 0 && head < page.head;
  }
  if (came) say(`journal:${id}`);
  if (!core.canCheck()) return withoutCore(d, id);
}

// withoutCore sees to it that a job has an answer while the core is not here: the server's at once when there is none, and when the core does
// not come. One that is as old as something that came meanwhile is waited for; one that still holds is not.
async function withoutCore(d, id) {
  const last = await d.get("answers", id);
  if (!last) return askServer(id);
  if (last.of === (await d.countFromIndex("journal", "job", id))) return void setTimeout(() => core.canCheck() || askServer(id).catch(() => {}), 5000);
  await core.whenReady(3000);
  if (!core.canCheck()) return askServer(id);
}

/** askServer keeps the server's state and check of a job: what is shown where the core is not. It throws when there is no answer. */
export async function askServer(id) {
  const state = await api.job(id);
  let check = null, problem = null;
  try { check = await api.check(id); } catch (e) { if (e.status === 0) throw e; problem = e.message; }
  const d = await db();
  await keepAnswer(d, { id, state, check, problem, of: await d.countFromIndex("journal", "job", id) });
  looks.delete(id);
  say(`journal:${id}`);
}

/** keepCard notes a job made on this phone so that lists show it before the server knows it. */
export async function keepCard(card) {
  const d = await db();
  const was = (await d.get("jobs", card.job)) || { id: card.job, head: 0 };
  await d.put("jobs", { ...was, card: { ...was.card, ...card } });
  say("jobs");
}

/** keptPack is the rule pack of that id on this phone, or null. */
export async function keptPack(id) {
  const kept = await (await db()).getFromIndex("packs", "id", id);
  return kept ? JSON.parse(kept.text) : null;
}

/** pullWords brings the vocabulary and the rule packs up to date, and keeps them for when there is no signal. */
export async function pullWords() {
  const kept = await getMeta("vocabulary");
  const words = await api.vocabulary();
  const newer = JSON.stringify(words) !== JSON.stringify(kept);
  if (newer) {
    learnWords(words);
    await setMeta("vocabulary", words);
  }
  await pullPacks();
  if (newer) say("words");
}

async function pullPacks() {
  const { packs } = await api.packs(), d = await db();
  const known = new Set(await d.getAllKeys("packs")), wanted = new Set(packs.map((p) => p.digest));
  const come = new Map(), gone = [...known].filter((digest) => !wanted.has(digest));
  for (const { id, digest } of packs) if (!known.has(digest)) come.set(digest, await api.pack(id));
  if (!come.size && !gone.length) return;
  const tx = d.transaction("packs", "readwrite");
  for (const digest of gone) await tx.store.delete(digest);
  for (const [at, { id, digest }] of packs.entries()) {
    const text = come.get(digest) ?? (await tx.store.get(digest)).text, { units, coverage, abstract } = JSON.parse(text);
    await tx.store.put({ id, digest, at, head: { id, units, coverage, abstract }, text });
  }
  await tx.done;
  await core.usePacks();
}
