// What is still to be set up in a new shop. The board reminds the owner until each step is done or set aside.
import { html } from "../view.js";
import { Go } from "../parts.js";
import { useLoaded, useNews } from "../events.js";
import * as api from "../api.js";
import * as ask from "./ask.js";
import { isOwner, who } from "../me.js";
import { getMeta, setMeta } from "../db.js";
import { t } from "../words.js";

/** STEPS are the steps, in order. */
export const STEPS = ["shop", "rates", "payers", "people", "phone"];

const aside = () => `setup-aside-${who()?.actor.shop}`;
/** setAside notes that a step is not wanted, on this device. */
export const setAside = async (step, yes = true) => {
  const now = new Set((await getMeta(aside())) || []);
  if (yes) now.add(step); else now.delete(step);
  await setMeta(aside(), [...now]);
};

/** readSetup tells which steps are done: {done: {shop: true, …}, aside: ["payers"], left: ["people"], shop, rates, people, devices}. */
export async function readSetup() {
  const [shop, rates, people, devices, skipped] = await Promise.all([ask.shop(), ask.rates(), api.people(), api.devices(), getMeta(aside())]);
  const cards = rates.cards || [];
  const done = {
    shop: Boolean(shop.address && shop.zone && shop.currency), rates: cards.some((c) => !c.payer), payers: cards.some((c) => c.payer),
    people: people.people.length > 1, phone: devices.devices.length > 0,
  };
  const left = STEPS.filter((s) => !done[s] && !(skipped || []).includes(s));
  return { done, aside: skipped || [], left, shop, rates: cards, people: people.people, devices: devices.devices };
}

/** SetupCard stands on the board while something is left. */
export function SetupCard() {
  const news = useNews("session", "people", "devices", "setup");
  const { value } = useLoaded(() => (isOwner() ? readSetup() : Promise.resolve(null)), [news]);
  if (!value?.left.length) return null;
  return html`<section class="sheet setup-card" aria-labelledby="h-setup-left"><h2 id="h-setup-left">${t("setup.left", { n: value.left.length })}</h2>
    <p>${value.left.map((s) => t(`setup.${s}`)).join(", ")}</p>
    <div class="btn-row"><${Go} to="/setup" icon="next">${t("setup.go-on")}<//></div></section>`;
}
