// The rules, the fold, the meter verdicts and the photo measures, as the server has them: Go, compiled to WebAssembly, in a
// Worker. It loads after the screen is usable, at once where somebody waits for it; until then a job looks as the core saw it last, and
// where it can't load, as the server sees it.
import { say } from "./events.js";

let worker = null, isReady = false, serial = 0, packs = 0;
const calls = new Map();

/** ready is true once the core answers. */
export const ready = () => isReady;

let settle;
const settled = new Promise((done) => { settle = done; });
/** whenReady starts the core if need be and waits until it answers, or has failed, or ms have passed; true when it answers. */
export const whenReady = (ms) => (load(), Promise.race([settled, new Promise((done) => setTimeout(() => done(isReady), ms))]));

/** canCheck is true once the core has the rule packs too. */
export const canCheck = () => isReady && packs > 0;

let loading = null;
/** load starts the core, once. It never throws: without it the app goes on. */
export const load = () => (loading ??= start());

async function start() {
  const at = document.querySelector('meta[name="kickplate-core"]')?.content;
  if (!at) return settle(false);
  const from = performance.now();
  worker = new Worker(new URL("./core-worker.js", import.meta.url), { type: "module" });
  worker.onmessage = ({ data }) => {
    const c = calls.get(data.id);
    calls.delete(data.id);
    if (!c) return;
    if (data.error) c.fail(new Error(data.error));
    else c.done(data.text ?? data.result);
  };
  worker.onerror = () => {
    for (const c of calls.values()) c.fail(new Error("the core stopped"));
    calls.clear();
    isReady = false;
  };
  try {
    await ask("start", { at });
    packs = await ask("packs");
    isReady = true;
    settle(true);
    performance.measure("core-ready", { start: from, end: performance.now() });
    say("core");
  } catch {
    isReady = false;
    settle(false);
  }
}

function ask(what, value, pixels) {
  return new Promise((done, fail) => {
    const id = ++serial;
    calls.set(id, { done, fail });
    worker.postMessage({ id, what, value, pixels: pixels && new Uint8Array(pixels.buffer) }, pixels ? [pixels.buffer] : []);
  });
}

// read takes the core's answer out of its text: {"result": …} or {"error": "…"}.
function read(text) {
  const { result, error } = JSON.parse(text);
  if (error) throw new Error(error);
  return result;
}

// answer asks the core itself.
const answer = async (what, value, pixels) => read(await ask(what, value, pixels));

/** usePacks lets the core take the rule packs that are on the phone now; it takes those that are there when it starts. */
export async function usePacks() {
  if (!(await settled)) return;
  packs = await ask("packs");
  say("core");
}

let before = []; // the last looks: screens ask again whenever something may have changed, and mostly nothing has
/** recall gives the look that this text was: {text, result}. The same text as one of the last is the same look again. */
export function recall(text) {
  const mine = before.find((b) => b.text === text) ?? { text, result: read(text) };
  before = [mine, ...before.filter((b) => b !== mine)].slice(0, 3);
  return mine;
}
/**
 * look folds and checks a job from its entries. Its result is {job, report, wanted, more, cautions, views, verdicts, problem}; its text can be
 * kept, and recalled before the core is here.
 */
export const look = async (entries, more) => recall(await ask("look", { entries, now: new Date().toISOString(), ...more }));
/** judge reads what was typed and holds it against a profile: {value, shown, verdict, plot, problem}. */
export const judge = (typed) => answer("judge", typed);
let known = null; // the catalogue never changes while the app runs
/** catalogue lists the quantities with their units and states, and the component models with what they need. */
export const catalogue = () => (known ??= answer("catalogue", {}));
/** measure says how sharp and how well lit a picture is, and which of the others it repeats. pixels is RGBA. */
export const measure = (pixels, width, height, others) => answer("measure", { width, height, others }, pixels);
