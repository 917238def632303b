// Setting up a new shop on one page: five steps, each of which can be left for later and comes back on the board until it is done.
import { html, useEffect, useState } from "../view.js";
import { Screen, Do, Mark, Notice, Wrong, Choices, Go, tell } from "../parts.js";
import { DeskNav } from "./nav.js";
import { useKeys } from "./keys.js";
import { useLoaded, useNews, say } from "../events.js";
import { go } from "../route.js";
import * as api from "../api.js";
import * as me from "../me.js";
import * as ask from "./ask.js";
import { In, FieldError, showAt } from "./fields.js";
import { STEPS, readSetup, setAside } from "./setup-state.js";
import { t, moment, locale } from "../words.js";

export function Setup() {
  const news = useNews("setup", "people", "devices");
  const { value: s, error } = useLoaded(readSetup, [news]);
  useKeys({ b: () => go("/board") });
  const forms = { shop: ShopStep, rates: RatesStep, payers: PayersStep, people: PeopleStep, phone: PhoneStep };
  return html`<${Screen} title=${t("setup.title")} up="/board" foot=${html`<${Go} to="/board" kind="main big" icon="list">${t("setup.to-board")}<//>`}><${DeskNav} at="/setup" />
    <div class="narrow-form"><p>${t("setup.what")}</p><${Wrong} error=${error} />
      ${s && html`<p class="strong" role="status">${s.left.length ? t("setup.left", { n: s.left.length }) : t("setup.done")}</p>`}
      ${s && STEPS.map((step, i) => html`<${Step} key=${step} n=${i + 1} step=${step} s=${s} Form=${forms[step]} />`)}</div><//>`;
}

function Step({ n, step, s, Form }) {
  const done = s.done[step], aside = !done && s.aside.includes(step), first = s.left[0] === step;
  const [open, set] = useState(first);
  useEffect(() => { if (first) set(true); }, [first]);
  const later = async (yes) => { await setAside(step, yes); set(!yes); say("setup"); };
  return html`<section class="sheet setup-step" aria-labelledby=${`h-step-${step}`}><div class="head-row"><h2 id=${`h-step-${step}`}><span class="num">${n}.</span> ${t(`setup.${step}`)}</h2>
      <${Mark} kind=${done ? "met" : aside ? "" : "doubt"} icon=${done ? "met" : aside ? "not-needed" : "doubt"}>${t(done ? "setup.is-done" : aside ? "setup.is-aside" : "setup.is-open")}<//></div>
    <p class="soft small">${t(`setup.${step}-what`)}</p>
    ${open && html`<${Form} s=${s} />`}
    <div class="btn-row"><button type="button" class="btn quiet" aria-expanded=${String(open)} onClick=${() => set(!open)}>${t(open ? "setup.hide" : "setup.show")}</button>
      ${!done && html`<${Do} act=${() => later(!aside)} kind="quiet">${t(aside ? "setup.take-up" : "setup.later")}<//>`}</div></section>`;
}

/** useForm holds a small form's values and what is wrong with them; keep runs act and shows a refusal at its field. */
function useForm(begin, act) {
  const [v, fill] = useState(begin), [errors, wrong] = useState({}), [general, fail] = useState(null);
  const keep = async () => {
    wrong({});
    fail(null);
    try {
      await act(v, fill);
      tell(t("write.kept"));
      say("setup");
    } catch (e) { if (!showAt(wrong, e)) fail(e); }
  };
  return { v, errors, general, keep, set: (change) => fill((x) => ({ ...x, ...change })), field: (name, more) => ({ name, value: v[name], errors, onPick: (x) => fill((y) => ({ ...y, [name]: x })), ...more }) };
}

const zones = () => { try { return Intl.supportedValuesOf("timeZone"); } catch { return ["UTC"]; } };
const currencies = () => {
  let list = ["USD", "EUR", "GBP", "CAD"];
  try { list = Intl.supportedValuesOf("currency"); } catch { /* an older browser: the usual ones */ }
  const names = new Intl.DisplayNames(locale, { type: "currency" });
  return list.map((id) => ({ id, title: `${id}, ${names.of(id)}` }));
};

function ShopStep({ s }) {
  const here = Intl.DateTimeFormat().resolvedOptions().timeZone;
  const f = useForm({ name: s.shop.name === s.shop.id ? "" : s.shop.name, address: s.shop.address || "", contact: s.shop.contact || "", zone: s.shop.zone || here, country: s.shop.country || "", currency: s.shop.currency || "" }, async (v) => {
    if (!v.currency) throw new FieldError("currency", t("setup.need-currency"));
    if (!v.address.trim()) throw new FieldError("address", t("setup.need-address"));
    if (JSON.stringify(await ask.shop()) !== JSON.stringify(s.shop)) throw changed();
    await ask.setShop({ id: s.shop.id, name: v.name.trim(), address: v.address.trim(), contact: v.contact.trim(), zone: v.zone, country: v.country.trim().toUpperCase(), currency: v.currency });
    await me.refresh();
  });
  return html`<${Wrong} error=${f.general} /><${In} ...${f.field("name", { label: t("setup.name"), maxlength: 200 })} /><${In} ...${f.field("address", { label: t("setup.address"), area: true, rows: 3, maxlength: 500 })} />
    <${In} ...${f.field("contact", { label: t("setup.contact"), hint: t("setup.contact-hint"), maxlength: 500 })} />
    <div class="two"><${In} ...${f.field("zone", { label: t("setup.zone"), options: zones().map((id) => ({ id, title: id.replaceAll("_", " ") })) })} /><${In} ...${f.field("currency", { label: t("setup.currency"), options: currencies(), none: t("read.pick") })} /><${In} ...${f.field("country", { label: t("setup.country"), hint: t("setup.country-hint"), maxlength: 2 })} /></div>
    <div class="btn-row"><${Do} act=${f.keep} kind="main" icon="met">${t("write.keep")}<//></div>`;
}

const decimal = (s) => String(s || "").trim().replace(",", ".");
const yearBegins = () => `${new Date().getFullYear()}-01-01`;

// changed refuses to write over what somebody else has kept since this page was drawn, and has it drawn anew.
function changed() {
  say("setup");
  return new Error(t("setup.changed"));
}

// saveCard adds a card to the shop's, or replaces the one that holds from the same day for the same payer.
async function saveCard(s, card) {
  const same = (c) => c.from === card.from && (c.payer || "") === (card.payer || ""), now = (await ask.rates()).cards;
  if (JSON.stringify(now.find(same)) !== JSON.stringify(s.rates.find(same))) throw changed();
  const others = now.filter((c) => !same(c));
  try {
    await ask.setRates({ cards: [card, ...others] });
  } catch (e) {
    e.where = (e.where || "").replace(/^cards\[\d+\]\./, "");
    throw e;
  }
}

function RatesStep({ s }) {
  const have = s.rates.find((c) => !c.payer);
  const f = useForm({ "labour.perHour": have?.labour.perHour || "", "labour.step": have?.labour.step ? String(have.labour.step) : "15", diagnosis: have?.diagnosis || "", "trip.base": have?.trip.base || "", "parts.handlingPercent": have?.parts.handlingPercent || "", "tax.percent": have?.tax.percent || "", from: have?.from || yearBegins() }, async (v) => {
    if (!s.shop.currency) throw new FieldError("labour.perHour", t("setup.currency-first"));
    if (!v["labour.perHour"].trim()) throw new FieldError("labour.perHour", t("setup.need-rate"));
    if (!/^\d{1,4}$/.test(v["labour.step"].trim() || "0")) throw new FieldError("labour.step", t("field.whole"));
    const tax = decimal(v["tax.percent"]);
    await saveCard(s, { ...have, name: have?.name || t("setup.card-name"), from: v.from, currency: s.shop.currency, rounding: have?.rounding || "half-up", labour: { ...have?.labour, perHour: decimal(v["labour.perHour"]), step: Number(v["labour.step"] || 0), stepRule: have?.labour.stepRule || "up" },
      diagnosis: decimal(v.diagnosis), trip: { ...have?.trip, base: decimal(v["trip.base"]) }, parts: { ...have?.parts, handlingPercent: decimal(v["parts.handlingPercent"]) }, tax: tax ? { ...have?.tax, percent: tax, on: have?.tax.on?.length ? have.tax.on : ["part", "handling", "labour", "diagnosis", "trip"] } : {} });
  });
  const amount = (name, more) => html`<${In} ...${f.field(name, { label: t(`setup.${name}`), inputmode: "decimal", hint: s.shop.currency, ...more })} />`;
  return html`<${Wrong} error=${f.general} /><div class="two">${amount("labour.perHour")}${amount("labour.step", { hint: t("setup.step-hint"), inputmode: "numeric" })}${amount("diagnosis")}${amount("trip.base")}${amount("parts.handlingPercent", { hint: t("setup.percent") })}${amount("tax.percent", { hint: t("setup.percent") })}<${In} ...${f.field("from", { label: t("setup.from"), type: "date" })} /></div>
    <p class="soft small">${t("setup.rates-more")}</p><div class="btn-row"><${Do} act=${f.keep} kind="main" icon="met">${t("write.keep")}<//></div>`;
}

function PayersStep({ s }) {
  const own = s.rates.filter((c) => c.payer), base = s.rates.find((c) => !c.payer);
  const f = useForm({ payer: "", "labour.perHour": "", from: yearBegins() }, async (v, fill) => {
    if (!v.payer.trim()) throw new FieldError("payer", t("setup.need-payer"));
    if (!v["labour.perHour"].trim()) throw new FieldError("labour.perHour", t("setup.need-rate"));
    if (!s.shop.currency) throw new FieldError("payer", t("setup.currency-first"));
    const { tax, parts, trip, rounding, diagnosis } = base || { tax: {}, parts: {}, trip: {}, rounding: "half-up" };
    await saveCard(s, { name: v.payer.trim(), payer: v.payer.trim(), from: v.from, currency: s.shop.currency, rounding, labour: { ...base?.labour, perHour: decimal(v["labour.perHour"]) }, diagnosis, trip, parts, tax });
    fill((x) => ({ ...x, payer: "", "labour.perHour": "" }));
  });
  return html`<${Wrong} error=${f.general} />${own.length > 0 && html`<ul class="rows">${own.map((c) => html`<li key=${c.payer + c.from}><b>${c.payer}</b> <span class="soft num">${t("setup.payer-line", { rate: c.labour.perHour || "–", currency: c.currency, day: c.from })}</span></li>`)}</ul>`}
    <div class="two"><${In} ...${f.field("payer", { label: t("coverage.payer"), hint: t("setup.payer-hint"), maxlength: 200 })} /><${In} ...${f.field("labour.perHour", { label: t("setup.labour.perHour"), inputmode: "decimal", hint: s.shop.currency })} /></div>
    <div class="btn-row"><${Do} act=${f.keep} kind="main" icon="plus">${t("setup.add-payer")}<//></div>`;
}

function PeopleStep({ s }) {
  const [link, show] = useState(null);
  const f = useForm({ name: "", role: "technician" }, async (v, fill) => {
    if (!v.name.trim()) throw new FieldError("name", t("people.need-name"));
    const got = await api.addPerson({ name: v.name.trim(), role: v.role });
    show({ name: got.person.name, enter: got.enter });
    fill((x) => ({ ...x, name: "" }));
    say("people");
  });
  return html`<${Wrong} error=${f.general} />${link && html`<${Notice} kind="good"><p>${t("people.link", { name: link.name })}</p><p class="num">${link.enter}</p><//>`}
    <ul class="rows">${s.people.map((p) => html`<li key=${p.id}><b>${p.name}</b> <span class="soft">${t(`role.${p.role}`)}</span></li>`)}</ul>
    <${In} ...${f.field("name", { label: t("people.name"), maxlength: 100 })} />
    <${Choices} label=${t("phone.role")} name="setup-role" options=${["technician", "office", "owner"].map((id) => ({ id, title: t(`role.${id}`) }))} value=${f.v.role} onPick=${(role) => f.set({ role })} />
    <div class="btn-row"><${Do} act=${f.keep} kind="main" icon="people">${t("people.add")}<//></div>`;
}

function PhoneStep({ s }) {
  const [code, show] = useState(null), [person, pick] = useState("");
  const make = async () => show(await api.pairing(person));
  return html`${s.devices.length > 0 && html`<ul class="rows">${s.devices.map((d) => html`<li key=${d.id}><b>${d.name}</b> <span class="soft">${d.personName}</span></li>`)}</ul>`}
    <${In} name="pair-person" label=${t("setup.phone-of")} options=${s.people.map((p) => ({ id: p.id, title: p.name }))} none=${t("setup.phone-mine")} value=${person} onPick=${(p) => { pick(p); show(null); }} />
    ${code && html`<img class="qr" alt=${t("pair.code")} src=${`data:image/svg+xml,${encodeURIComponent(code.svg)}`} /><p class="soft small">${t("pair.until", { time: moment(code.expires) })}</p>`}
    <div class="btn-row"><${Do} act=${make} kind="main" icon="phone">${t(code ? "pair.again" : "pair.do")}<//><${Do} act=${() => say("devices")} kind="quiet" icon="again">${t("setup.phone-look")}<//></div>`;
}
