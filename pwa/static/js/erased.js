// Jobs that the shop erased. A phone that still holds one drops all of it: what came from the server, and what was never sent.
import * as api from "./api.js";
import { db, strictly, getMeta, setMeta } from "./db.js";
import { say } from "./events.js";
import { noteVisit } from "./visit-on.js";

/** dropJob takes everything of a job off this phone. What stays is that there was one. */
export async function dropJob(id) {
  const stores = ["entries", "files", "journal", "jobs", "answers", "thumbs"];
  await strictly(stores, async (tx) => {
    const [entries, files, journal, jobs, answers, thumbs] = stores.map((s) => tx.objectStore(s));
    const named = new Set();
    for (const store of [entries, journal]) {
      for (const e of await store.index("job").getAll(id)) {
        for (const d of e.raw.match(/\b[0-9a-f]{64}\b/g) || []) named.add(d);
        await store.delete(e.id);
      }
    }
    const others = new Set((await entries.getAll()).map((e) => e.digest).filter(Boolean));
    for (const d of named) if (!others.has(d)) { await files.delete(d); await thumbs.delete(d); }
    for (const p of await thumbs.getAll()) if (p.job === id) await thumbs.delete(p.digest);
    await answers.delete(id);
    await jobs.put({ id, erased: true });
  });
  noteVisit(id, "leave");
  for (const news of ["jobs", "outbox", `journal:${id}`]) say(news);
}

const EVERY = 60000;
let asked = 0;
/** dropErased asks the server which jobs were erased lately, and drops those that are still here. It throws when there is no answer. */
export async function dropErased() {
  if (Date.now() - asked < EVERY) return;
  const d = await db();
  const here = new Set([...(await d.getAll("jobs")).filter((j) => !j.erased).map((j) => j.id), ...(await d.getAll("entries")).map((e) => e.job)]);
  if (!here.size) return;
  const upto = (await getMeta("erased")) || "";
  let cursor = "", newest = upto, more = true;
  while (more) {
    const page = await api.jobs({ key: "stage", value: "erased", order: "changed", limit: 200, cursor });
    for (const c of page.jobs) {
      if (c.changed > newest) newest = c.changed;
      if (here.has(c.job)) await dropJob(c.job);
    }
    cursor = page.next;
    more = Boolean(cursor) && page.jobs.at(-1).changed >= upto;
  }
  await setMeta("erased", newest);
  asked = Date.now();
}
