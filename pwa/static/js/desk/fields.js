// Fields that carry what is wrong with them: the message stands at the field, is read with it, and says what to write.
import { html } from "../view.js";
import { Drop } from "../parts.js";
import { t } from "../words.js";

/** FieldError is a refusal that belongs to one field of a form. */
export class FieldError extends Error {
  constructor(field, says) { super(says); this.field = field; }
}

/** In is one field. errors[name] is shown at it; options makes it a list to pick from; area a text of several lines. */
export function In({ name, label, hint, value, onPick, errors, options, none, area, rows, ...rest }) {
  const wrong = errors?.[name], id = `f-${name.replace(/[^a-zA-Z0-9]/g, "-")}`, about = [hint && `${id}-hint`, wrong && `${id}-wrong`].filter(Boolean).join(" ") || undefined;
  const common = { id, name, value: value ?? "", "aria-invalid": wrong ? "true" : undefined, "aria-describedby": about, ...rest };
  const set = (e) => onPick(e.target.value);
  return html`<div class=${`field ${wrong ? "bad" : ""}`}><label for=${id}>${label}</label>
    ${options ? html`<${Drop} ...${common} options=${options} none=${none} onPick=${onPick} />`
      : area ? html`<textarea rows=${rows} ...${common} onInput=${set}></textarea>` : html`<input type="text" autocomplete="off" ...${common} onInput=${set} />`}
    ${hint && html`<small id=${`${id}-hint`}>${hint}</small>`}${wrong && html`<p class="wrong-here" id=${`${id}-wrong`}>${wrong}</p>`}</div>`;
}

/** Tick is a box to tick. */
export const Tick = ({ checked, onPick, children }) => html`<label class="tick"><input type="checkbox" checked=${checked} onChange=${(e) => onPick(e.target.checked)} /><span>${children}</span></label>`;

/** fieldOf finds the form's field for the place that a refusal names: "body.terms" or "entries[0].body.price" → "terms", "price". */
export const fieldOf = (where) => (where || "").replace(/^entries\[\d+\]\./, "").replace(/^body\.?/, "");

/** showAt puts a refusal at its field and goes there; it says whether there is such a field. */
export function showAt(set, e, rename = {}) {
  const named = e.field ?? fieldOf(e.where), field = rename[named] ?? named;
  if (!field) return false;
  set({ [field]: e.message });
  setTimeout(() => document.querySelector(`[name="${CSS.escape(field)}"]`)?.focus());
  return Boolean(document.querySelector(`[name="${CSS.escape(field)}"]`));
}

/** whole reads a whole number of at least 0; "" is none. */
export function whole(field, text) {
  const s = String(text ?? "").trim();
  if (!s) return undefined;
  if (!/^\d{1,6}$/.test(s)) throw new FieldError(field, t("field.whole"));
  return Number(s);
}
