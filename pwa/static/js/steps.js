// From what is still wanted to the screen that closes it.
import { t, term, termsOf } from "./words.js";

const usual = ["book", "arrive", "look", "measure", "repair", "prove", "leave", "claim"];
/** stages are the steps of a visit, in order. */
export const stages = () => { const l = termsOf("stages"); return l.length ? l.map((x) => x.id) : usual; };
export const stageTitle = (s) => term("stages", s);

/** openVisit is the visit that goes on, or undefined. */
export const openVisit = (job) => (job.visits || []).findLast((v) => v.arrived && !v.left);

const AROUND = ["whole-unit", "surroundings", "floor"];
const at = (id, screen, params) => `/job/${id}/${screen}?${new URLSearchParams(Object.entries(params).filter(([, v]) => v))}`;

/** stepFor tells what closes a want: {to, icon, text, shot: the button is the camera}; null when it is closed elsewhere (by the office, or by time). */
export function stepFor(w, id) {
  if (!w) return null;
  switch (w.kind) {
    case "photo":
      if (w.before && !w.tooLate && !w.component && AROUND.every((s) => w.subjects?.includes(s))) return { icon: "camera", text: t("around.title"), to: at(id, "around", {}) };
      return { shot: !w.damage, icon: "camera", text: t("step.shoot", { what: [term("subjects", w.subject), w.component && term("components", w.component)].filter(Boolean).join(", ") }), to: at(id, "shoot", { subject: w.subject, component: w.component, pair: w.pair, damage: w.damage, for: w.id }) };
    case "reading":
      if (w.reading) return { icon: "camera", text: t("read.display"), to: at(id, "shoot", { subject: w.moment === "as-left" ? "as-left-display" : "meter-display", component: w.component, reading: w.reading, for: w.id }) };
      return { icon: "meter", text: t("step.read"), to: at(id, "read", { plan: w.plans?.length === 1 ? w.plans[0].id : "", component: w.component, quantity: w.quantities?.[0], moment: w.moment, for: w.id }) };
    case "signature":
      return { icon: "pen", text: t("step.sign"), to: at(id, "sign", { about: w.about, for: w.id }) };
    case "part":
      return { icon: "part", text: t("step.part"), to: at(id, "write", { what: "part", component: w.component, for: w.id }) };
    case "caution":
      return { icon: "caution", text: t("step.caution"), to: at(id, "write", { what: "caution", caution: w.caution, for: w.id }) };
    default:
      return stepForField(w, id);
  }
}

function stepForField(w, id) {
  const write = (what, text, more) => ({ icon: "note", text, to: at(id, "write", { what, ...more, for: w.id }) });
  const f = w.field || "";
  if (w.count === "damages") return { icon: "damage", text: t("damage.found"), to: at(id, "damage", { seen: "on-arrival", for: w.id }) };
  if (f === "narrative.cause") return write("cause", t("step.cause"), { component: w.component });
  if (f === "narrative.correction") return write("correction", t("step.correction"), { component: w.component });
  if (f.startsWith("refrigerant.")) return write("refrigerant", t("step.refrigerant"));
  if (f.startsWith("labour.")) return write("labour", t("step.labour"));
  if (f.startsWith("trip.")) return write("trip", t("step.trip"));
  if (/^(unit|customer|site|coverage|narrative|job)\./.test(f)) return write("papers", t(w.kind === "check" ? "step.compare" : "step.field"), { field: f });
  return null;
}

/** openFindings are the gaps and doubts by stage, required ones first within each. */
export function openFindings(report) {
  const order = stages(), rank = (f) => order.indexOf(f.stage) * 2 + (f.severity === "required" ? 0 : 1);
  return (report?.findings || []).filter((f) => f.outcome === "gap" || f.outcome === "doubt").sort((a, b) => rank(a) - rank(b));
}

/** needed are those of them that leaving is held against: what only the office or time can close does not hold the van. */
export const needed = (report) => openFindings(report).filter((f) => f.severity === "required" && f.stage !== "claim");

/** wantOf is the want that belongs to a finding. */
export const wantOf = (data, finding) => (data.wanted || []).find((w) => w.id === finding.id);
