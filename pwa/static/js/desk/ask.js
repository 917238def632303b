// What the desk asks the server for.
import { call, json, send, query } from "../api.js";

const job = (id, what) => json(`/jobs/${id}/${what}`);
export const money = (cursor) => json(`/figures/money?${query({ cursor })}`);
export const found = (since, cursor) => json(`/figures/found?${query({ since, cursor })}`);
export const clashes = (id) => job(id, "clashes");
export const account = (id) => job(id, "account");
export const draft = (id) => job(id, "draft");
export const refusal = (id, reason) => json(`/jobs/${id}/refusal?${query({ reason })}`);
export const reply = (id, what) => send("POST", `/jobs/${id}/replies`, what, { limit: 180000 });
/** check says whether an entry with this body would be taken; it throws the refusal, whose where names the field. */
export const check = (kind, body) => send("POST", "/entries/check", { kind, body });
export const rates = () => json("/rates");
export const setRates = (r) => send("PUT", "/rates", r);
export const shop = () => json("/shop");
export const setShop = (s) => send("PUT", "/shop", s);
export const checkJob = (id) => job(id, "check");
export const customer = (id) => json(`/privacy/customer?${query({ job: id })}`);
export const exportData = async (what) => (await call("/privacy/exports", { method: "POST", body: JSON.stringify(what), headers: { "Content-Type": "application/json" }, limit: 180000 })).blob();
export const eraseWould = (jobs) => send("POST", "/privacy/erasures/preview", { jobs });
export const erase = (order) => send("POST", "/privacy/erasures", order, { limit: 180000 });
export const retention = () => json("/privacy/retention");
export const setRetention = (rules) => send("PUT", "/privacy/retention", rules);
export const proposeRetention = () => json("/privacy/retention/proposals", { method: "POST", limit: 180000 });
export const carryRetention = (jobs) => send("POST", "/privacy/retention/runs", { jobs }, { limit: 180000 });
