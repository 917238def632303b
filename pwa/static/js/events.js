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

/**
 * useLoaded runs load (async) again whenever one of deps changes or one of the topics is said; it keeps the last value meanwhile. The
 * screen is drawn again only when another value has come: news that changes nothing costs it nothing.
 */
export function useLoaded(load, deps, ...topics) {
  const [state, set] = useState({ value: undefined, error: null });
  useEffect(() => {
    let turn = 0, asked = false;
    const run = () => {
      asked = false;
      const mine = ++turn;
      const come = (value, error) => mine === turn && set((s) => (s.value === value && s.error === error ? s : { value, error }));
      load().then((value) => come(value, null), (error) => mine === turn && set((s) => ({ ...s, error })));
    };
    // Several at once are one.
    const stops = topics.map((t) => hear(t, () => { if (!asked) { asked = true; queueMicrotask(() => asked && run()); } }));
    run();
    return () => { turn = -1; asked = false; stops.forEach((stop) => stop()); };
  }, [...deps, ...topics]);
  return state;
}
