// A screen's view of one job: what the phone knows at once, then what the server knows.
import { useEffect, useState, useCallback } from "./view.js";
import { useNews, useLoaded } from "./events.js";
import { readJob, pull } from "./source.js";

/** useJob gives {data, error, stale, retry}: data is readJob's answer, stale says that the server did not answer. */
export function useJob(id, { fetch = true } = {}) {
  const news = useNews(`journal:${id}`, "core");
  const sent = useNews(`sent:${id}`);
  const { value, error } = useLoaded(() => readJob(id), [id, news]);
  const [pulled, set] = useState({ error: null, stale: false });
  const [again, repeat] = useState(0);
  useEffect(() => {
    if (!fetch) return undefined;
    let live = true;
    pull(id).then(
      () => live && set({ error: null, stale: false }),
      (e) => live && set(e.status === 0 ? { error: null, stale: true } : { error: e, stale: false }),
    );
    return () => { live = false; };
  }, [id, again, sent]);
  const retry = useCallback(() => repeat((n) => n + 1), []);
  // A job made on this phone is not on the server yet: that is no error.
  const missing = pulled.error?.status === 404 && value;
  return { data: value, error: error || (missing ? null : pulled.error), stale: pulled.stale, retry };
}
