// The circumstances that a component model can't decide without, asked one by one.
import { html, useState } from "./view.js";
import { Choices, Field, Pick } from "./parts.js";
import { t } from "./words.js";

const words = {
  circuit: ["isolated", "in-circuit"], load: ["no-load", "under-load"], compressor: ["running", "off"], command: ["on", "off"], rotation: ["turning", "stopped"],
  blade: ["free", "blocked"], position: ["actuated", "released"], history: ["from-above", "from-below"], side: ["low", "high"],
};
const values = {
  partTemperature: ["temperature", ["Cel", "[degF]"]], start: ["temperature", ["Cel", "[degF]"]], sinceStart: ["duration", ["min", "h"]], noLoad: ["voltage-ac", ["V"]],
  leadResistance: ["resistance", ["Ohm", "mOhm"]], pressure: ["pressure-gauge", ["[psi]", "kPa", "bar"]], supply: ["voltage-ac", ["V"]],
};
const signs = { Cel: "°C", "[degF]": "°F", "[psi]": "psi", Ohm: "Ω", mOhm: "mΩ" };

/** Conditions asks for the named needs and hands back the conditions of a reading. */
export function Conditions({ needs, value, onInput }) {
  const set = (name, v) => onInput({ ...value, [name]: v });
  return needs.map((name) => {
    if (words[name]) return html`<${Choices} key=${name} label=${t(`condition.${name}`)} name=${name} options=${words[name].map((id) => ({ id, title: t(`condition.${name}.${id}`) }))} value=${value[name]} onPick=${(v) => set(name, v)} />`;
    if (values[name]) return html`<${ValueField} key=${name} name=${name} value=${value[name]} onInput=${(v) => set(name, v)} />`;
    if (name === "between") return html`<${Field} key=${name} label=${t("condition.between")} hint=${t("condition.between-hint")} value=${value.between || ""} onInput=${(e) => set("between", e.target.value.trim())} maxlength="10" />`;
    if (name === "also") return html`<${Also} key=${name} value=${value.also} onInput=${(v) => set("also", v)} />`;
    return null;
  });
}

function ValueField({ name, value, onInput }) {
  const [quantity, units] = values[name];
  const [unit, pick] = useState(value?.unit || localStorage.getItem(`unit-${quantity}`) || units[0]);
  const used = units.includes(unit) ? unit : units[0];
  const [text, type] = useState(value?.value || "");
  const give = (s, u) => {
    const plain = s.trim().replace(",", ".");
    onInput(/^-?\d+(\.\d+)?$/.test(plain) ? { quantity, value: plain, unit: u } : "");
  };
  return html`<div class="two"><${Field} label=${t(`condition.${name}`)} inputmode="decimal" value=${text} onInput=${(e) => { type(e.target.value); give(e.target.value, used); }} />
    ${units.length > 1 && html`<${Pick} label=${t("read.unit")} options=${units.map((id) => ({ id, title: signs[id] || id }))} value=${used} onPick=${(u) => { pick(u); give(text, u); }} />`}</div>`;
}

/** Also takes the readings between the other terminals: "C-R 3.2, R-S 8.1". */
function Also({ value, onInput }) {
  const [text, type] = useState(Object.entries(value || {}).map(([k, v]) => `${k} ${v.value}`).join(", "));
  const read = (s) => {
    const out = {};
    for (const m of s.matchAll(/([A-Za-z]-[A-Za-z])\s*[:=]?\s*(\d+(?:\.\d+)?)/g)) out[m[1].toUpperCase()] = { quantity: "resistance", value: m[2], unit: "Ohm" };
    onInput(Object.keys(out).length ? out : "");
  };
  return html`<${Field} label=${t("condition.also")} hint=${t("condition.also-hint")} value=${text} onInput=${(e) => { type(e.target.value); read(e.target.value); }} />`;
}
