// The app starts here: remember who is signed in, take a token out of the address, show the screen, and only then do
// everything that needs the network.
import { html, render, useEffect, useState } from "./view.js";
import { here, go } from "./route.js";
import { useRoute } from "./parts.js";
import { useNews, hear } from "./events.js";
import * as me from "./me.js";
import * as outbox from "./outbox.js";
import * as core from "./core.js";
import { pullWords } from "./source.js";
import { getMeta } from "./db.js";
import { learnWords, tongue, t } from "./words.js";
import { watchUpdates, UpdateBar } from "./update.js";
import { Enter } from "./screens/enter.js";
import { painted } from "./turns.js";
import { pick, fetchScreen } from "./screens.js";

function App({ token }) {
  useRoute();
  useNews("session", "words");
  const [pending, set] = useState(token);
  useEffect(() => { document.documentElement.classList.toggle("left-handed", localStorage.getItem("left-handed") === "yes"); }, []);
  if (pending || !me.who() || (me.signedOut() && here().path[0] === "enter")) {
    return html`<${Enter} token=${pending} onDone=${() => { set(null); go("/", { replace: true }); }} />`;
  }
  return html`<${UpdateBar} />${pick(here())}`;
}

/** A token in the fragment never stays in the address: it would be in the history and in every shared link. */
function takeToken() {
  const found = /^#(enter|pair)=(.+)$/.exec(location.hash);
  if (!found) return null;
  history.replaceState(null, "", location.pathname === "/enter" ? "/" : location.pathname);
  return { kind: found[1], token: decodeURIComponent(found[2]) };
}

async function start() {
  const kept = Boolean(navigator.serviceWorker?.controller); // then what this page fetches is kept on its way
  document.documentElement.lang = tongue;
  const token = takeToken();
  fetchScreen(here()); // on its way while the phone remembers
  await me.recall();
  learnWords(await getMeta("vocabulary"));
  const root = document.getElementById("app");
  clearTimeout(late);
  root.replaceChildren();
  render(html`<${App} token=${token} />`, root);
  performance.mark("usable");
  await painted();
  watchUpdates();
  if (me.who() && !token) me.refresh().catch(() => {});
  const measure = () => { if (me.who()) me.measureClock().catch(() => {}); };
  hear("session", measure);
  outbox.start();
  await idle();
  measure();
  await calm(); // starting the core keeps a whole processor busy, and until then the screen shows what it showed last
  await core.load();
  const words = () => { if (me.who() && !me.signedOut()) pullWords().catch(() => {}); };
  hear("session", words);
  words();
  const worker = (await navigator.serviceWorker?.ready)?.active;
  worker?.postMessage("keep core");
  if (!kept) worker?.postMessage({ keep: performance.getEntriesByType("resource").map((e) => new URL(e.name).pathname) });
  const desk = () => { if (me.isOffice()) worker?.postMessage("keep desk"); }; // so that it is there when the line is not
  hear("session", desk);
  desk();
}
const calm = () => new Promise((done) => setTimeout(done, 600));
const idle = () => new Promise((done) => (window.requestIdleCallback ? requestIdleCallback(done, { timeout: 1500 }) : setTimeout(done, 300)));

addEventListener("hashchange", () => { if (/^#(enter|pair)=/.test(location.hash)) location.reload(); });
// instead writes a text where the screen would be, with a button: an installed app has no other way to load it again.
function instead(text) {
  const put = (name, what) => Object.assign(document.createElement(name), what);
  const box = put("main", { className: "starting" });
  box.append(put("h1", { textContent: "Kickplate" }), put("p", { textContent: text, role: "alert" }),
    put("button", { type: "button", className: "btn main", textContent: t("start.again"), onclick: () => location.reload() }));
  document.getElementById("app").replaceChildren(box);
}
// A window that does not answer may hold the phone's storage; the app goes on waiting for it.
const late = setTimeout(() => instead(t("start.late")), 8000);
start().catch((e) => {
  clearTimeout(late);
  instead(t("start.failed", { why: e.message }));
});
