// Working by keyboard: single keys on the desk's screens, and the page that lists them. They can be switched off (WCAG 2.1.4).
import { html, useEffect, useState } from "../view.js";
import { Screen } from "../parts.js";
import { DeskNav } from "./nav.js";
import { go } from "../route.js";
import { t } from "../words.js";

const OFF = "desk-keys-off";
const typing = (e) => e.target.closest?.("input:not([type=checkbox], [type=radio], [type=range]), select, textarea, dialog[open]");

/** useKeys calls map[key] when that key is pressed outside a field. "?" always opens the list of keys. */
export function useKeys(map) {
  useEffect(() => {
    const press = (e) => {
      if (e.defaultPrevented || e.ctrlKey || e.metaKey || e.altKey || localStorage.getItem(OFF) || typing(e)) return;
      const act = map[e.key] || (e.key === "?" ? () => go("/keys") : null);
      if (!act || act(e) === false) return;
      e.preventDefault();
    };
    addEventListener("keydown", press);
    return () => removeEventListener("keydown", press);
  });
}

const LIST = [["/", "keys.search"], ["↓ ↑", "keys.move"], ["Enter", "keys.open"], ["Esc", "keys.leave"], ["n", "keys.new"], ["b", "keys.board"], ["← →", "keys.slide"], ["+ − 0", "keys.zoom"], ["?", "keys.list"]];

/** Keys lists the keys. */
export function Keys() {
  const [off, set] = useState(Boolean(localStorage.getItem(OFF)));
  const change = (e) => { set(!e.target.checked); if (e.target.checked) localStorage.removeItem(OFF); else localStorage.setItem(OFF, "yes"); };
  useKeys({ b: () => go("/board") });
  return html`<${Screen} title=${t("keys.title")} up="/board"><${DeskNav} at="/keys" />
    <section class="sheet narrow-form" aria-labelledby="h-keys"><h2 id="h-keys">${t("keys.heading")}</h2>
      <dl class="facts keys">${LIST.map(([k, what]) => html`<dt key=${k}>${k.split(" ").map((x) => html`<kbd>${x}</kbd> `)}</dt><dd>${t(what)}</dd>`)}</dl>
      <label class="tick"><input type="checkbox" checked=${!off} onChange=${change} /><span>${t("keys.on")}</span></label></section>
  <//>`;
}
