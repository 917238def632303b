// News inside the app and between its tabs: who changes something says so here, screens listen.
import { useState, useEffect } from "./view.js";

const bus = new EventTarget();
const wire = typeof BroadcastChannel === "function" ? new BroadcastChannel("kickplate") : null;
if (wire) wire.onmessage = (m) => bus.dispatchEvent(new Event(m.data));

/** say tells this tab and the others that something changed: "outbox", "journal:<job>", "session", "jobs", "core", "update". */
export function say(topic) {
  bus.dispatchEvent(new Event(topic));
  if (wire) wire.postMessage(topic);
}

/** hear calls f when topic is said; it returns what stops that. */
export function hear(topic, f) {
  bus.addEventListener(topic, f);
  return () => bus.removeEventListener(topic, f);
}

/** useNews gives a number that grows whenever one of the topics is said. */
export function useNews(...topics) {
  const [n, set] = useState(0);
  useEffect(() => {
    const stops = topics.map((t) => hear(t, () => set((x) => x + 1)));
    return () => stops.forEach((stop) => stop());
  }, [topics.join(" ")]);
  return n;
}

/** useLoaded runs load (async) again whenever one of deps changes; it keeps the last value meanwhile. */
export function useLoaded(load, deps) {
  const [state, set] = useState({ value: undefined, error: null, busy: true });
  useEffect(() => {
    let live = true;
    set((s) => ({ ...s, busy: true }));
    load().then(
      (value) => live && set({ value, error: null, busy: false }),
      (error) => live && set((s) => ({ ...s, error, busy: false })),
    );
    return () => { live = false; };
  }, deps);
  return state;
}
