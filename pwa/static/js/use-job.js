// A screen's view of one job: what the phone knows at once, then what the server knows.
import { useEffect, useState, useCallback } from "./view.js";
import { hear, useLoaded } from "./events.js";
import { readJob, pull } from "./source.js";

/** useJob gives {data, error, stale, retry}: data is readJob's answer, stale says that the server did not answer. */
export function useJob(id, { fetch = true } = {}) {
  const { value, error } = useLoaded(() => readJob(id), [id], `journal:${id}`, "core");
  const [pulled, set] = useState({ error: null, stale: false });
  const [again, repeat] = useState(0);
  useEffect(() => {
    if (!fetch) return undefined;
    let live = true;
    const said = (error, stale) => live && set((p) => (p.error === error && p.stale === stale ? p : { error, stale }));
    const ask = () => pull(id).then(() => said(null, false), (e) => (e.status === 0 ? said(null, true) : said(e, false)));
    ask();
    const stop = hear(`sent:${id}`, ask);
    return () => { live = false; stop(); };
  }, [id, again]);
  const retry = useCallback(() => repeat((n) => n + 1), []);
  // A job made on this phone is not on the server yet: that is no error.
  const missing = pulled.error?.status === 404 && value;
  return { data: value, error: error || (missing ? null : pulled.error), stale: pulled.stale, retry };
}
