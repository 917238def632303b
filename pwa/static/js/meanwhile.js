// Two people at one form. Before anything is kept, the form is held against the job as it is by now: what the other changed and this
// person did not touch is taken over, what both changed is shown side by side, and nothing is kept until somebody has chosen.
import { html, useState } from "./view.js";
import { Do } from "./parts.js";
import * as core from "./core.js";
import { db } from "./db.js";
import { askServer, pull, readJob } from "./source.js";
import { t, moment } from "./words.js";

const same = (a, b) => JSON.stringify(a ?? "") === JSON.stringify(b ?? "");

const soon = (promise) => Promise.race([promise.catch(() => {}), new Promise((done) => setTimeout(done, 3000))]);

/** jobNow is the job as the server has it at this moment, or as this device knows it when there is no answer soon. */
export async function jobNow(id) {
  await Promise.all([soon(pull(id)), core.whenReady(3000)]);
  if (!core.canCheck()) await soon(askServer(id)); // what is kept may be a look at fewer entries than there are
  return (await readJob(id))?.job;
}

/**
 * rebase holds a form against the job as it is now: value is what is on the screen, base what it began with, now what it would begin
 * with. It gives {value, both}: value with the other's changes to what was not touched here, and both = [{key, mine, theirs}].
 */
export function rebase(value, base, now) {
  const out = { ...value }, both = [];
  for (const key of Object.keys(value)) {
    if (same(now[key], base[key])) continue;
    if (same(value[key], base[key])) out[key] = now[key];
    else if (!same(value[key], now[key])) both.push({ key, mine: value[key], theirs: now[key] });
  }
  return { value: out, both };
}

/** whoSaid tells who wrote an entry and when, for people; empty when the entry is not here. */
export async function whoSaid(entry) {
  const kept = entry && (await (await db()).get("journal", entry));
  if (!kept) return "";
  const e = JSON.parse(kept.raw);
  return `${e.by}, ${moment(e.at)}`;
}

const shown = (v) => (Array.isArray(v) ? v.map((x) => (typeof x === "object" ? Object.values(x).join(" ") : x)).join(", ") : v && typeof v === "object" ? JSON.stringify(v) : String(v ?? "")) || t("meanwhile.empty");

/** Both shows what two people wrote into the same fields, side by side, and hands the choice {key: value} to onChosen. */
export function Both({ list, by, nameOf, onChosen, onCancel }) {
  const [pick, choose] = useState({});
  const done = () => {
    if (list.some((b) => !pick[b.key])) throw new Error(t("meanwhile.choose"));
    return onChosen(Object.fromEntries(list.map((b) => [b.key, pick[b.key] === "theirs" ? b.theirs : b.mine])));
  };
  return html`<section class="notice care both" role="alert" aria-labelledby="h-both"><div><h2 id="h-both">${t("meanwhile.title")}</h2>
    <p>${t("meanwhile.what", { by: by || t("meanwhile.somebody") })}</p>
    ${list.map((b) => html`<fieldset key=${b.key}><legend>${nameOf(b.key)}</legend><div class="two">${["mine", "theirs"].map((side) => html`<label class="tick" key=${side}>
      <input type="radio" name=${`both-${b.key}`} checked=${pick[b.key] === side} onChange=${() => choose({ ...pick, [b.key]: side })} /><span><b>${t(`meanwhile.${side}`)}</b><br />${shown(b[side])}</span></label>`)}</div></fieldset>`)}
    <div class="btn-row"><${Do} act=${done} kind="main" icon="met">${t("meanwhile.keep")}<//><button type="button" class="btn" onClick=${onCancel}>${t("meanwhile.look")}</button></div></div></section>`;
}
