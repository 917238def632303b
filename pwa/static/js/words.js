// Every text that people read comes from a catalogue; numbers, dates and sizes go through Intl.
import en from "./words-en.js";

// The languages besides English; each is fetched when somebody reads it.
const others = { es: () => import("./words-es.js") };
/** languages are those of the texts, each by its own name. */
export const languages = [{ id: "en", title: "English" }, { id: "es", title: "Español" }];
const spoken = (navigator.languages || ["en"]).map((l) => l.split("-")[0]);
const chosen = (() => { try { return localStorage.getItem("language"); } catch { return null; } })(); // a page may be denied its storage
/** tongue is the language of the texts: the one chosen in the settings, else the first of the browser's that there is. */
export const tongue = [chosen, ...spoken].find((l) => languages.some((x) => x.id === l)) || "en";
const words = {};
/** speak takes another language from the next start on. */
export function speak(language) {
  localStorage.setItem("language", language);
  location.reload();
}
/** addTexts joins a part's catalogue: the English one and, when it is read here, that of another language, {es: () => import(…)}.
 * A text that another language lacks, or can't be fetched, stays English. */
export async function addTexts(english, more) {
  Object.assign(words, english);
  try {
    if (more[tongue]) Object.assign(words, (await more[tongue]()).default);
  } catch { /* no line, and not kept yet */ }
}
await addTexts(en, others);

/** locale formats numbers and dates: the person's own region, in the language of the texts. */
export const locale = (navigator.languages || []).find((l) => l.split("-")[0] === tongue) || tongue;
// Formats are made when they are first needed and then kept: each costs more than what it formats.
const made = new Map();
function format(kind, options = {}) {
  const key = kind + JSON.stringify(options);
  if (!made.has(key)) made.set(key, new Intl[kind](locale, options));
  return made.get(key);
}

/** t gives a text; {name} in it is filled in from values. A text with one/other is picked by values.n. */
export function t(key, values = {}) {
  let text = words[key];
  if (text === undefined) return key;
  if (typeof text === "object") text = text[format("PluralRules").select(Number(values.n))] ?? text.other;
  return text.replace(/\{(\w+)\}/g, (_, name) => {
    const v = values[name];
    return typeof v === "number" ? number(v) : String(v ?? "");
  });
}

/** kindName is what people call a kind of entry; one that has no name yet is called by its own. */
export const kindName = (kind) => words[`kind.${kind}`] ?? kind.replaceAll("-", " ");

/** capital begins a text with a capital letter: for words that also stand inside sentences. */
export const capital = (s) => s.charAt(0).toLocaleUpperCase(locale) + s.slice(1);

let titles = {};
/** learnWords takes the vocabulary's titles (GET /vocabulary), by list. */
export function learnWords(vocabulary) {
  titles = {};
  for (const [list, terms] of Object.entries(vocabulary || {})) titles[list] = new Map(terms.map((x) => [x.id, x.title]));
}
/** termsOf is a list of the vocabulary: [{id, title}]. */
export const termsOf = (list) => [...(titles[list] || new Map())].map(([id]) => ({ id, title: term(list, id) }));

/** term is the title of a word of the vocabulary, in the catalogue's language when it has one. */
export function term(list, id) {
  if (!id) return "";
  return words[`term.${list}.${id}`] ?? words[`term.${id}`] ?? titles[list]?.get(id) ?? id.charAt(0).toUpperCase() + id.slice(1).replaceAll("-", " ");
}

/** dueName says what a deadline is for: in the server's words where the catalogue has none. */
export const dueName = (d) => words[`term.due.${d.code?.replace(/-\d+$/, "")}`] ?? d.what;

/** areaName is a place in words: one of the vocabulary by its title, any other as it was written. */
export const areaName = (area) => (titles.areas?.has(area) ? term("areas", area) : area || "");
/** placeName is areaName where the vocabulary may not be at hand, or the place be an id of another version: what looks like an id is read as one. */
export const placeName = (area) => (/^[a-z0-9-]+$/.test(area) ? term("areas", area) : area);
/** areaOf is the vocabulary's id of a place that was written by its title, else what was written. */
export const areaOf = (text) => [...(titles.areas || new Map()).keys()].find((id) => areaName(id).toLowerCase() === text.trim().toLowerCase()) ?? text.trim();

// Counts up to 999 look the same in all languages that there are texts in, and the first format costs a phone a tenth of a second.
export const number = (n) => (Number.isInteger(n) && n >= 0 && n < 1000 ? String(n) : format("NumberFormat", { maximumFractionDigits: 1 }).format(n));

/** size writes a number of bytes. */
export function size(bytes) {
  for (const [unit, n] of [["gigabyte", 1e9], ["megabyte", 1e6], ["kilobyte", 1e3]]) {
    if (bytes >= n) return format("NumberFormat", { style: "unit", unit, maximumFractionDigits: bytes < 10 * n ? 1 : 0 }).format(bytes / n);
  }
  return format("NumberFormat", { style: "unit", unit: "byte" }).format(bytes);
}

const ofMoney = (currency) => format("NumberFormat", { style: "currency", currency });
/** decimalsOf is how many decimals amounts of a currency have. */
export const decimalsOf = (currency) => ofMoney(currency).resolvedOptions().maximumFractionDigits;
/** money writes an amount {minor, currency}. */
export const money = (m) => (m?.currency ? ofMoney(m.currency).format(m.minor / 10 ** decimalsOf(m.currency)) : "");

const real = (s) => { const d = new Date(s); return Number.isNaN(d.getTime()) ? null : d; };
const dated = (s, options) => (real(s) ? format("DateTimeFormat", options).format(real(s)) : "");
export const moment = (s) => dated(s, { dateStyle: "medium", timeStyle: "short" });
export const clockTime = (s) => dated(s, { timeStyle: "short" });
/** day writes a calendar day given as YYYY-MM-DD (never shifted by a zone) or a moment. */
export function day(s) {
  if (!s) return "";
  if (/^\d{4}-\d{2}-\d{2}$/.test(s)) return dated(s, { dateStyle: "medium", timeZone: "UTC" });
  return dated(s, { dateStyle: "medium" }) || s;
}

const midnight = (d) => new Date(d.getFullYear(), d.getMonth(), d.getDate()).getTime();
/** daysLeft counts whole calendar days from today to s; negative when past. */
export function daysLeft(s, now = new Date()) {
  const d = /^\d{4}-\d{2}-\d{2}$/.test(s) ? new Date(`${s}T00:00:00`) : real(s);
  return d ? Math.round((midnight(d) - midnight(now)) / 86400000) : null;
}

let sign;
/** decimalSign is what stands before the decimals in this locale. */
export const decimalSign = () => (sign ??= format("NumberFormat").formatToParts(1.5).find((p) => p.type === "decimal")?.value || ".");
/** decimal shows an exact decimal with the locale's separator, digit for digit. */
export const decimal = (s) => String(s ?? "").replace(".", decimalSign());

const symbols = {
  Ohm: "Ω", kOhm: "kΩ", MOhm: "MΩ", mOhm: "mΩ", GOhm: "GΩ", uA: "µA", uF: "µF", Cel: "°C", "[degF]": "°F", "[degR]": "°F diff.", "[psi]": "psi",
  "[in_i'Hg]": "inHg", "[in_i'H2O]": "inH₂O", "um[Hg]": "µmHg", "mm[Hg]": "mmHg", "/min": "rpm", "/s": "1/s", "[gal_us]/min": "gal/min", "m3/h": "m³/h",
  "[cft_i]/min": "cfm", "[ft_i]/min": "ft/min", "[oz_av]": "oz", "[lb_av]": "lb", "mW/cm2": "mW/cm²", 1: "",
};
/** unitSign is how people write a UCUM unit. */
export const unitSign = (u) => symbols[u] ?? u ?? "";
