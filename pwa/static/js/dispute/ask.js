// What the dispute screens ask the server for.
import { call, json, send, query } from "../api.js";

export const disputes = (id) => json(`/jobs/${id}/disputes`);
export const letter = (id, allegations) => json(`/jobs/${id}/disputes/letter?${new URLSearchParams(allegations.map((a) => ["allegation", a]))}`);
export const release = (id, offer) => json(`/jobs/${id}/disputes/release?${query({ offer })}`);
export const file = (id, what) => send("POST", `/jobs/${id}/dispute-files`, what, { limit: 180000 });
export const timeline = async (id) => (await call(`/jobs/${id}/timeline.svg`)).blob();
/** alignment lays a later photo over an earlier one: it says how well, or why it can't be done. */
export const alignment = (id, before, after) => json(`/jobs/${id}/alignments?${query({ before, after })}`, { limit: 60000 });
export const overlay = async (id, before, after) => (await call(`/jobs/${id}/alignments/overlay.jpg?${query({ before, after })}`, { limit: 60000 })).blob();
