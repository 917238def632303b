// A form whose refusals stand at their fields: what it keeps is first shown to the server, which keeps nothing, then written down like
// everything else on this device and sent from there.
import { html, useState } from "../view.js";
import { Do, Notice, Screen } from "../parts.js";
import { showAt } from "../desk/fields.js";
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
