// Looking around: the five views of a place that are taken on arrival and, from the same spots, on leaving; and what was seen in each.
import { termsOf, term, t } from "./words.js";

const usual = ["way-in", "floor", "left-side", "right-side", "front"];
/** views are the five places, in the order in which a person walks in. */
export const views = () => { const l = termsOf("lookAround"); return l.length ? l.map((x) => x.id) : usual; };
export const viewTitle = (area) => term("lookAround", area);
/** subjectOf is what a picture of a place is said to show. */
export const subjectOf = (area) => ({ floor: "floor", front: "whole-unit" })[area] || "surroundings";

/** seenAround gathers for each view {area, before, after, damages}: its last picture from before work and from after, and what was seen there at this end of the visit. */
export function seenAround(job, leaving) {
  const begun = Date.parse(job.workStarts?.[0]?.body?.when || job.workStarts?.[0]?.at || "");
  const isAfter = (p) => p.body.pair === "before-after" || Date.parse(p.body.captured || p.at) >= begun;
  const seen = leaving ? "on-leaving" : "on-arrival";
  return views().map((area) => {
    const photos = (job.photos || []).filter((p) => p.body.area === area && p.body.subject === subjectOf(area));
    return {
      area, before: photos.findLast((p) => !isAfter(p)), after: photos.findLast(isAfter),
      damages: (job.damages || []).filter((d) => d.body.area === area && d.body.seen === seen),
    };
  });
}

/** leftAround is how many of the five views are not taken yet, at this end of the visit. */
export const leftAround = (job, leaving) => seenAround(job, leaving).filter((v) => !(leaving ? v.after : v.before)).length;
export const hintOf = (area) => t(`around.hint-${usual.includes(area) ? area : "other"}`);
