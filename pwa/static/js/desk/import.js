// Customers and units out of an older list: looked at line by line first, kept only when somebody says so.
import { html, useState } from "../view.js";
import { Do, Notice, tell } from "../parts.js";
import { useLoaded } from "../events.js";
import * as api from "../api.js";
import * as me from "../me.js";
import { t, term } from "../words.js";

const COLUMNS = "name, phone, email, address, unit, maker, model, serial, purchased";
const lineOf = (r) => [r.phone, r.email, r.address, [r.maker, r.unitKind && term("unitKinds", r.unitKind), r.model, r.serial].filter(Boolean).join(" "), r.purchased].filter(Boolean).join(" · ");

export function Import() {
  const [turn, again] = useState(0), [file, take] = useState(null), [seen, show] = useState(null), [skip, leave] = useState(false), [error, fail] = useState(null);
  const { value } = useLoaded(() => api.register(""), [turn]);
  if (!me.isOffice()) return null;
  const look = async (f) => {
    fail(null); show(null); leave(false); take(f);
    if (!f) return;
    try { show(await api.previewImport(f)); } catch (e) { fail(e); }
  };
  const keep = async () => {
    fail(null);
    const got = await api.keepImport(file, seen.file, skip);
    tell(t("import.kept", { n: got.new }));
    show(null); take(null);
    again(turn + 1);
  };
  return html`<section class="sheet" aria-labelledby="h-import"><h2 id="h-import">${t("import.title")}</h2><p>${t("import.what")}</p><p class="soft small">${t("import.columns", { columns: COLUMNS })}</p>
    ${value?.count > 0 && html`<p>${t("import.here", { n: value.count })}</p>`}
    <label class="btn file-btn" key=${turn}><span>${t("import.pick")}</span><input type="file" accept=".csv,text/csv" aria-label=${t("import.pick")} onChange=${(e) => look(e.target.files[0])} /></label>
    ${error && html`<${Notice} kind="wrong"><p>${error.message}</p><//>`}
    ${seen && html`<div class="stack form-foot"><p class="strong">${t("import.new", { n: seen.new })} ${seen.already > 0 ? t("import.already", { n: seen.already }) : ""}</p>
      ${seen.ignored?.length > 0 && html`<p class="soft small">${t("import.ignored", { names: seen.ignored.join(", ") })}</p>`}
      ${seen.bad > 0 && html`<${Notice} kind="wrong"><p>${t("import.bad", { n: seen.bad })}</p><//><table class="import-bad"><thead><tr><th scope="col">${t("import.line")}</th><th scope="col">${t("import.column")}</th><th scope="col">${t("import.cell")}</th><th scope="col">${t("import.write")}</th></tr></thead>
        <tbody>${seen.problems.map((p, i) => html`<tr key=${i}><td class="num">${String(p.line)}</td><td>${p.column || "–"}</td><td>${p.cell || ""}</td><td>${p.says}</td></tr>`)}</tbody></table>`}
      ${seen.rows.length > 0 && html`<h3>${t("import.first", { n: seen.rows.length })}</h3><ul class="rows">${seen.rows.map((r, i) => html`<li key=${i}><b>${r.name}</b><p class="soft small">${lineOf(r)}</p></li>`)}</ul>`}
      ${seen.bad > 0 && seen.new > 0 && html`<label class="tick"><input type="checkbox" checked=${skip} onChange=${(e) => leave(e.target.checked)} /><span>${t("import.skip", { n: seen.bad })}</span></label>`}
      <div class="btn-row"><${Do} act=${keep} onError=${fail} kind="main" icon="met" disabled=${seen.new === 0 || (seen.bad > 0 && !skip)}>${t("import.keep", { n: seen.new })}<//></div></div>`}
  </section>`;
}

/** FromRegister offers customers of the list while a new job is written down; pick gets the row. */
export function FromRegister({ typed, onPick }) {
  const [open, set] = useState(false);
  const asked = (typed || "").trim();
  const { value } = useLoaded(() => (asked.length >= 3 ? api.register(asked) : Promise.resolve({ rows: [] })), [asked]);
  const rows = value?.rows || [];
  if (!rows.length || open === asked) return null;
  return html`<ul class="rows" aria-label=${t("import.from")}>${rows.slice(0, 5).map((r) => html`<li key=${r.id}><button type="button" class="btn quiet wide" onClick=${() => { set(r.name); onPick(r); }}><span><b>${r.name}</b><br /><span class="small">${lineOf(r)}</span></span></button></li>`)}</ul>`;
}
