// Sums of money in several currencies, and what is still to come in on all open jobs.
import { useEffect, useState } from "../view.js";
import { useNews } from "../events.js";
import * as ask from "./ask.js";
import { money } from "../words.js";

/** amounts writes {USD: 1200, EUR: 5} as text; nothing when there is nothing. */
export const amounts = (sums) => Object.entries(sums || {}).filter(([, v]) => v).sort().map(([currency, minor]) => money({ currency, minor })).join(" + ");

/** addTo adds the amounts of more to sums. */
export function addTo(sums, more) {
  for (const [c, v] of Object.entries(more || {})) sums[c] = (sums[c] || 0) + v;
  return sums;
}

/** readMoney adds up the figures of all open jobs, answer by answer, at most so many; told hears what is known so far. */
export async function readMoney(told, live = () => true, most = Infinity) {
  const out = { jobs: { open: 0 }, money: { open: {} }, ages: [], whole: false };
  let cursor;
  do {
    const got = await ask.money(cursor);
    if (!live()) return;
    out.jobs.open += got.jobs;
    for (const s of got.states) {
      out.jobs[s.state] = (out.jobs[s.state] || 0) + s.jobs;
      out.money[s.state] = addTo(out.money[s.state] || {}, s.money);
      addTo(out.money.open, s.money);
    }
    got.ages.forEach((a, i) => {
      const was = (out.ages[i] ||= { from: a.from, to: a.to, jobs: 0, sent: {}, unsent: {} });
      was.jobs += a.jobs;
      addTo(was.sent, a.sent);
      addTo(was.unsent, a.unsent);
    });
    cursor = got.next;
    out.whole = !cursor;
    told({ ...out });
  } while (cursor && --most > 0);
}

/** useMoney gives readMoney's figures once all are in; undefined before, when there is no answer, and with more than 4,000 open jobs. */
export function useMoney() {
  const [value, set] = useState();
  const news = useNews("jobs", "session");
  useEffect(() => {
    let live = true;
    readMoney((v) => v.whole && set(v), () => live, 10).catch(() => {}); // the board is whole without its sums
    return () => { live = false; };
  }, [news]);
  return value;
}
