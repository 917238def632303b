// A form whose refusals stand at their fields: what it keeps is first shown to the server, which keeps nothing, then written down like
// everything else on this device and sent from there.
import { html, useState } from "../view.js";
import { Do, Notice, Screen } from "../parts.js";
import { In, FieldError, showAt } from "../desk/fields.js";
import { minor } from "../forms.js";
import { check } from "../desk/ask.js";
import { record } from "../record.js";
import { tell } from "../parts.js";
import { go } from "../route.js";
import { t } from "../words.js";

/** keep checks an entry's body with the server, when it answers, and writes the entry down. */
export async function keep(id, kind, body) {
  try { await check(kind, body); } catch (e) { if (e.status) throw e; } // without an answer it is checked when it is sent
  return record(id, kind, body);
}

/** useForm gives {value, set, errors, wrong, save}: save(make) runs make and puts what it throws at its field, or on top. */
export function useForm(begin, rename) {
  const [value, fill] = useState(begin), [errors, at] = useState({}), [wrong, top] = useState("");
  const set = (more) => { fill((v) => ({ ...v, ...more })); at({}); top(""); };
  const save = (make) => async () => {
    at({});
    top("");
    try { await make(value); } catch (e) { if (!showAt(at, e, rename)) top(e.message); }
  };
  return { value, set, errors, wrong, save };
}

/** clean leaves out what was not filled in. */
export const clean = (o) => Object.fromEntries(Object.entries(o).map(([k, v]) => [k, typeof v === "string" ? v.trim() : v]).filter(([, v]) => v !== "" && v !== undefined && v !== null && !(Array.isArray(v) && !v.length)));

/** amountOf reads the form's amount: {minor, currency}, or null. What is wrong with it stands at its field. */
export function amountOf(v) {
  const currency = v.currency.trim().toUpperCase();
  if (v.amount.trim() && !/^[A-Z]{3}$/.test(currency)) throw new FieldError("currency", t("settling.need-currency"));
  try { return minor(v.amount, currency); } catch (e) { throw new FieldError("amount", e.message); }
}

/** Amount asks for an amount and its currency. */
export const Amount = ({ form, label }) => html`<div class="two"><${In} name="amount" label=${label} inputmode="decimal" value=${form.value.amount} onPick=${(amount) => form.set({ amount })} errors=${form.errors} maxlength="20" />
  <${In} name="currency" label=${t("settling.currency")} value=${form.value.currency} onPick=${(currency) => form.set({ currency })} errors=${form.errors} maxlength="3" autocapitalize="characters" /></div>`;

/** home is the address of a job's dispute page. */
export const home = (id, show) => `/job/${id}/dispute${show ? `?show=${show}` : ""}`;

/** FormScreen frames a form: act runs when it is kept, and leads back to the dispute. */
export function FormScreen({ id, title, form, act, button, children }) {
  const make = form.save(async (v) => {
    await act(v);
    tell(t("dispute.kept"));
    go(home(id), { replace: true });
  });
  return html`<${Screen} title=${title} up=${home(id)} foot=${html`<${Do} act=${make} kind="main big" icon="met">${button || t("dispute.keep")}<//>`}>
    ${form.wrong && html`<${Notice} kind="wrong"><p>${form.wrong}</p><//>`}${children}<//>`;
}
