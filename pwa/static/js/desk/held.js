// Old parts: where they are.

/** heldNow is where an old part is by its own entry or the last report on it. */
export const heldNow = (job, p) => (job.partReturns || []).findLast?.((r) => r.body.part === p.entry)?.body.held || p.body.held || "";
