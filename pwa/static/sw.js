// The service worker. The server fills in the version and the list of files from their content at start and sends this file
// uncached, so nothing here is ever numbered by hand.
//
// The app's own files come from the cache, always: no signal and a line that hangs look the same to it. The API is never
// touched: what is on the phone is in IndexedDB, not here.
const version = "@version@";
const core = "/c/@/";
const base = "/a/@/";
const files = ["@precache"];
const desk = ["@desk"]; // fetched for those who work at it
const shelf = `kickplate-${version}`;
const coreShelf = "kickplate-core";

// Browsers that can take the app's files from the cache by themselves, and leave the API alone, need not start this worker for each.
const routes = () => [
  { condition: { urlPattern: new URLPattern({ pathname: "/api/*" }) }, source: "network" },
  { condition: { or: files.filter((f) => f.startsWith(base)).map((pathname) => ({ urlPattern: new URLPattern({ pathname }) })) }, source: { cacheName: shelf } },
];

addEventListener("install", (event) => {
  event.addRoutes?.(routes()).catch(() => {}); // what follows below does the same
  event.waitUntil((async () => {
    const cache = await caches.open(shelf);
    await cache.addAll(files.map((f) => new Request(f, { cache: f.startsWith("/a/") ? "default" : "reload" })));
    // Parts that came later than the first load (another language, the desk) are wanted in the new version too.
    for (const name of await caches.keys()) {
      if (!name.startsWith("kickplate-") || name === shelf || name === coreShelf) continue;
      const old = (await (await caches.open(name)).keys()).map((r) => new URL(r.url).pathname).filter((p) => p.startsWith("/a/"));
      await keepParts(old.map((p) => base + p.split("/").slice(3).join("/")));
    }
  })());
});

addEventListener("activate", (event) => {
  event.waitUntil((async () => {
    // The version before this one stays: windows that still show it take their screens from there.
    const older = (await caches.keys()).filter((name) => name.startsWith("kickplate-") && name !== shelf && name !== coreShelf);
    for (const name of older.slice(0, -1)) await caches.delete(name);
    const cache = await caches.open(coreShelf);
    for (const req of await cache.keys()) if (!new URL(req.url).pathname.startsWith(core)) await cache.delete(req);
    await clients.claim();
  })());
});

// The core comes when the page asks for it: it is the one big file, and the app is usable without it.
async function keepCore() {
  const cache = await caches.open(coreShelf);
  for (const f of ["wasm_exec.js", "core.wasm"]) if (!(await cache.match(core + f))) await cache.add(core + f);
}

// keepParts fetches those of this version's parts that are not here yet. One that can't be had comes when it is asked for.
async function keepParts(paths) {
  const cache = await caches.open(shelf);
  for (const p of paths) if (p.startsWith(base) && !(await cache.match(p))) await cache.add(p).catch(() => {});
}

addEventListener("message", (event) => {
  if (event.data === "take over") skipWaiting();
  if (event.data === "keep desk") event.waitUntil(keepParts(desk));
  if (event.data.keep) event.waitUntil(keepParts(event.data.keep));
  if (event.data === "keep core") event.waitUntil(keepCore().catch(() => {}));
});

addEventListener("fetch", (event) => {
  const url = new URL(event.request.url);
  if (event.request.method !== "GET" || url.origin !== location.origin || url.pathname.startsWith("/api/")) return;
  if (url.pathname === "/r" || url.pathname.startsWith("/v/")) return; // a reviewer's page is none of the app's screens
  if (event.request.mode === "navigate") return event.respondWith(fromShelf("/", event.request));
  if (url.pathname.startsWith("/a/") || url.pathname === "/manifest.webmanifest") return event.respondWith(fromShelf(url.pathname, event.request));
  if (url.pathname.startsWith("/c/")) return event.respondWith(fromCore(url.pathname, event.request));
});

async function fromShelf(path, request) {
  const hit = await caches.match(path, { cacheName: path.startsWith("/a/") ? `kickplate-${path.split("/")[2]}` : shelf });
  if (hit) return hit;
  // The desk's part comes when it is first opened, and stays.
  const res = await fetch(request);
  if (res.ok && path.startsWith(base)) await (await caches.open(shelf)).put(path, res.clone());
  return res;
}

async function fromCore(path, request) {
  const cache = await caches.open(coreShelf);
  const hit = await cache.match(path);
  if (hit) return hit;
  const res = await fetch(request);
  if (res.ok) await cache.put(path, res.clone());
  return res;
}
