// The reviewer's page: somebody without an account reads one bundle by a link, on whatever they have in the hand.
import { html, render, useEffect, useState } from "../js/view.js";
import { t, addTexts, day, tongue } from "../js/words.js";
import en from "./words-en.js";
import { Link, secretOf } from "./server.js";
import { Files } from "./check.js";
import { Notice } from "./parts.js";
import { DisputeReport, disputed } from "./dispute.js";
import { Report, readable } from "./report.js";
import { Verdict } from "./verdict.js";
import { Add } from "./add.js";

await addTexts(en, { es: () => import("./words-es.js") });
document.documentElement.lang = tongue;

function Page({ link }) {
  const [state, set] = useState({});
  const load = async () => {
    if (!link) return set({ error: t("review.no-link") });
    set({});
    try {
      const opened = await link.open();
      const files = new Files(link);
      set({ opened, files });
      await files.lists();
      const evidence = JSON.parse(new TextDecoder().decode(await files.read("data/evidence.json")));
      set({ opened, files, evidence });
    } catch (e) {
      set((was) => ({ ...was, error: e.message, status: e.status }));
    }
  };
  useEffect(() => { load(); }, []);
  const { opened, files, evidence, error } = state;
  useEffect(() => { if (evidence) document.title = t(disputed(evidence) ? "review.title-dispute" : "review.title", { number: evidence.claim, shop: opened.shop }); }, [evidence]);
  return html`<div class="frame review"><header class="top"><div class="top-row"><h1>${opened ? t(disputed(evidence) ? "review.heading-dispute" : "review.heading", { number: evidence?.claim || opened.name }) : t("review.plain-title")}
      ${opened && html`<small>${opened.shop}</small>`}</h1></div></header>
    <main id="main">
      ${error && html`<${Notice} kind="wrong"><p>${error}</p>${state.status === 0 || state.status >= 500 ? html`<div class="btn-row"><button type="button" class="btn" onClick=${load}>${t("review.again")}</button></div>` : null}<//>`}
      ${!error && !evidence && html`<p class="starting">${t("review.loading")}</p>`}
      ${opened && html`<p class="soft form-top">${t("review.for", { to: opened.to, day: day(opened.until) })}</p><${Verdict} link=${link} opened=${opened} files=${files} />`}
      ${evidence && (disputed(evidence) ? html`<${DisputeReport} evidence=${evidence} files=${files} />` : readable(evidence) ? html`<${Report} evidence=${evidence} files=${files} />` : html`<${Notice}><p>${t("review.other-kind")}</p><//>`)}
      ${opened && html`<${Add} link=${link} opened=${opened} onSent=${(o) => set((was) => ({ ...was, opened: o }))} />`}
      <p class="soft small foot">${t("review.recorded")}</p>
    </main></div>`;
}

const secret = secretOf(location.hash);
const root = document.getElementById("app");
root.replaceChildren();
render(html`<${Page} link=${secret && new Link(secret)} />`, root);
addEventListener("hashchange", () => location.reload());
