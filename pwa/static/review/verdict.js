// Whether the bundle is what it says, and what that means.
import { html, useEffect, useState } from "../js/view.js";
import { Icon } from "../js/icons.js";
import { t, size } from "../js/words.js";
import { Do, Mark, Notice, useBlob } from "./parts.js";
import { canHash, sha256, whole } from "./check.js";

const small = 20e6; // bytes: up to here the whole bundle is fetched and checked without being asked
const picturesUpTo = 60e6; // above, thumbnails are not compared with their originals: a phone takes minutes for that
const mean = () => navigator.connection?.saveData === true;

/** Verdict checks by itself when the bundle is small, else when asked; the file can be saved either way. */
export function Verdict({ link, opened, files }) {
  const [n, redraw] = useState(0);
  const [way, set] = useState({ doing: "" });
  const [blob, keep] = useState(null);
  useEffect(() => { files.changed = () => redraw((x) => x + 1); return () => { files.changed = () => {}; }; }, []);
  const run = async () => {
    set({ doing: "fetch", at: 0 });
    const all = blob || await link.bundle((at) => set({ doing: "fetch", at }));
    keep(all);
    set({ doing: "check", at: 0 });
    const report = await whole(all, all.size <= picturesUpTo, (at) => set({ doing: "check", at }));
    const same = !canHash || await sha256(await all.arrayBuffer()) === opened.digest;
    set({ doing: "", report, same, pictures: all.size <= picturesUpTo });
  };
  const failed = (e) => set({ doing: "", error: e.message });
  useEffect(() => { if (opened.bytes <= small && !mean()) run().catch(failed); }, []);
  const url = useBlob(blob, "application/zip");
  const total = opened.bytes;
  return html`<section class="sheet stack" aria-labelledby="h-verdict"><h2 id="h-verdict">${t("review.verdict")}</h2>
    ${way.report && html`<${Outcome} way=${way} />`}
    ${files.bad.size > 0 && html`<${Notice} kind="wrong"><p>${t("review.bad-files", { n: files.bad.size })}</p><ul>${[...files.bad.values()].map((says) => html`<li key=${says}>${says}</li>`)}</ul><//>`}
    ${way.error && html`<${Notice} kind="wrong"><p>${t("review.not-checked")} ${way.error}</p><//>`}
    ${way.doing && html`<div class="progress" role="status"><progress max=${total} value=${way.at} aria-label=${t(`review.doing-${way.doing}`)}></progress><span>${t(`review.doing-${way.doing}`)}</span></div>`}
    <p class="soft small" data-checked=${files.good.size}>${canHash ? t("review.so-far", { n: files.good.size, of: files.sums.size }) : t("review.plain")}</p>
    <div class="btn-row">${!way.report && html`<${Do} act=${run} onError=${failed} kind="main" icon="met" disabled=${Boolean(way.doing)}>${t("review.check", { size: size(total) })}<//>`}
      ${url ? html`<a class="btn" href=${url} download=${opened.name}><${Icon} name="down" />${t("review.save-bundle", { size: size(total) })}</a>`
        : html`<a class="btn" href=${`${link.base}/bundle`} download=${opened.name}><${Icon} name="down" />${t("review.save-bundle", { size: size(total) })}</a>`}</div>
    <${Meaning} name=${opened.name} /></section>`;
}

function Outcome({ way: { report: r, same, pictures } }) {
  const broken = r.checks.filter((c) => c.result === "broken").length + (same ? 0 : 1);
  return html`${broken === 0
    ? html`<${Notice} kind="good"><p class="strong">${t("review.holds")}</p><p>${t("review.holds-what")}</p><//>`
    : html`<${Notice} kind="wrong"><p class="strong">${t("review.broken", { n: broken })}</p><p>${t("review.broken-what")}</p><//>`}
    <details open=${broken > 0}><summary>${t("review.all-checks", { n: r.checks.length })}</summary><ul class="rows checks">
      ${!same && html`<li><${Mark} kind="gap" icon="caution">${t("review.result-broken")}<//><span>${t("review.other-file")}</span></li>`}
      ${[...r.checks].sort((a, b) => (b.result === "broken") - (a.result === "broken")).map((c, i) => html`<li key=${i}><${Mark} kind=${{ holds: "met", broken: "gap" }[c.result] || "doubt"} icon=${{ holds: "met", broken: "caution" }[c.result] || "doubt"}>${t(`review.result-${c.result.replace(" ", "-")}`)}<//>
        <span>${c.file && html`<span class="num small">${c.file}: </span>`}${c.says}</span></li>`)}
      ${!pictures && html`<li><${Mark} kind="doubt" icon="doubt">${t("review.result-note")}<//><span>${t("review.no-pictures")}</span></li>`}</ul></details>`;
}

function Meaning({ name }) {
  return html`<details><summary>${t("review.meaning")}</summary><div class="stack"><p>${t("review.meaning-what")}</p><p>${t("review.meaning-yourself")}</p>
    <pre>${`kickplate verify ${name}`}</pre><p>${t("review.meaning-tools")}</p><pre>${`unzip ${name}\ncd claim-…\nsha256sum -c manifest-sha256.txt\nsha256sum -c tagmanifest-sha256.txt`}</pre><p>${t("review.meaning-log")}</p></div></details>`;
}
