// Talking to the server. Never trusts navigator.onLine: in a basement with one bar it says "online" and requests hang, so
// every request has a time limit, and only an answer is an answer.
import { t } from "./words.js";

const base = "/api/v1";
let token = null;
/** useToken sets the device token that a paired phone signs its requests with. */
export const useToken = (value) => { token = value || null; };

/** ApiError is a refusal by the server (status, code, where, and a sentence for people) or the lack of an answer (status 0). */
export class ApiError extends Error {
  constructor({ status = 0, code = "no-answer", detail, where = "", retryAfter = 0, offset = null }) {
    super(detail);
    Object.assign(this, { status, code, where, retryAfter, offset });
  }
  /** again: sending the same later may work. */
  get again() { return this.status === 0 || this.status === 429 || this.status >= 500 || this.status === 408; }
}

async function problemOf(res) {
  let p = {};
  if ((res.headers.get("Content-Type") || "").includes("json")) p = await res.json().catch(() => ({}));
  const offset = res.headers.get("Upload-Offset");
  return new ApiError({
    status: res.status, code: p.code || "fault", where: p.where, detail: p.detail || t("api.fault", { status: String(res.status) }),
    retryAfter: Number(res.headers.get("Retry-After")) || 0, offset: offset === null ? null : Number(offset),
  });
}

/** call sends one request and returns the Response when it is a success; else it throws an ApiError. */
export async function call(path, { method = "GET", body, headers = {}, limit = 20000, signal } = {}) {
  const stop = new AbortController();
  const timer = setTimeout(() => stop.abort(), limit);
  const abort = () => stop.abort();
  if (signal) signal.addEventListener("abort", abort);
  if (token) headers.Authorization = `Bearer ${token}`;
  try {
    const res = await fetch(base + path, { method, body, headers, signal: stop.signal, cache: "no-store", credentials: "same-origin" });
    if (!res.ok) throw await problemOf(res);
    return res;
  } catch (e) {
    if (e instanceof ApiError) throw e;
    throw new ApiError({ detail: t("api.no-answer") });
  } finally {
    clearTimeout(timer);
    if (signal) signal.removeEventListener("abort", abort);
  }
}

/** json sends a request and reads the answer's JSON; null when there is none. */
export async function json(path, options) {
  const res = await call(path, options);
  if (res.status === 204) return null;
  try {
    return await res.json();
  } catch {
    throw new ApiError({ detail: t("api.no-answer") });
  }
}
/** send sends a JSON body. */
export const send = (method, path, value, more) => json(path, { method, body: JSON.stringify(value), headers: { "Content-Type": "application/json" }, ...more });
/** query writes the parameters that say something. */
export const query = (o) => new URLSearchParams(Object.entries(o).filter(([, v]) => v)).toString();

export const clock = () => json("/clock", { limit: 8000 });
export const session = () => json("/session");
export const signIn = (what) => send("POST", "/session", what);
export const signOut = () => json("/session", { method: "DELETE" });
export const setPassword = (password, present) => send("PUT", "/session/password", present ? { password, present } : { password });
export const jobs = (q) => json(`/jobs?${query(q)}`);
export const job = (id) => json(`/jobs/${id}`);
export const entriesOf = (id, from, limit = 1000) => json(`/jobs/${id}/entries?${query({ from, limit })}`, { limit: 45000 });
export const check = (id) => json(`/jobs/${id}/check`);
export const receipt = (id) => json(`/jobs/${id}/receipt`);
export const chains = (id) => json(`/jobs/${id}/chains`);
export const coverage = (id) => json(`/jobs/${id}/coverage`);
export const bill = (id) => json(`/jobs/${id}/bill`);
export const holdChoice = (id) => json(`/jobs/${id}/hold`);
export const build = (id, hold) => send("POST", `/jobs/${id}/bundles`, { hold }, { limit: 180000 });
export const bundleAddress = (id, version) => `${base}/jobs/${id}/bundles/${version}`;
export const links = (id) => json(`/jobs/${id}/links`);
export const makeLink = (id, what) => send("POST", `/jobs/${id}/links`, what);
export const endLink = (id, link) => json(`/jobs/${id}/links/${link}`, { method: "DELETE" });
export const calendarAddress = () => json("/calendar/address");
export const makeCalendarAddress = (full) => send("POST", "/calendar/address", { full });
export const dropCalendarAddress = () => json("/calendar/address", { method: "DELETE" });
export const mail = () => json("/mail");
export const sendMail = (id, what) => send("POST", `/jobs/${id}/mails`, what, { limit: 120000 });
const csv = (method, path, file) => json(path, { method, body: file, headers: { "Content-Type": "text/csv" }, limit: 60000 });
export const register = (q) => json(`/register?${query({ q })}`);
export const previewImport = (file) => csv("POST", "/register/preview", file);
export const keepImport = (file, digest, skip) => csv("POST", `/register?${query({ file: digest, skip: skip ? "true" : "" })}`, file);
export const packs = () => json("/packs");
/** pack is a rule pack's own JSON, as text: it is kept and handed on as it came, and read where it is used. */
export const pack = async (id) => (await call(`/packs/${encodeURIComponent(id)}`)).text();
export const vocabulary = () => json("/vocabulary");
export const append = (rawEntries) => json("/entries", { method: "POST", body: `{"entries":[${rawEntries.join(",")}]}`, headers: { "Content-Type": "application/json" }, limit: 60000 });
export const pairing = (person) => send("POST", "/pairings", person ? { person } : {});
export const enterPairing = (what) => send("POST", "/pairings/enter", what);
export const devices = () => json("/devices");
export const removeDevice = (id) => json(`/devices/${id}`, { method: "DELETE" });
export const people = () => json("/people");
export const addPerson = (what) => send("POST", "/people", what);
export const entryLink = (id) => send("POST", `/people/${id}/links`, {});
/** picture fetches a derived picture ("thumb", "view") as a Blob. */
export const picture = async (digest, which) => (await call(`/originals/${digest}/${which}`, { limit: 30000 })).blob();
export const originalAddress = (digest) => `${base}/originals/${digest}`;
