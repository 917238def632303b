// Who is signed in on this phone, and the phone's idea of the server's clock.
import * as api from "./api.js";
import { getMeta, setMeta, forget } from "./db.js";
import { say } from "./events.js";

let me = null;
let clock = null;
let refused = false;
/** boot names this start of the app: monotonic times of one boot can be compared. */
export const boot = (() => [...crypto.getRandomValues(new Uint8Array(8))].map((b) => b.toString(16).padStart(2, "0")).join(""))();

/** who is the person on this phone: {actor, shop, person, secure, token?, deviceName?}, or null. */
export const who = () => me;
/** signedOut is true when the server has said that nobody is signed in, though the phone remembers somebody. */
export const signedOut = () => refused;
/** clockNow is what is known of this phone's clock: {offsetMs, uncertaintyMs}, or null when it was never compared. */
export const clockNow = () => clock;
export const isOffice = () => me?.actor.role === "office" || me?.actor.role === "owner";
export const isOwner = () => me?.actor.role === "owner";

/** recall loads what the phone remembers, before any request. */
export async function recall() {
  [me, clock] = await Promise.all([getMeta("me"), getMeta("clock")]);
  me ??= null;
  clock ??= null;
  api.useToken(me?.token);
}

async function become(value) {
  if (me && (me.actor.shop !== value.actor.shop || me.actor.person !== value.actor.person)) await forget();
  const news = refused || JSON.stringify(me) !== JSON.stringify(value);
  me = value;
  refused = false;
  api.useToken(me.token);
  if (!news) return;
  await setMeta("me", me);
  say("session");
}

/** refresh asks the server who is signed in. No answer changes nothing. */
export async function refresh() {
  try {
    // A paired phone's token stands here; its cookie, which downloads go by, may be gone (a phone that died may lose it).
    const s = me?.token ? await api.signIn({ token: me.token }) : await api.session();
    await become({ ...s, token: me?.token, deviceName: me?.deviceName });
  } catch (e) {
    if (e.status === 401) lostSession();
    else if (e.status !== 0 && e.status !== 429) throw e;
  }
}

/** lostSession notes that the server no longer knows this phone; what is in the outbox stays. */
export function lostSession() {
  if (refused) return;
  refused = true;
  say("session");
}

export async function enter(what) {
  api.useToken(null);
  await become({ ...(await api.signIn(what)), token: undefined });
}

export async function pair(token, deviceName) {
  api.useToken(null);
  const got = await api.enterPairing({ token, deviceName });
  await become({ actor: got.actor, shop: got.shop, token: got.token, deviceName, secure: isSecureContext });
}

export async function leave() {
  try { await api.signOut(); } catch (e) { if (e.status === 0) throw e; }
  await forget();
  me = null;
  refused = false;
  api.useToken(null);
  await setMeta("me", null);
  say("session");
}

/** measureClock compares this phone's clock with the server's; half the round trip is the uncertainty. The best of three counts. */
export async function measureClock() {
  let best = null;
  for (let i = 0; i < 3; i++) {
    const start = Date.now(), from = performance.now();
    const { now } = await api.clock();
    const round = performance.now() - from;
    const found = { offsetMs: Math.round(start + round / 2 - Date.parse(now)), uncertaintyMs: Math.ceil(round / 2) };
    if (!best || found.uncertaintyMs < best.uncertaintyMs) best = found;
  }
  clock = best;
  await setMeta("clock", clock);
}
